/* One kit everywhere: the margins of pairs of the catalogue at every site, as the page holds them. */

/** No number: below the horizon. */
const NONE = -32768;

/** Fields that follow the pair which is shown at every site. */
const FOLLOW = ['margin_db', 'margin_after_reserve_db', 'margin_class', 'outbound_margin_db', 'inbound_margin_db'];

/** Whether one kit everywhere is shown now. */
export const isOneKit = (now) => Number.isInteger(now?.kit);

/** The one kit everywhere that a field's values hold for now; empty where they are the plan's. */
export const heldBy = (model, { now }, field) =>
  (isOneKit(now) && FOLLOW.includes(field) ? model.pairs.name(now.kit) : '');

/** A pair in words. */
export const pairName = ([diameter, power]) => `${diameter} m and ${power} W`;

/** Margins as whole steps, site by site, out of how they change from pair to pair. */
function steps(changes, width) {
  const found = new Int16Array(changes.length);
  let last = 0;
  for (let at = 0; at < changes.length; at++) {
    if (at % width === 0) last = 0;
    last = changes[at] === null ? 0 : last + changes[at];
    found[at] = changes[at] === null ? NONE : last;
  }
  return found;
}

/** Sites that no kit serves: too low, out of sight, or behind an obstacle. */
function barred(model, ofTheKit) {
  const flags = model.column('flags');
  const stops = (code) => model.flags[code]?.severity === 'stop' && !ofTheKit.includes(code);
  return Uint8Array.from({ length: model.count }, (_, i) => (model.codesOf(flags(i)).some(stops) ? 1 : 0));
}

/**
 * What the page knows of one kit everywhere; null where the plan came without.
 * @param {Object} model
 */
export function makePairs(model) {
  if (!model.everywhere) return null;
  const { pairs, step_db: step, db, prices, of_the_kit: ofTheKit } = model.everywhere;
  const found = steps(db, pairs.length);
  const out = barred(model, ofTheKit);

  /** The margin [dB] of pair k at site i, or null. */
  function margin(k, i) {
    const whole = found[i * pairs.length + k];
    return whole === NONE ? null : Math.round(whole * step * 1e6) / 1e6;
  }

  /** Whether pair k serves site i: with the reserve, and nothing else stops it. */
  function serves(k, i) {
    const m = margin(k, i);
    return m !== null && m >= model.rules.reserve_db && !out[i];
  }

  /** How many sites pair k serves. */
  function served(k) {
    let count = 0;
    for (let i = 0; i < model.count; i++) if (serves(k, i)) count += 1;
    return count;
  }

  return {
    pairs,
    margin,
    serves,
    served,
    barred: out,
    name: (k) => pairName(pairs[k]),
    /** What one pair k costs, in the planner's own unit; null where prices are missing. */
    price: (k) => prices?.[k] ?? null,
    /** The pair as a link names it, and back: -1 where the page has no such pair. */
    text: (k) => pairs[k].join(' '),
    find: (text) => pairs.findIndex((pair) => pair.join(' ') === text),
  };
}
