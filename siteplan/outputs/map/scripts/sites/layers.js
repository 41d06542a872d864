/* Which layer colours the sites: a button each for the usual ones, a list for any other field. */
import { byId, el } from '../base/core.js';
import { fieldLayer } from './classes.js';

/** Short names for narrow buttons; the legend's title has the whole label. */
const SHORT = { availability_achieved_pct: 'Availability', rain_rate_mm_h: 'Rain rate', cable_loss_high_db: 'Cable loss' };

/** Keys of layers, 1 to 9. */
const KEYS = 9;

/** Fields that colour nothing. */
const PLAIN = ['site_id', 'name', 'flag_notes', 'lat', 'lon'];

/** Fields of the dictionary that are in the page and have no button. */
function otherFields(model, own) {
  const taken = new Set([...model.layers.slice(0, own).map(({ field }) => field), ...PLAIN]);
  return model.names.filter((name) => model.fields[name] && !taken.has(name));
}

function layerButton(model, { field }, k, choose) {
  const key = k < KEYS ? [el('kbd', { text: String(k + 1), 'aria-hidden': 'true' })] : [];
  const name = el('span', { text: SHORT[field] ?? model.fields[field].label });
  return el('button', { type: 'button', 'data-layer': field, on: { click: () => choose(k) } }, [name, ...key]);
}

export function makeLayers(model, store, live) {
  /** Layers that have a button: those with a key, and all of an as-built map; the rest are in the list. */
  const own = model.opens_on ? model.layers.length : Math.min(model.layers.length, KEYS);
  const buttons = model.layers.slice(0, own).map((layer, k) =>
    layerButton(model, layer, k, (chosen) => store.set({ layer: chosen })));

  /** Whether a layer is what such a map is for: the margin, and what stands in the group that it opens on. */
  const isFirst = ({ field }, k) => k === 0 || model.fields[field].group === model.fields[model.opens_on].group;

  /** A map of many layers folds those that it is not for, so that its legend is in sight. */
  function fold() {
    const first = buttons.filter((_, k) => isFirst(model.layers[k], k));
    const rest = buttons.filter((button) => !first.includes(button));
    const more = el('details', { id: 'more-layers' }, [
      el('summary', { text: 'More layers' }), el('div', { class: 'layers' }, rest), byId('other-field').closest('.ask'),
    ]);
    byId('layer-list').replaceChildren(...first, more);
  }

  function build() {
    if (model.opens_on && own > KEYS) fold();
    else byId('layer-list').replaceChildren(...buttons);
    const names = otherFields(model, own);
    byId('other-field').replaceChildren(
      el('option', { value: '', text: 'Any other field' }),
      ...names.map((name) => el('option', { value: name, text: model.fields[name].label })),
    );
    byId('other-field').closest('.ask').hidden = !names.length;
  }

  /** Colour by any field: its classes are made at the first call. */
  function showField(name) {
    if (!model.has(name)) return;
    let k = model.layers.findIndex(({ field }) => field === name);
    if (k < 0) {
      live.addLayer(fieldLayer(name, model.values(name), model.fields[name], model.look));
      k = model.layers.length - 1;
    }
    store.set({ layer: k });
  }

  function mark() {
    buttons.forEach((button, k) => {
      button.setAttribute('aria-pressed', String(k === store.state.layer));
    });
    byId('other-field').value = store.state.layer < own ? '' : model.layers[store.state.layer].field;
  }

  build();
  byId('other-field').addEventListener('change', (event) => {
    if (event.target.value) showField(event.target.value);
    else store.set({ layer: 0 });
  });
  return { mark, showField };
}
