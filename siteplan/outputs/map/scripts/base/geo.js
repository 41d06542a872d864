/* The little geometry that drawing needs. Web Mercator's world is the unit square here. */
export const LAT_LIMIT = 85.0511287798;
export const RAD = Math.PI / 180;

/** Across the world, 0 at 180 W and 1 at 180 E. */
export const worldX = (lon) => lon / 360 + 0.5;

/** Down the world, 0 at 85 N and 1 at 85 S; beyond that the edge. */
export function worldY(lat) {
  const s = Math.sin(Math.max(-LAT_LIMIT, Math.min(LAT_LIMIT, lat)) * RAD);
  return 0.5 - Math.log((1 + s) / (1 - s)) / (4 * Math.PI);
}

/** Longitude brought into [-180, 180). */
export const wrapLon = (lon) => ((((lon + 180) % 360) + 360) % 360) - 180;

const unit = ([lat, lon]) => [
  Math.cos(lat * RAD) * Math.cos(lon * RAD),
  Math.cos(lat * RAD) * Math.sin(lon * RAD),
  Math.sin(lat * RAD),
];

/**
 * Points of the great circle between two places (spherical interpolation).
 * Longitudes run on past 180 instead of jumping.
 * @param {number[]} from [lat, lon]
 * @param {number[]} to [lat, lon]
 * @param {number} parts
 * @returns {number[][]} [lat, lon] of parts + 1 points
 */
export function greatCircle(from, to, parts) {
  const [a, b] = [unit(from), unit(to)];
  const angle = Math.acos(Math.max(-1, Math.min(1, a[0] * b[0] + a[1] * b[1] + a[2] * b[2])));
  if (angle < 1e-9) return [from, to];
  const line = [];
  for (let k = 0; k <= parts; k++) line.push(between(a, b, angle, k / parts));
  return unwrapped(line, from[1]);
}

function between(a, b, angle, t) {
  const p = Math.sin((1 - t) * angle) / Math.sin(angle);
  const q = Math.sin(t * angle) / Math.sin(angle);
  const [vx, vy, vz] = [0, 1, 2].map((k) => p * a[k] + q * b[k]);
  return [Math.atan2(vz, Math.hypot(vx, vy)) / RAD, Math.atan2(vy, vx) / RAD];
}

function unwrapped(line, start) {
  let last = start;
  return line.map(([lat, lon]) => {
    last = lon + 360 * Math.round((last - lon) / 360);
    return [lat, last];
  });
}

/** Degrees with a hemisphere letter, as people read coordinates out; 0 and 180 have none. */
export function spoken(value, letters, decimals) {
  const degrees = `${Math.abs(value).toFixed(decimals)}°`;
  return [0, 180].includes(Number.parseFloat(degrees)) ? degrees : `${degrees} ${letters[value < 0 ? 1 : 0]}`;
}

/** Latitude and longitude as text. */
export const placeText = (lat, lon, decimals) =>
  `${spoken(lat, 'NS', decimals)}, ${spoken(wrapLon(lon), 'EW', decimals)}`;

/** Degrees, minutes and seconds with a hemisphere letter; the seconds carry over. */
function sexagesimal(value, letters, decimals) {
  const unit_ = 10 ** decimals;
  const whole = Math.round(Math.abs(value) * 3600 * unit_);
  const [degrees, rest] = [Math.floor(whole / (3600 * unit_)), whole % (3600 * unit_)];
  const [minutes, seconds] = [Math.floor(rest / (60 * unit_)), (rest % (60 * unit_)) / unit_];
  const two = (value_, d) => value_.toFixed(d).padStart(d ? d + 3 : 2, '0');
  return `${degrees}° ${two(minutes, 0)}′ ${two(seconds, decimals)}″ ${letters[value < 0 ? 1 : 0]}`;
}

/** Latitude and longitude as degrees, minutes and seconds. */
export const dms = (lat, lon, decimals = 1) =>
  `${sexagesimal(lat, 'NS', decimals)}, ${sexagesimal(wrapLon(lon), 'EW', decimals)}`;

/** Whether a point lies inside a ring of corners. */
export function inside(x, y, corners) {
  let odd = false;
  for (let k = 0, last = corners.length - 1; k < corners.length; last = k++) {
    const [a, b] = [corners[k], corners[last]];
    if (a.y > y !== b.y > y && x < ((b.x - a.x) * (y - a.y)) / (b.y - a.y) + a.x) odd = !odd;
  }
  return odd;
}

/** Call draw with the pixels by which each copy of the world in sight, and its neighbours, is shifted. */
export function eachCopy(frame, draw) {
  for (let copy = frame.first - 1; copy <= frame.last + 1; copy++) {
    draw(copy * frame.size - frame.left);
  }
}
