/* The panel: which layer colours the sites, and the legend whose rows filter them. */
import { byId, el } from '../base/core.js';
import { fieldLayer } from './classes.js';
import { swatch } from './markers.js';

export function makeLegend(model, store, { filters, live }) {
  const BEARINGS = {
    drawn: 'Stroke at a site: bearing to the satellite.',
    crowded: 'Zoom in for bearings to the satellite.',
    none: 'No site in view.',
  };
  const titleOf = (layer) => model.fields[layer.field].label;
  const withUnit = (layer) => {
    const { label, unit } = model.fields[layer.field];
    return unit ? `${label} [${unit}]` : label;
  };

  /** Short names for narrow buttons; the legend's title has the whole label. */
  const SHORT = { availability_achieved_pct: 'Availability', rain_rate_mm_h: 'Rain rate', cable_loss_high_db: 'Cable loss' };
  /** Layers that have a button; those made later are in the list of other fields. */
  const own = model.layers.length;

  function layerButton(layer, k) {
    const key = k < 9 ? [el('kbd', { text: String(k + 1), 'aria-hidden': 'true' })] : [];
    const name = el('span', { text: SHORT[layer.field] ?? titleOf(layer) });
    return el('button', {
      type: 'button',
      'data-layer': layer.field,
      on: { click: () => store.set({ layer: k }) },
    }, [name, ...key]);
  }

  /** Fields of the dictionary that are in the page and have no button. */
  function otherFields() {
    const taken = new Set([...model.layers.map(({ field }) => field), 'site_id', 'name', 'flag_notes', 'lat', 'lon']);
    return model.names.filter((name) => model.fields[name] && !taken.has(name));
  }

  function buildLayers() {
    byId('layer-list').replaceChildren(...model.layers.slice(0, own).map(layerButton));
    const names = otherFields();
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

  function markLayer() {
    [...byId('layer-list').children].forEach((button, k) => {
      button.setAttribute('aria-pressed', String(k === store.state.layer));
    });
    byId('other-field').value = store.state.layer < own ? '' : model.layers[store.state.layer].field;
  }

  /** "12", or "5 of 12" where a filter of another layer hides some. */
  const countText = (left, total) => (left === total ? String(total) : `${left} of ${total}`);

  function row(k, code, style, { left, total }) {
    const hidden = filters.isHidden(k, code);
    const count = countText(left, total);
    return el('button', {
      type: 'button',
      class: live.isStale(model.layers[k].field) ? 'row outdated' : 'row',
      'data-code': String(code),
      'aria-pressed': String(!hidden),
      title: hidden ? 'Show these sites' : 'Hide these sites',
      on: { click: () => filters.toggle(k, code) },
    }, [
      swatch(style),
      el('span', { class: 'row-label', text: style.label }),
      el('span', { class: 'row-count', text: count }),
      el('span', { class: 'unseen', text: ' sites' }),
    ]);
  }

  /** Build the rows anew, and leave the focus on the row that had it. */
  function buildRows() {
    const k = store.state.layer;
    const layer = model.layers[k];
    const focused = byId('legend').contains(document.activeElement)
      ? document.activeElement.dataset.code
      : null;
    const { total, left } = filters.counts(k);
    const rows = layer.classes
      .map((style, code) => ({ style, code }))
      .filter(({ style, code }) => !style.blank || total[code])
      .map(({ style, code }) => row(k, code, style, { left: left[code], total: total[code] }));
    byId('legend').replaceChildren(...rows);
    if (focused !== null) byId('legend').querySelector(`[data-code="${focused}"]`)?.focus();
  }

  /** What the markers say beside their class. */
  function keyText() {
    const parts = [];
    const failing = live.now.failing.reduce((sum, one) => sum + one, 0);
    const { target, satellite } = store.state;
    if (target !== null && live.now.estimate) parts.push(`Estimate for a target of ${target} %, kit as planned.`);
    if (satellite !== null) parts.push('Satellite moved: grey needs a new plan.');
    if (failing) parts.push(`Octagon: not served (${failing}).`);
    return parts.join(' ');
  }

  function showTexts() {
    const layer = model.layers[store.state.layer];
    byId('legend-title').textContent = withUnit(layer);
    byId('legend-meaning').textContent = layer.kind === 'flags'
      ? 'The worst flag of each site' : model.fields[layer.field].meaning;
    byId('legend-key').replaceChildren(
      el('span', { text: `${keyText()} ` }),
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
    markLayer();
    showTexts();
    buildRows();
    showCount();
  }

  buildLayers();
  all();
  byId('other-field').addEventListener('change', (event) => {
    if (event.target.value) showField(event.target.value);
    else store.set({ layer: 0 });
  });
  byId('show-all').addEventListener('click', filters.clear);
  store.on(['layer', 'filtering', 'mode'], all);
  store.on(['bearings'], showTexts);
  return { showField };
}
