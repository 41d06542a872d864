/* The dataset: columns by name, and values as the reader sees them. */
import { makePairs } from './pairs.js';

const CODES = '0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ';

/** Sentences whose words are shared and whose numbers follow one another. */
function sentences({ t: words, i: index, n: joined }) {
  let found = null;
  const whole = () => {
    const numbers = joined.split(' ');
    let at = 0;
    return index.map((k) =>
      words[k].map((text, j) => (j ? numbers[at++] : '') + text).join(''));
  };
  return (i) => (found ??= whole())[i];
}

/** A function that gives the value of site i of an encoded column. */
export function reader(column) {
  if (!column) return () => null;
  if ('c' in column) return () => column.c;
  if ('d' in column) return (i) => column.d[column.i[i]];
  if ('t' in column) return sentences(column);
  if (!column.s) return (i) => column.v[i];
  const scale = 10 ** column.s;
  return (i) => (column.v[i] === null ? null : column.v[i] / scale);
}

/** The class of every site in a layer. */
function codes(text) {
  const place = new Uint8Array(128);
  [...CODES].forEach((letter, k) => { place[letter.charCodeAt(0)] = k; });
  const found = new Uint8Array(text.length);
  for (let i = 0; i < found.length; i++) found[i] = place[text.charCodeAt(i)];
  return found;
}

/** A number with its decimals; what rounds to zero from below keeps its sign. */
function fixed(value, decimals) {
  return (Object.is(value, -0) ? '-' : '') + value.toFixed(decimals);
}

/** A value of a field as text, with its unit; empty where there is none, in words where 0 has some. */
export function written(value, field) {
  if (value === null || value === undefined || value === '') return '';
  if (field.decimals === null) return String(value);
  if (value === 0 && field.zero) return field.zero;
  const gap = field.unit === '°' || !field.unit ? '' : ' ';
  return fixed(value, field.decimals) + gap + field.unit;
}

/** A number below zero, also one that was rounded to zero from below. */
const isNegative = (x) => x !== null && (x < 0 || Object.is(x, -0));

/** Stop flags that the margin alone decides; all others hold whatever the target. */
const OF_THE_MARGIN = ['margin_negative', 'no_fit'];

/** What flags say of each site: 2 stops whatever the target, 1 for the margin's sake, 0 no stop. */
function stops(model) {
  const flags = model.column('flags');
  const known = new Map();
  const level = (text) => {
    const found = model.codesOf(text).filter((c) => model.flags[c]?.severity === 'stop');
    if (!found.length) return 0;
    return found.some((c) => !OF_THE_MARGIN.includes(c)) ? 2 : 1;
  };
  return Uint8Array.from({ length: model.count }, (_, i) => {
    const text = flags(i) ?? '';
    if (!known.has(text)) known.set(text, level(text));
    return known.get(text);
  });
}

/** Which sites a flag is raised for. */
function flagged(model, code) {
  const flags = model.column('flags');
  return Uint8Array.from({ length: model.count }, (_, i) => (model.codesOf(flags(i)).includes(code) ? 1 : 0));
}

/** Sites from the bottom of the drawing to its top: failing ones last, then by margin. */
function drawOrder(model) {
  const margin = model.column('margin_db');
  const key = Float64Array.from({ length: model.count }, (_, i) => {
    const m = margin(i) ?? -100;
    return model.failing[i] ? m - 1000 : m;
  });
  return Uint32Array.from(key.keys()).sort((a, b) => key[b] - key[a] || b - a);
}

/**
 * Make the model that every other part takes from the page's dataset.
 * @param {Object} raw
 */
export function readModel(raw) {
  const readers = new Map(Object.entries(raw.columns).map(([k, c]) => [k, reader(c)]));
  const model = {
    ...raw,
    far: raw.far ?? [],
    names: [...readers.keys()],
    column: (name) => readers.get(name) ?? (() => null),
    has: (name) => readers.has(name),
    codesOf: (text) => String(text ?? '').split(';').map((c) => c.trim()).filter(Boolean),
    text: (name, i) => (readers.has(name) ? written(readers.get(name)(i), raw.fields[name]) : ''),
    written: (name, value) => written(value, raw.fields[name]),
    values: (name) => Array.from({ length: raw.count }, (_, i) => readers.get(name)(i)),
    extra: raw.extra.map((column) => ({ label: column.label, value: reader(column) })),
    layers: raw.layers.map((layer) => ({ ...layer, codes: codes(layer.codes) })),
    sheet: raw.sheets ? reader(raw.sheets) : null,
    takes: raw.takes ? reader(raw.takes) : () => '',
    sensitiveOf: raw.sensitive ? reader(raw.sensitive.of) : () => '',
  };
  model.stops = stops(model);
  const margin = model.column('margin_db');
  model.failing = model.stops.map((stop, i) => (stop || isNegative(margin(i)) ? 1 : 0));
  model.order = drawOrder(model);
  model.pairs = makePairs(model);
  model.doubted = flagged(model, 'coordinate_doubt');
  model.label = (i) => model.text('name', i) || model.text('site_id', i);
  return model;
}

/* --- targets: shares of an average year, or of its worst month --- */

/** The outage [%] of an average year that a target [%] allows, as `whatif` of the page's data counts targets. */
export function outageOf(whatif, target) {
  const lost = 100 - target;
  if (!whatif.month) return lost;
  const [factor, power] = whatif.month;
  return factor * lost ** power;
}

/** The target [%] that allows an outage [%] of an average year. */
export function targetOf(whatif, outage) {
  if (!whatif.month) return 100 - outage;
  const [factor, power] = whatif.month;
  return 100 - (outage / factor) ** (1 / power);
}

/** The least and the greatest target [%] that the what-if answers for. */
export function reachOf(whatif) {
  const [least, most] = whatif.reach_pct;
  if (!whatif.month) return [100 - most, 100 - least];
  const [, , low, high] = whatif.month;
  return [Math.max(targetOf(whatif, most), 100 - high), Math.min(targetOf(whatif, least), 100 - low)];
}

/** What stands behind a target that is none of a year. */
export const ofMonth = (whatif) => (whatif?.month ? ' of the worst month' : '');
