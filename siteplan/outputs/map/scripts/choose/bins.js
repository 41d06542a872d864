/* A histogram's bins: round steps over the values of all sites, and how many lie in each. */
import { niceStep } from '../sites/classes.js';

/** About so many bins. */
const BINS = 24;
/** Of each end's sites so many may lie beyond the bins drawn, where they would squeeze all others. */
const TAIL = 0.02;
/** A range so many times that of the sites between the tails is cut. */
const SQUEEZED = 3;

/** A number without the noise of sums of steps. */
const tidy = (x) => Number(x.toPrecision(10));

/** From where to where the bins go; null where no site has a value. */
function reach(values) {
  const known = Float64Array.from(values.filter((x) => x !== null)).sort();
  if (!known.length) return null;
  const last = known.length - 1;
  const [low, high] = [known[0], known[last]];
  const [first, second] = [known[Math.floor(TAIL * last)], known[Math.ceil((1 - TAIL) * last)]];
  const span = second - first;
  if (!span || high - low <= SQUEEZED * span) return { low, high };
  return { low: Math.max(low, first - span / 2), high: Math.min(high, second + span / 2) };
}

/**
 * Bins of round steps.
 * @param {Array<?number>} values of all sites
 * @param {number} smallest step: the last decimal of the field
 * @returns {?{start: number, step: number, count: number, below: boolean, above: boolean}} below and
 *   above: the first or the last bin holds what lies beyond it too
 */
export function makeBins(values, smallest) {
  const found = reach(values);
  if (!found) return null;
  const { low, high } = found;
  const step = high > low ? Math.max(niceStep((high - low) / BINS), smallest) : smallest;
  const start = tidy(Math.floor(tidy(low / step)) * step);
  const count = Math.floor(tidy((high - start) / step)) + 1;
  const end = start + count * step;
  return {
    start, step, count,
    below: values.some((x) => x !== null && x < start),
    above: values.some((x) => x !== null && tidy(x) > tidy(end)),
  };
}

/** The bin of a value. */
export const binOf = ({ start, step, count }, x) =>
  Math.max(0, Math.min(count - 1, Math.floor(tidy((x - start) / step))));

/** Where bin k begins. */
export const edge = ({ start, step }, k) => tidy(start + k * step);

/** Sites in each bin: all of them, and those shown by their class. */
export function fill(bins, values, codes, { shown, classes }) {
  const all = new Uint32Array(bins.count);
  const byClass = Array.from({ length: bins.count }, () => new Uint32Array(classes));
  values.forEach((x, i) => {
    if (x === null) return;
    const k = binOf(bins, x);
    all[k] += 1;
    if (shown[i]) byClass[k][codes[i]] += 1;
  });
  return { all, byClass };
}

/**
 * The range that bins k to m stand for; null at an end that is open.
 * @param {number} hair the least difference of two values: a value on an edge is of the bin above
 */
export function rangeOf(bins, k, m, hair) {
  const [first, last] = k <= m ? [k, m] : [m, k];
  return [
    first === 0 ? null : edge(bins, first),
    last === bins.count - 1 ? null : tidy(edge(bins, last + 1) - hair),
  ];
}
