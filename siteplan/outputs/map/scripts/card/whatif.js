/* What if the target, or the satellite, were another: what the plan says, moved in the browser. */
import { reachOf } from '../base/data.js';
import { beamOf } from '../sites/beams.js';
import { isOneKit } from '../base/pairs.js';
import { hasKit } from '../base/tried.js';
import { codesNow, estimated, failingNow, movedAngles, ofOneKit, orderNow, withRules } from './changes.js';
import { unfolded } from './interpolate.js';

/** What neither the satellite nor the link decides. */
const OF_THE_PLACE = new Set(['rain_rate_mm_h', 'rain_height_km', 'magnetic_declination_deg']);
const ANGLES = { azimuth_true_deg: 'azimuth', elevation_deg: 'elevation', skew_deg: 'skew', slant_range_km: 'range' };
const ESTIMATED = {
  margin_db: 'margin', margin_after_reserve_db: 'after', margin_class: 'word',
  outbound_margin_db: 'outbound', inbound_margin_db: 'inbound',
};

/**
 * The values as they stand now: the plan's own, or those of a what-if.
 * state.target: outage target asked for [%], or null; state.moved: satellite's longitude, or null;
 * state.kit: the pair that is shown at every site, or null (a target or a moved satellite goes first).
 */
export function makeLive(model, store) {
  const table = model.whatif && {
    p: model.whatif.p_pct,
    reach: reachOf(model.whatif),
    month: model.whatif.month,
    site: unfolded(model.whatif.site, model.whatif.p_pct.length),
    clear: model.whatif.clear,
    hub: (i) => beamOf(model, i).hub_db ?? model.whatif.hub_db,
    share: model.whatif.share,
    lowered: model.whatif.lowered,
    wet: model.whatif.wet,
    wetPct: model.whatif.wet_pct,
  };
  const now = { failing: model.failing, order: model.order, codes: model.layers.map((l) => l.codes), estimate: null, angles: null, kit: null };
  const { pairs } = model;
  const kitless = Uint8Array.from({ length: model.count }, (_, i) => (hasKit(model, i) ? 0 : 1));
  const declination = model.column('magnetic_declination_deg');

  /** Whether a field's values are out of date because the satellite was moved. */
  const isStale = (field) => now.angles !== null
    && !(field in ANGLES) && field !== 'azimuth_magnetic_deg' && !OF_THE_PLACE.has(field)
    && model.fields[field]?.group !== 'site';

  function refresh() {
    const { target, satellite, kit } = store.state;
    now.kit = pairs && target === null && satellite === null ? (kit ?? null) : null;
    now.estimate = table && target !== null ? withRules(estimated(table, model.count, target), model) : null;
    if (isOneKit(now)) now.estimate = withRules(ofOneKit(pairs, model.count, now.kit), model, { everywhere: true });
    now.angles = satellite !== null ? movedAngles(model, satellite) : null;
    now.failing = failingNow(model, now);
    now.order = orderNow(model, now.failing);
    const of = notServed();
    now.codes = model.layers.map((layer) => codesNow(layer, now, of));
    store.set({ live: store.state.live + 1 });
  }

  /** What stops a site whatever the margin: no kit; with one kit everywhere, what no kit mends. */
  const notServed = () => (isOneKit(now) ? { stops: pairs.barred.map((out) => 2 * out) } : { stops: model.stops, kitless });

  /** Whether a field is an estimate at a site: the class of one without kit stays the plan's own. */
  const isEstimated = (field, i) => now.estimate !== null && field in ESTIMATED
    && !(field === 'margin_class' && now.estimate.word[i] === undefined);

  /** A field's value now: number, text or null. */
  function value(field, i) {
    if (now.angles) {
      if (field in ANGLES) return now.angles[i][ANGLES[field]];
      if (field === 'azimuth_magnetic_deg') return magnetic(i);
    }
    if (isEstimated(field, i)) return now.estimate[ESTIMATED[field]]?.[i] ?? null;
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
    return found && !isOneKit(now) && isEstimated(field, i) ? `≈ ${found}` : found;
  }

  store.on(['target', 'satellite', 'kit'], refresh);
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
