/* The legend of the layer that is shown: its rows filter the sites. */
import { byId, el } from '../base/core.js';
import { ofMonth } from '../base/data.js';
import { heldBy, isOneKit } from '../base/pairs.js';
import { makeLayers } from './layers.js';
import { swatch } from './markers.js';

const BEARINGS = {
  drawn: 'Stroke at a site: bearing to the satellite.',
  crowded: 'Zoom in for bearings to the satellite.',
  none: 'No site in view.',
};

const withUnit = ({ label, unit }) => (unit ? `${label} [${unit}]` : label);

/** Layers that say in short what they show; else the field does. */
const SHOWS = { flags: 'The worst flag of each site', verdict: 'What came back from the sites, against the plan' };

/** "12", or "5 of 12" where a filter of another layer hides some. */
const countText = (left, total) => (left === total ? String(total) : `${left} of ${total}`);

/** One class as a button that hides its sites or shows them. */
function legendRow(style, { code, hidden, stale, count, toggle }) {
  return el('button', {
    type: 'button',
    class: stale ? 'row outdated' : 'row',
    'data-code': String(code),
    'aria-pressed': String(!hidden),
    title: hidden ? 'Show these sites' : 'Hide these sites',
    on: { click: toggle },
  }, [
    swatch(style),
    el('span', { class: 'row-label', text: style.label }),
    el('span', { class: 'row-count', text: count }),
    el('span', { class: 'unseen', text: ' sites' }),
  ]);
}

/** What the markers say beside their class. */
function keyText({ target, satellite }, now, doubted, month) {
  const { estimate, failing } = now;
  const sum = (marks) => marks.reduce((total, one) => total + one, 0);
  const [count, unsure] = [sum(failing), sum(doubted)];
  const parts = [];
  if (target !== null && estimate && !isOneKit(now)) parts.push(`Estimate for a target of ${target} %${month}, kit as planned.`);
  if (satellite !== null) parts.push('Satellite moved: grey needs a new plan.');
  if (count) parts.push(`Octagon: not served${isOneKit(now) ? ' with this kit' : ''} (${count}).`);
  if (unsure) parts.push(`?: coordinates to check (${unsure}).`);
  return parts.join(' ');
}

export function makeLegend(model, store, { filters, live }) {
  const layers = makeLayers(model, store, live);

  /** Build the rows anew, and leave the focus on the row that had it. */
  function buildRows() {
    const k = store.state.layer;
    const layer = model.layers[k];
    const focused = byId('legend').contains(document.activeElement)
      ? document.activeElement.dataset.code
      : null;
    const { total, left } = filters.counts(k);
    const stale = live.isStale(layer.field);
    const rows = layer.classes
      .map((style, code) => ({ style, code }))
      .filter(({ style, code }) => !(style.blank || style.kitless) || total[code])
      .map(({ style, code }) => legendRow(style, {
        code,
        stale,
        hidden: filters.isHidden(k, code),
        count: countText(left[code], total[code]),
        toggle: () => filters.toggle(k, code),
      }));
    byId('legend').replaceChildren(...rows);
    if (focused !== null) byId('legend').querySelector(`[data-code="${focused}"]`)?.focus();
  }

  function showTexts() {
    const layer = model.layers[store.state.layer];
    const field = model.fields[layer.field];
    const oneKit = heldBy(model, live, layer.field);
    byId('legend-title').textContent = withUnit(field) + (oneKit && `, with ${oneKit} everywhere`);
    byId('legend-meaning').textContent = SHOWS[layer.field] ?? field.meaning;
    byId('legend-key').replaceChildren(
      el('span', { text: `${keyText(store.state, live.now, model.doubted, ofMonth(model.whatif))} ` }),
      el('span', { class: 'screen-only', text: BEARINGS[store.state.bearings] }),
    );
  }

  function showCount() {
    const count = filters.shownCount();
    const noun = model.count === 1 ? 'site' : 'sites';
    byId('shown').textContent = `${countText(count, model.count)} ${noun} shown`;
    byId('show-all').hidden = !filters.any();
  }

  function all() {
    layers.mark();
    showTexts();
    buildRows();
    showCount();
  }

  all();
  byId('show-all').addEventListener('click', filters.clear);
  store.on(['layer', 'filtering', 'mode'], all);
  store.on(['live'], showTexts);
  store.on(['bearings'], showTexts);
  return { showField: layers.showField };
}
