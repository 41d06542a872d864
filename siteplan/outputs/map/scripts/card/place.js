/* Where the site is, and its sky. */
import { el } from '../base/core.js';
import { dms, LAT_LIMIT } from '../base/geo.js';
import { drawSky } from './skyplot.js';

/** The coordinates as the reader likes them. */
export function coordinates(model, state, i) {
  const [lat, lon] = [model.column('lat')(i), model.column('lon')(i)];
  const beyond = Math.abs(lat) > LAT_LIMIT
    ? [el('p', { class: 'notes', text: 'Drawn at the edge: this map ends at 85° of latitude.' })]
    : [];
  const text = state.dms ? dms(lat, lon) : `${lat.toFixed(6)}, ${lon.toFixed(6)}`;
  return [el('p', { class: 'coordinates', text }), ...beyond];
}

/** The site's horizon: 72 elevations and the like, or null where none is known. */
function horizon(model, i) {
  if (!model.horizon) return null;
  const step = model.horizon.length / model.count;
  const found = model.horizon.slice(i * step, (i + 1) * step);
  return found.every((x) => x === null) ? null : found;
}

/** The sky plot with its key. */
export function sky(model, live, i) {
  const [azimuth, elevation] = ['azimuth_true_deg', 'elevation_deg'].map((field) => live.value(field, i));
  const known = horizon(model, i);
  const plot = drawSky({ lat: model.column('lat')(i), azimuth, elevation, horizon: known });
  const key = `Ring: satellite. Lines: the sun in June, March and September, December.${known ? ' Grey: horizon.' : ' No horizon surveyed.'}`;
  return [el('section', {}, [el('h3', { text: 'Sky' }), plot, el('p', { class: 'notes', text: key })])];
}
