/* Mouse and finger: what is under the pointer, and where on Earth it is. */
import { byId, el } from '../base/core.js';
import { dms, placeText } from '../base/geo.js';
import { heldBy } from '../base/pairs.js';
import { worstFlag } from '../base/severity.js';
import { pairOf } from '../base/tried.js';

export function makePointer(map, model, store, { points, live, choose }) {
  const tip = byId('tip');
  /** A fingertip covers 44 pixels; a mouse needs less. */
  const FINGER = 22;
  const MOUSE = 11;
  let touching = false;

  const under = (event) => points.hits(event.layerPoint, touching ? FINGER : MOUSE);

  function showTip(event, sites) {
    tip.hidden = !sites.length;
    map.getContainer().style.cursor = sites.length ? 'pointer' : '';
    if (!sites.length) return;
    const [i] = sites;
    const { field } = model.layers[store.state.layer];
    const value = field === 'flags' ? worstFlag(model, i) : live.text(field, i).replaceAll('_', ' ') || 'no value';
    const oneKit = heldBy(model, live, field);
    const pair = value === 'no value' ? '' : oneKit || pairOf(model, field, i);
    tip.replaceChildren(
      el('bdi', { class: 'tip-name', text: model.text('name', i) || model.text('site_id', i) }),
      el('span', { text: `${model.fields[field].label}: ${value}${pair && `, with ${pair} (${oneKit ? 'not the plan' : 'tried, not planned'})`}` }),
      ...(model.doubted[i] ? [el('span', { class: 'tip-doubt', text: '? Coordinates to check' })] : []),
    );
    const { x, y } = event.containerPoint;
    const width = map.getSize().x;
    tip.style.left = x > width / 2 ? '' : `${x + 14}px`;
    tip.style.right = x > width / 2 ? `${width - x + 14}px` : '';
    tip.style.top = `${y + 14}px`;
  }

  /** A control that reads out the place under the cursor. */
  function readout() {
    const box = el('div', { class: 'readout', 'aria-hidden': 'true' });
    const control = L.control({ position: 'bottomright' });
    control.onAdd = () => box;
    control.addTo(map);
    const decimals = () => Math.max(1, Math.min(5, Math.round(map.getZoom() / 3)));
    return ({ latlng: { lat, lng } }) => {
      box.textContent = store.state.dms ? dms(lat, lng, 0) : placeText(lat, lng, decimals());
    };
  }

  /** The click that ends a selection chooses no site. */
  let toolPutAway = 0;
  store.on(['tool'], () => { toolPutAway = Date.now(); });

  const read = readout();
  map.getContainer().addEventListener('pointerdown', (e) => {
    touching = e.pointerType === 'touch';
  }, true);
  map.on('mousemove', (event) => {
    read(event);
    if (!touching && !store.state.tool) showTip(event, under(event));
  });
  map.on('mouseout movestart', () => showTip(null, []));
  map.on('click', (event) => {
    if (store.state.tool || Date.now() - toolPutAway < 400) return;
    read(event);
    const sites = under(event);
    showTip(null, []);
    choose(sites.length ? sites[0] : -1, sites);
  });
}
