/* Look angles on the WGS 84 ellipsoid, and the sun's path: what the plan works out, here as well. */
import { RAD } from './geo.js';

/** WGS 84 (NIMA TR8350.2) and the geostationary radius [km]. */
const A_KM = 6378.137;
const E2 = 0.0066943799901413165;
const ORBIT_KM = 42164.17;
/** Nearer to the zenith than this [degree] azimuth and skew have no meaning. */
const ZENITH = 1e-3;
/** The sun's declination at the solstices [degree]. */
export const OBLIQUITY = 23.44;

/** The line from a site to the satellite in the site's east, north and up [km]. */
function sight(lat, lon, altitudeM, satelliteLon) {
  const [sin, cos] = [Math.sin(lat * RAD), Math.cos(lat * RAD)];
  const apart = (satelliteLon - lon) * RAD;
  const radius = A_KM / Math.sqrt(1 - E2 * sin * sin);
  const height = (altitudeM || 0) / 1000;
  const outward = ORBIT_KM * Math.cos(apart) - (radius + height) * cos;
  const polar = -(radius * (1 - E2) + height) * sin;
  return {
    east: ORBIT_KM * Math.sin(apart),
    north: cos * polar - sin * outward,
    up: cos * outward + sin * polar,
    sin,
    cos,
  };
}

/** A turn as that of an axis, which has no head: modulo 180 degrees. */
function asAxis(turn) {
  const half = turn > 90 ? turn - 180 : turn;
  return half <= -90 ? half + 180 : half;
}

/** How the satellite's north axis is turned from the vertical, from behind the dish. */
function skewOf({ east, north, up, sin, cos }) {
  const range2 = east * east + north * north + up * up;
  const along = north * cos + up * sin;
  return asAxis(Math.atan2(-east * cos * Math.sqrt(range2), sin * range2 - up * along) / RAD);
}

/**
 * Where a geostationary satellite stands, whose polarization may be tilted already [degree].
 * @returns {{azimuth: ?number, elevation: ?number, skew: ?number, range: ?number}} degrees and km;
 *   null below the horizon, azimuth and skew also at the sub-satellite point
 */
export function lookAngles(lat, lon, altitudeM, satelliteLon, tilt = 0) {
  const s = sight(lat, lon, altitudeM, satelliteLon);
  const level = Math.hypot(s.east, s.north);
  const elevation = Math.atan2(s.up, level) / RAD;
  if (!(elevation >= 0)) return { azimuth: null, elevation: null, skew: null, range: null };
  const overhead = elevation > 90 - ZENITH;
  return {
    azimuth: overhead ? null : (Math.atan2(s.east, s.north) / RAD + 360) % 360,
    elevation,
    skew: overhead ? null : asAxis(skewOf(s) + tilt),
    range: Math.hypot(level, s.up),
  };
}

/** The sun at an hour angle [degree, west positive]: [azimuth, elevation]. */
export function sunAt(lat, declination, hourAngle) {
  const [phi, delta, h] = [lat, declination, hourAngle].map((x) => x * RAD);
  const east = -Math.cos(delta) * Math.sin(h);
  const level = Math.cos(delta) * Math.cos(h);
  const north = Math.cos(phi) * Math.sin(delta) - Math.sin(phi) * level;
  const up = Math.sin(phi) * Math.sin(delta) + Math.cos(phi) * level;
  return [(Math.atan2(east, north) / RAD + 360) % 360, Math.atan2(up, Math.hypot(east, north)) / RAD];
}

/** The sun's path above the horizon on one day, as stretches of [azimuth, elevation]. */
export function sunTrack(lat, declination, step = 3) {
  const stretches = [];
  let open = null;
  for (let h = -180; h <= 180; h += step) {
    const at = sunAt(lat, declination, h);
    if (at[1] < 0) open = null;
    else if (open) open.push(at);
    else stretches.push((open = [at]));
  }
  return stretches;
}
