/* What another target or another place of the satellite changes, for all sites at once. */
import { outageOf } from '../base/data.js';
import { lookAngles } from '../base/look.js';
import { isOneKit } from '../base/pairs.js';
import { hasKit } from '../base/tried.js';
import { bin } from '../sites/classes.js';
import { marginFor } from './interpolate.js';

/** As the plan decides: past six decimals a margin is noise. */
const decided = (m) => (m === null ? null : Math.round(m * 1e6) / 1e6);

/** Margins [dB] of all sites for another target [%]. */
export function estimated(table, count, target) {
  const outage = outageOf(table, target);
  const found = { margin: [], outbound: [], inbound: [] };
  for (let i = 0; i < count; i++) {
    const [out, back] = [0, 1].map((way) => decided(marginFor(table, i, way, outage)));
    found.outbound.push(out);
    found.inbound.push(back);
    found.margin.push(out === null || back === null ? null : Math.min(out, back));
  }
  return found;
}

/**
 * An estimate with what the planner's rules say of it: margins after the reserve, words of their classes.
 * A site without kit has no class of its own, whatever the margin of what was tried: there is no word for it.
 * With one kit ``everywhere`` it has.
 */
export function withRules(estimate, model, { everywhere = false } = {}) {
  const { reserve_db: reserve } = model.rules;
  const layer = model.layers.find(({ kind }) => kind === 'verdict');
  const word = (m) => (m === null || !layer ? '' : layer.classes[bin(m, layer.bounds)].label);
  return {
    ...estimate,
    after: estimate.margin.map((m) => (m === null ? null : m - reserve)),
    word: estimate.margin.map((m, i) => (everywhere || hasKit(model, i) ? word(m) : undefined)),
  };
}

/** Margins [dB] of all sites with one pair everywhere; those of its directions are not known. */
export function ofOneKit(pairs, count, kit) {
  return { margin: Array.from({ length: count }, (_, i) => pairs.margin(kit, i)) };
}

/** Look angles of all sites to a satellite at another longitude. */
export function movedAngles(model, longitude) {
  const [lat, lon, altitude] = ['lat', 'lon', 'altitude_m'].map(model.column);
  return Array.from({ length: model.count }, (_, i) =>
    lookAngles(lat(i), lon(i), altitude(i), longitude, model.tilt_deg));
}

/** The margin's classes of an estimate: a flag that stops whatever the target still stops, and no kit serves nobody. */
function verdictCodes(layer, margins, { stops, kitless }) {
  const [stop, none] = ['stop', 'kitless'].map((kind) => layer.classes.findIndex((c) => c[kind]));
  const blank = layer.classes.length - 1;
  return Uint8Array.from(margins, (m, i) => {
    if (m === null) return blank;
    if (kitless?.[i] && none >= 0) return none;
    if (m >= 0 && stops[i] === 2 && stop >= 0) return stop;
    return bin(m, layer.bounds);
  });
}

function elevationCodes(layer, angles) {
  const blank = layer.classes.length - 1;
  return Uint8Array.from(angles, ({ elevation }) =>
    (elevation === null ? blank : bin(elevation, layer.bounds)));
}

/** Which sites are not served now. A moved satellite leaves its elevation to judge by. */
export function failingNow(model, now) {
  const least = model.rules.min_elevation_deg;
  if (now.angles) return Uint8Array.from(now.angles, (a) => (a.elevation === null || a.elevation < least ? 1 : 0));
  if (isOneKit(now)) return Uint8Array.from({ length: model.count }, (_, i) => (model.pairs.serves(now.kit, i) ? 0 : 1));
  if (!now.estimate) return model.failing;
  // The plan's own rule: with its kit, at a margin that is not below zero.
  return Uint8Array.from(now.estimate.margin, (m, i) => (m === null || m < 0 || model.stops[i] === 2 || !hasKit(model, i) ? 1 : 0));
}

/** The plan's order with the sites that fail now on top. */
export function orderNow(model, failing) {
  if (failing === model.failing) return model.order;
  const tops = model.order.filter((i) => failing[i]);
  const rest = model.order.filter((i) => !failing[i]);
  const all = new Uint32Array(model.order.length);
  all.set(rest);
  all.set(tops, rest.length);
  return all;
}

/** The class of every site in a layer, as things stand now; of: what stops sites, and which have no kit. */
export function codesNow(layer, now, of) {
  if (layer.kind === 'verdict' && now.estimate) return verdictCodes(layer, now.estimate.margin, of);
  if (layer.field === 'elevation_deg' && now.angles && layer.bounds.length) return elevationCodes(layer, now.angles);
  return layer.codes;
}
