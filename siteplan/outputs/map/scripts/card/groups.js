/* The card's groups of fields, as the dictionary has them. */
import { el } from '../base/core.js';
import { isOneKit } from '../base/pairs.js';
import { pairOf, triedPair } from '../base/tried.js';

/** Fields whose values are codes. */
const CODED = ['mount', 'structure', 'kit_source', 'cable_class', 'obstacle_kind', 'horizon_source'];
/** A value longer than this takes the whole width. */
const LONG = 44;

function term(label, value, { meaning = '', stale = false } = {}) {
  const looks = [value.length > LONG ? 'long' : '', stale ? 'stale' : ''].join(' ').trim() || null;
  return [
    el('dt', { text: label, title: meaning || null, class: value.length > LONG ? 'long' : null }),
    el('dd', { text: value, dir: 'auto', class: looks }),
  ];
}

/** Fields that few need: folded, under the heading of their group. */
function folded(heading, rows) {
  if (!rows.length) return [];
  return [el('details', {}, [el('summary', { text: `More: ${heading}` }), el('dl', {}, rows)])];
}

function section(heading, rows) {
  if (!rows.length) return [];
  return [el('section', {}, [el('h3', { text: heading }), el('dl', {}, rows)])];
}

/**
 * The rows of one group, without the fields that this site has no value for. What holds for a pair
 * that was only tried stands apart, under that pair.
 */
export function group(model, live, { heading, fields }, i) {
  // With one kit everywhere the card's head tells its margin: below stands the plan.
  const text = isOneKit(live.now) ? model.text : live.text;
  const known = fields.filter((field) => text(field, i) !== '' && !isRepeated(model, field, i));
  const own = known.filter((field) => !pairOf(model, field, i));
  const tried = known.filter((field) => !own.includes(field));
  const rows = (some) => some.flatMap((field) => term(model.fields[field].label, shown(field, text(field, i)), {
    meaning: model.fields[field].meaning, stale: live.isStale(field),
  }));
  const part = (head, some) => (heading.startsWith('More: ')
    ? folded(head.slice(6), rows(some)) : section(head, rows(some)));
  return [...part(heading, own), ...part(`${heading}, with ${triedPair(model, i)} (tried, not planned)`, tried)];
}

/** The reason why nothing fits is among the flags' sentences already. */
const isRepeated = (model, field, i) =>
  field === 'no_fit_reason' && model.text('flag_notes', i).includes(model.text(field, i));

/** Codes of the plan (non_penetrating) read as words. */
const shown = (field, text) => {
  if (field === 'mount_certainty') return text.replace('provisional', 'to be surveyed');
  return CODED.includes(field) ? text.replaceAll('_', ' ') : text;
};

/** The free columns of the sites table. */
export function extras(model, i) {
  const rows = model.extra
    .map(({ label, value }) => ({ label, text: String(value(i) ?? '') }))
    .filter(({ text }) => text !== '')
    .flatMap(({ label, text }) => term(label, text));
  return section('From the sites table', rows);
}
