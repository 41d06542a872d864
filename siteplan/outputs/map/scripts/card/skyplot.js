/* The sky over a site: north up, the horizon at the rim, the zenith in the middle. */
import { svg } from '../base/core.js';
import { RAD } from '../base/geo.js';
import { OBLIQUITY, sunTrack } from '../base/look.js';

const R = 118;
const MIDDLE = 148;

/** Where a direction lies on the drawing. */
function spot(azimuth, elevation) {
  const r = (R * (90 - elevation)) / 90;
  const a = (azimuth - 90) * RAD;
  return [MIDDLE + r * Math.cos(a), MIDDLE + r * Math.sin(a)];
}

const path = (points) => points.map(([x, y], k) => `${k ? 'L' : 'M'}${x.toFixed(1)} ${y.toFixed(1)}`).join('');

function rings() {
  const parts = [0, 30, 60].map((elevation) => svg('circle', {
    cx: MIDDLE, cy: MIDDLE, r: (R * (90 - elevation)) / 90, class: elevation ? 'sky-ring' : 'sky-rim',
  }));
  const names = [['N', 0], ['E', 90], ['S', 180], ['W', 270]].map(([text, azimuth]) => {
    const [x, y] = spot(azimuth, -11);
    return svg('text', { x, y: y + 5, class: 'sky-name', text });
  });
  const heights = [30, 60].map((elevation) => {
    const [x, y] = spot(315, elevation);
    return svg('text', { x: x + 2, y: y + 10, class: 'sky-small', text: `${elevation}°` });
  });
  const cross = [[0, 180], [90, 270]].map((ends) => svg('path', {
    d: path(ends.map((azimuth) => spot(azimuth, 0))), class: 'sky-ring',
  }));
  return [...parts, ...cross, ...names, ...heights];
}

/** The ground's edge as far as it is known: one elevation every so many degrees. */
function ground(horizon) {
  if (!horizon) return [];
  const step = 360 / horizon.length;
  const edge = horizon.map((elevation, k) => spot(k * step, Math.max(0, elevation ?? 0)));
  const rim = horizon.map((_, k) => spot(k * step, 0)).reverse();
  return [svg('path', { d: `${path(edge)}Z${path(rim)}Z`, class: 'sky-ground', 'fill-rule': 'evenodd' })];
}

function suns(lat) {
  const days = [['Jun', OBLIQUITY], ['Mar, Sep', 0], ['Dec', -OBLIQUITY]];
  return days.flatMap(([name, declination], k) => {
    const tracks = sunTrack(lat, declination);
    const lines = tracks.map((track) => svg('path', { d: path(track.map((at) => spot(...at))), class: `sky-sun sun-${k}` }));
    const top = tracks.flat().sort((a, b) => b[1] - a[1])[0];
    if (!top) return lines;
    const [x, y] = spot(...top);
    return [...lines, svg('text', { x: x + 16, y: y - 3, class: 'sky-small', text: name })];
  });
}

function satellite(azimuth, elevation) {
  const [x, y] = spot(azimuth ?? 0, elevation);
  return [
    svg('circle', { cx: x, cy: y, r: 8, class: 'sky-satellite' }),
    svg('circle', { cx: x, cy: y, r: 2.5, class: 'sky-dot' }),
  ];
}

/**
 * Draw one site's sky.
 * @param {{lat: number, azimuth: ?number, elevation: ?number, horizon: ?number[]}} of
 */
export function drawSky({ lat, azimuth, elevation, horizon }) {
  const seen = elevation !== null;
  const where = seen
    ? `the satellite stands at azimuth ${azimuth === null ? 'overhead' : `${azimuth.toFixed(0)}°`}, elevation ${elevation.toFixed(0)}°`
    : 'the satellite is below the horizon';
  return svg('svg', { viewBox: '0 0 296 296', class: 'sky', role: 'img', 'aria-label': `Sky plot: ${where}.` }, [
    ...rings(), ...ground(horizon), ...suns(lat), ...(seen ? satellite(azimuth, elevation) : []),
  ]);
}
