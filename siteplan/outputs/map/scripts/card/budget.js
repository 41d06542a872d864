/* Where the margin goes: both directions step by step, and what another antenna would bring. */
import { beamOf } from '../sites/beams.js';
import { el, svg } from '../base/core.js';
import { hasKit, triedPair } from '../base/tried.js';
import { command, drawHops } from './hop.js';
import { isWhatIf, ofPlan } from './ofplan.js';

const WAYS = ['outbound', 'inbound'];
const WIDTH = 120;
/** What rounding three figures to 0.1 dB comes to at most, and a little for their binary digits. */
const ROUNDED_DB = 0.151;

/**
 * Steps of one direction; every level is a value shown elsewhere, so the steps add up. Of a pair that
 * was only tried they begin at the fade margin: a site without kit has no Es/N0.
 */
export function budgetSteps(model, i, way) {
  const w = WAYS.indexOf(way);
  const at = (2 * i + w) * 4;
  const raw = model.budget.slice(at, at + 4);
  if (raw.some((x) => x === null)) return [];
  const [hop, taken, attenuation, hub] = raw.map((x) => x / 10);
  const clear = model.column(`${way}_clear_es_n0_db`)(i);
  const fade = model.column(`${way}_fade_margin_db`)(i);
  const margin = model.column(`${way}_margin_db`)(i);
  const modem = beamOf(model, i).thresholds_db[way];
  const noise = fade - attenuation - hub - margin;
  // Three figures are rounded, each by itself: the other hop gives nothing back for that.
  const over = taken - (hop - clear);
  const interference = over > 0 && over < ROUNDED_DB ? hop - clear : taken;
  const levels = [
    { label: way === 'outbound' ? 'Downlink to the site, clear sky' : 'Uplink from the site, clear sky', level: hop },
    { label: 'Other hop', drop: hop - clear - interference },
    { label: 'Interference', drop: interference },
    { label: 'Threshold', drop: clear - fade - modem },
    { label: 'Modem loss', drop: modem },
  ];
  return [
    ...(hasKit(model, i) ? levels : []),
    { label: 'Fade margin', level: fade },
    { label: 'Rain and gas at the site', drop: attenuation },
    { label: noiseOf(model, i, way), drop: noise },
    { label: 'Rain at the hub', drop: hub },
    { label: 'Margin at the target', level: margin, last: true },
    { label: 'Reserve', drop: model.rules.reserve_db },
    { label: 'Margin after reserve', level: margin - model.rules.reserve_db, last: true },
  ].filter(({ drop }) => drop === undefined || Math.abs(drop) >= 0.05);
}

/** What the step of noise holds; of rain that depolarizes where there is power on the other polarization. */
function noiseOf(model, i, way) {
  if (way === 'inbound') return 'Wet dish';
  return beamOf(model, i).carriers?.outbound.depolarizes ? 'Noise and depolarization of the rain, wet dish' : 'Noise of the rain, wet dish';
}

/** From and to of each bar, in dB. */
function spans(list) {
  let level = 0;
  return list.map((step) => {
    const from = step.drop === undefined ? 0 : level;
    level = step.drop === undefined ? step.level : level - step.drop;
    return { ...step, from, to: level };
  });
}

function bar({ from, to, drop, last }, scale, reserve) {
  const [x1, x2] = [Math.min(from, to), Math.max(from, to)].map(scale);
  const kind = drop !== undefined ? 'drop' : last && to < 0 ? 'bad' : 'level';
  return svg('svg', { viewBox: `0 0 ${WIDTH} 16`, class: 'bar', 'aria-hidden': 'true' }, [
    svg('path', { d: `M${scale(0)} 0V16`, class: 'bar-zero' }),
    svg('path', { d: `M${scale(reserve)} 0V16`, class: 'bar-reserve' }),
    svg('rect', { x: x1, y: 3, width: Math.max(1.5, x2 - x1), height: 10, class: `bar-${kind}` }),
  ]);
}

const number = ({ drop, to }) => {
  const value = drop === undefined ? to : -drop;
  return `${value.toFixed(1).replace('-', '−')} dB`;
};

function table(model, i, way) {
  const list = spans(budgetSteps(model, i, way));
  if (!list.length) return [];
  const ends = list.flatMap(({ from, to }) => [from, to, 0]);
  const [low, high] = [Math.min(...ends), Math.max(...ends)];
  const scale = (db) => 2 + ((WIDTH - 4) * (db - low)) / (high - low || 1);
  return [el('table', { class: 'budget', 'data-way': way }, [
    el('caption', { text: caption(way, hasKit(model, i)) }),
    el('tbody', {}, list.map((step) => el('tr', { class: step.drop === undefined ? 'sum' : null }, [
      el('th', { scope: 'row', text: step.label }),
      el('td', {}, [bar(step, scale, model.rules.reserve_db)]),
      el('td', { class: 'num', text: number(step) }),
    ]))),
  ])];
}

const caption = (way, given) =>
  (way === 'outbound' ? 'Outbound' : 'Inbound') + (given ? ', Es/N0' : ', margin');

/** Whether the budget stands unfolded: it stays so from site to site. */
let unfolded = false;

/** Both directions as tables with bars, folded; where the page has no budget, the way to one. */
export function drawBudget(model, i, now = {}) {
  if (!model.budget) return command(model, i);
  const found = WAYS.flatMap((way) => table(model, i, way));
  if (!found.length) return [];
  const pair = triedPair(model, i);
  const whose = pair ? `With ${pair}, tried and not planned` : 'As planned';
  const key = el('p', { class: 'notes', text: `${whose}, at the site’s own target. The dashed line is the reserve.` });
  const fold = el('details', {
    id: 'link-budget', class: ofPlan(now), open: unfolded, on: { toggle: (event) => { unfolded = event.target.open; } },
  }, [el('summary', { text: 'Link budget: where the margin goes' }), ...found, key, ...drawHops(model, i), ...command(model, i)]);
  return [el('section', {}, [fold])];
}

const afterReserve = (model, name, i) => model.written(name, model.column(name)(i) - model.rules.reserve_db);

/** What each antenna of the catalogue would give with the same BUC. */
export function otherAntennas(model, i, now = {}) {
  const rows = model.names
    .filter((name) => /^margin_\d+(_\d+)?_m_db$/.test(name) && model.column(name)(i) !== null)
    .map((name) => ({ name, m: Number(name.slice(7, -5).replace('_', '.')) }))
    .sort((a, b) => a.m - b.m);
  if (!rows.length) return [];
  const pair = triedPair(model, i);
  const own = model.column('antenna_m')(i);
  const next = model.column('next_antenna_m')(i);
  const gain = (model.column('next_antenna_margin_db')(i) ?? NaN) - (model.column('margin_db')(i) ?? NaN);
  const buys = Number.isFinite(gain) && next !== null
    ? [el('p', { class: 'buys', text: `The next antenna up, ${next} m, buys ${gain.toFixed(1)} dB${pair && ` over ${pair}`}.` })]
    : [];
  return [el('section', { class: ofPlan(now) }, [el('h3', { text: pair ? `Antennas tried with ${model.text('tried_buc_w', i)}: none is planned` : `What another antenna buys${isWhatIf(now) ? ', by the plan' : ''}` }), ...buys, el('dl', {}, rows.flatMap(({ name, m }) => [
    el('dt', { text: `${m} m${m === own ? ' (this site)' : ''}` }),
    el('dd', { text: `${model.text(name, i)}, ${afterReserve(model, name, i)} after reserve` }),
  ]))])];
}
