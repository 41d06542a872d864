/* The table's head and rows as elements. */
import { el } from '../base/core.js';
import { heldBy } from '../base/pairs.js';
import { pairOf } from '../base/tried.js';

const FIELDS = ['site_id', 'name', 'margin_db', 'margin_after_reserve_db', 'limiting_direction', 'elevation_deg', 'antenna_m', 'buc_w', 'mount', 'flags'];

/** The columns: the usual ones, and the layer's field. */
export function columns(model, layer) {
  const { field } = model.layers[layer];
  const usual = FIELDS.filter((name) => model.has(name));
  return usual.includes(field) ? usual : [...usual, field];
}

/** A heading; margins of one kit everywhere say so. */
const headText = (label, unit, oneKit) =>
  `${oneKit && `${oneKit}: `}${unit ? `${label} [${unit}]` : label}`;

function headCell(field, { label, unit }, { sortBy, sortDown }, { sortOn, oneKit }) {
  const on = sortBy === field;
  const button = el('button', {
    type: 'button', text: headText(label, unit, oneKit) + (on ? (sortDown ? ' ▼' : ' ▲') : ''),
    on: { click: () => sortOn(field) },
  });
  const th = el('th', { scope: 'col', 'data-field': field }, [button]);
  if (on) th.setAttribute('aria-sort', sortDown ? 'descending' : 'ascending');
  return th;
}

/** The row of headings; each is a button that sorts. */
export function headRow(model, state, { sortOn, live }) {
  const select = el('th', { scope: 'col', class: 'narrow' }, [el('span', { class: 'unseen', text: 'Selected' })]);
  const cells = columns(model, state.layer).map((field) => headCell(field, model.fields[field], state, { sortOn, oneKit: heldBy(model, live, field) }));
  return el('tr', {}, [select, ...cells]);
}

/** A value as the table has it: codes read as words. */
export function textOf(field, found) {
  if (field === 'mount' || field === 'cable_class') return found.replaceAll('_', ' ');
  if (field === 'flags') return found.replaceAll(';', ', ').replaceAll('_', ' ');
  return found;
}

function cell(field, i, { model, live, open }) {
  const has = { dir: 'auto', class: live.isStale(field) ? 'stale' : null };
  const found = textOf(field, live.text(field, i));
  const pair = found && !heldBy(model, live, field) && pairOf(model, field, i);
  const shown = pair ? `${found} (tried: ${pair})` : found;
  if (field !== 'site_id') return el('td', { ...has, text: shown, title: shown.length > 24 ? shown : null });
  return el('th', { ...has, scope: 'row' }, [el('button', {
    type: 'button', class: 'goto', text: shown, on: { click: () => open(i) },
  })]);
}

/**
 * The row of site i, the k-th of the table.
 * @param {number} i
 * @param {number} k
 * @param {string[]} fields
 * @param {Object} with_ model, state and live; open and toggle: what its buttons do
 */
export function siteRow(i, k, fields, { model, state, live, open, toggle }) {
  const box = el('input', { type: 'checkbox', 'aria-label': `Select ${model.text('site_id', i)}` });
  box.checked = Boolean(state.selected[i]);
  box.addEventListener('change', () => toggle(i));
  const failing = live.now.failing[i] ? 'failing' : '';
  return el('tr', {
    class: `${failing} ${state.chosen === i ? 'chosen' : ''}`.trim() || null,
    'aria-rowindex': String(k + 2),
    'data-site': String(i),
    'aria-current': state.chosen === i ? 'true' : null,
  }, [
    el('td', { class: 'narrow' }, [el('label', { class: 'tick' }, [box])]),
    ...fields.map((field) => cell(field, i, { model, live, open })),
  ]);
}

/** Room for the rows that are not in sight, and so do not exist. */
export function gap(height) {
  if (height <= 0) return [];
  const room = el('td');
  // One by one: the page's policy lets no attribute style in.
  room.style.height = `${height}px`;
  room.style.padding = '0';
  return [el('tr', { class: 'gap', 'aria-hidden': 'true' }, [room])];
}
