/* Margins between the outages that the plan worked out. */

/** No number: below the horizon. */
const NONE = -32768;

/** Margins of all sites as whole tenths of a decibel, out of steps along the outages. */
export function unfolded(steps, points) {
  const tenths = new Int16Array(steps.length);
  for (let k = 0; k < steps.length; k++) {
    if (steps[k] === null) tenths[k] = NONE;
    else tenths[k] = k % points ? tenths[k - 1] + steps[k] : steps[k];
  }
  return tenths;
}

/** Between which outages a percentage lies, and how far along in ln p. */
export function between(outages, p) {
  let k = 0;
  while (k < outages.length - 2 && p >= outages[k + 1]) k++;
  const share = Math.log(p / outages[k]) / Math.log(outages[k + 1] / outages[k]);
  return { k, share: Math.max(0, Math.min(1, share)) };
}

/** The margin [dB] of one site and way (0 outbound, 1 inbound), or null. */
export function marginAt(tenths, points, i, way, { k, share }) {
  const at = (2 * i + way) * points + k;
  if (tenths[at] === NONE) return null;
  return (tenths[at] * (1 - share) + tenths[at + 1] * share) / 10;
}
