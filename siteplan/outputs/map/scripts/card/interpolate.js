/* Margins for another target: the outage shared by the two ends as the plan's own rule shares it. */

/** No number: below the horizon. */
const NONE = -32768;
/** Halvings of the outage: far beyond the digits shown. */
const HALVINGS = 45;

/** Margins of all sites as whole hundredths of a decibel, out of steps along the percentages. */
export function unfolded(steps, points) {
  const hundredths = new Int16Array(steps.length);
  for (let k = 0; k < steps.length; k++) {
    if (steps[k] === null) hundredths[k] = NONE;
    else hundredths[k] = k % points ? hundredths[k - 1] + steps[k] : steps[k];
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

/** The margin [dB] with the site faded at p and the hub clear (way 0 outbound, 1 inbound). */
function siteMargin(table, i, way, p) {
  const points = table.p.length;
  return along(table.site, (2 * i + way) * points, between(table.p, p)) / 100;
}

/** The margin [dB] with the hub faded at p and the site clear. */
function hubMargin(table, i, way, p) {
  const loss = along(table.hub[way], 0, between(table.p, p));
  const [outbound, others, down] = [0, 1, 2].map((k) => table.clear[3 * i + k] / 100);
  if (way === 0) return outbound - loss;
  return -10 * Math.log10(10 ** (-others / 10) + 10 ** (-(down - loss) / 10));
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
  return Math.min(site(outage - high), hub(high));
}
