/* Margins for another target: the outage shared by the two ends as the plan's own rule shares it. */

/** No number: below the horizon. */
const NONE = -32768;
/** Whole numbers a percent in which the end of wet dishes travels. */
const WET_UNITS = 100000;
/** Halvings of the outage: far beyond the digits shown. */
const HALVINGS = 45;

/** Margins of all sites as whole hundredths of a decibel, out of how their steps change. */
export function unfolded(bends, points) {
  const hundredths = new Int16Array(bends.length);
  let step = 0;
  for (let k = 0; k < bends.length; k++) {
    const first = k % points === 0;
    step = (first ? 0 : step) + bends[k];
    if (bends[k] === null) hundredths[k] = NONE;
    else hundredths[k] = (first ? 0 : hundredths[k - 1]) + step;
  }
  return hundredths;
}

/** Between which percentages of a rising scale one lies, and how far along in ln p; ends hold. */
export function between(scale, p) {
  let low = 0;
  let high = scale.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (p >= scale[middle]) low = middle;
    else high = middle;
  }
  const share = Math.log(p / scale[low]) / Math.log(scale[high] / scale[low]);
  return { k: low, share: p <= 0 ? 0 : Math.max(0, Math.min(1, share)) };
}

const along = (values, at, { k, share }) =>
  values[at + k] * (1 - share) + values[at + k + 1] * share;

/** How far along in ln p a percentage lies between two others. */
const shareOf = (low, high, p) => Math.log(p / low) / Math.log(high / low);

/**
 * The margin [dB] with the site faded at p and the hub clear (way 0 outbound, 1 inbound).
 * Where a wet dish dries between two points, the margin jumps there: table.wet holds both sides.
 */
function siteMargin(table, i, way, p) {
  const at = (2 * i + way) * table.p.length;
  const here = between(table.p, p);
  const [low, high] = [table.p[here.k], table.p[here.k + 1]];
  const until = table.wet ? table.wetPct[i] / WET_UNITS : 0;
  if (!(until > low && until < high) || p <= low) return along(table.site, at, here) / 100;
  const [wet, dry] = [0, 1].map((side) => table.wet[4 * i + 2 * way + side] / 100);
  const [first, last] = [table.site[at + here.k] / 100, table.site[at + here.k + 1] / 100];
  if (p <= until) return first + (wet - first) * shareOf(low, until, p);
  return dry + (last - dry) * shareOf(until, high, Math.min(p, high));
}

/**
 * The margin [dB] with the hub faded at p and the site clear. A third curve of the hub is there only where its
 * rain turns power over from the other polarization: the inbound carrier over that, less the threshold, for a
 * carrier that is not turned down to spare power (table.lowered).
 */
function hubMargin(table, i, way, p) {
  const here = between(table.p, p);
  const hubs = table.hub(i);
  const loss = along(hubs[way], 0, here);
  const [outbound, others, down] = [0, 1, 2].map((k) => table.clear[3 * i + k] / 100);
  if (way === 0) return outbound - loss;
  const lowered = table.lowered ? table.lowered[i] / 100 : 0;
  const terms = [others, down - loss, ...hubs.slice(2).map((leak) => along(leak, 0, here) - lowered)];
  return -10 * Math.log10(terms.reduce((sum, db) => sum + 10 ** (-db / 10), 0));
}

/**
 * The margin [dB] of one site and way at an outage [%], or null.
 * The outage is the sum of the two ends'; table.share, the hub's, fixes the split where it is not null.
 */
export function marginFor(table, i, way, outage) {
  if (table.site[(2 * i + way) * table.p.length] === NONE) return null;
  const site = (p) => siteMargin(table, i, way, p);
  const hub = (p) => hubMargin(table, i, way, p);
  if (table.share === 0) return site(outage);
  if (table.share !== null) return Math.min(site(outage * (1 - table.share)), hub(outage * table.share));
  if (hub(0) >= site(outage)) return site(outage);
  if (site(0) >= hub(outage)) return hub(outage);
  let [low, high] = [0, outage];
  for (let k = 0; k < HALVINGS; k++) {
    const middle = (low + high) / 2;
    if (hub(middle) < site(outage - middle)) low = middle;
    else high = middle;
  }
  // Both sides: where a dish dries the two curves may cross in the jump.
  return Math.max(...[low, high].map((p) => Math.min(site(outage - p), hub(p))));
}
