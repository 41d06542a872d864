/* What if the target, or the satellite, were another: what the plan says, moved in the browser. */
import { lookAngles } from '../base/look.js';
import { bin } from '../sites/classes.js';
import { between, marginAt, unfolded } from './interpolate.js';

/**
 * The values as they stand now: the plan's own, or those of a what-if.
 * state.target: outage target asked for [%], or null; state.moved: satellite's longitude, or null.
 */
export function makeLive(model, store) {
  /** What neither the satellite nor the link decides. */
  const OF_THE_PLACE = new Set(['rain_rate_mm_h', 'rain_height_km', 'magnetic_declination_deg']);
  const ANGLES = { azimuth_true_deg: 'azimuth', elevation_deg: 'elevation', skew_deg: 'skew', slant_range_km: 'range' };
  const ESTIMATED = { margin_db: 'margin', outbound_margin_db: 'outbound', inbound_margin_db: 'inbound' };
  const table = model.whatif && {
    outages: model.whatif.outages_pct,
    tenths: unfolded(model.whatif.margins, model.whatif.outages_pct.length),
  };
  const now = { failing: model.failing, order: model.order, codes: model.layers.map((l) => l.codes), estimate: null, angles: null };
  const declination = model.column('magnetic_declination_deg');

  /** Whether a field's values are out of date because the satellite was moved. */
  const isStale = (field) => now.angles !== null
    && !(field in ANGLES) && field !== 'azimuth_magnetic_deg' && !OF_THE_PLACE.has(field)
    && model.fields[field]?.group !== 'site';

  function estimate(target) {
    const at = between(table.outages, 100 - target);
    const points = table.outages.length;
    const found = { margin: [], outbound: [], inbound: [] };
    for (let i = 0; i < model.count; i++) {
      const [out, back] = [0, 1].map((way) => marginAt(table.tenths, points, i, way, at));
      found.outbound.push(out);
      found.inbound.push(back);
      found.margin.push(out === null || back === null ? null : Math.min(out, back));
    }
    return found;
  }

  function moved(longitude) {
    const [lat, lon, altitude] = ['lat', 'lon', 'altitude_m'].map(model.column);
    return Array.from({ length: model.count }, (_, i) =>
      lookAngles(lat(i), lon(i), altitude(i), longitude));
  }

  /** The margin's classes of an estimate: a flag that stops whatever the target still stops. */
  function verdictCodes(layer, margins) {
    const stop = layer.classes.findIndex((c) => c.stop);
    const blank = layer.classes.length - 1;
    return Uint8Array.from(margins, (m, i) => {
      if (m === null) return blank;
      if (m >= 0 && model.stops[i] === 2 && stop >= 0) return stop;
      return bin(m, layer.bounds);
    });
  }

  function elevationCodes(layer) {
    const blank = layer.classes.length - 1;
    return Uint8Array.from(now.angles, ({ elevation }) =>
      (elevation === null ? blank : bin(elevation, layer.bounds)));
  }

  /** Which sites are not served now. A moved satellite leaves its elevation to judge by. */
  function failing() {
    const least = model.rules.min_elevation_deg;
    if (now.angles) return Uint8Array.from(now.angles, (a) => (a.elevation === null || a.elevation < least ? 1 : 0));
    if (!now.estimate) return model.failing;
    return Uint8Array.from(now.estimate.margin, (m, i) => {
      if (m === null || m < 0 || model.stops[i] === 2) return 1;
      return model.stops[i] === 1 && m < model.rules.reserve_db ? 1 : 0;
    });
  }

  /** The plan's order with the sites that fail now on top. */
  function order() {
    if (now.failing === model.failing) return model.order;
    const tops = model.order.filter((i) => now.failing[i]);
    const rest = model.order.filter((i) => !now.failing[i]);
    const all = new Uint32Array(model.order.length);
    all.set(rest);
    all.set(tops, rest.length);
    return all;
  }

  function codesOf(layer) {
    if (layer.kind === 'verdict' && now.estimate) return verdictCodes(layer, now.estimate.margin);
    if (layer.field === 'elevation_deg' && now.angles && layer.bounds.length) return elevationCodes(layer);
    return layer.codes;
  }

  function refresh() {
    const { target, satellite } = store.state;
    now.estimate = table && target !== null ? estimate(target) : null;
    now.angles = satellite !== null ? moved(satellite) : null;
    now.failing = failing();
    now.order = order();
    now.codes = model.layers.map(codesOf);
    store.set({ live: store.state.live + 1 });
  }

  /** A field's value now: number, text or null. */
  function value(field, i) {
    if (now.angles) {
      if (field in ANGLES) return now.angles[i][ANGLES[field]];
      if (field === 'azimuth_magnetic_deg') return magnetic(i);
    }
    if (now.estimate && field in ESTIMATED) return now.estimate[ESTIMATED[field]][i];
    return model.column(field)(i);
  }

  function magnetic(i) {
    const { azimuth } = now.angles[i];
    const turn = declination(i);
    return azimuth === null || turn === null ? null : (azimuth - turn + 360) % 360;
  }

  /** A field's value now as text; an estimate says so. */
  function text(field, i) {
    if (!now.angles && !now.estimate) return model.text(field, i);
    const found = model.written(field, value(field, i));
    return found && now.estimate && field in ESTIMATED ? `≈ ${found}` : found;
  }

  store.on(['target', 'satellite'], refresh);
  return {
    now,
    value,
    text,
    isStale,
    table,
    /** Take a layer in that was made later. */
    addLayer(layer) {
      model.layers.push(layer);
      now.codes.push(layer.codes);
    },
  };
}
