/* A site that gets no kit: what was tried stands under its pair in card, tip and table; no Es/N0. */
import assert from 'node:assert/strict';
import test from 'node:test';
import { makeMap, makePage, told } from '../fake.js';

const page = makePage();
const from = (path) => import(`../../../../siteplan/outputs/map/scripts/${path}.js`);
const [core, data, tried, budget, groups, verdict, rows, pointers] = await Promise.all([
  'base/core', 'base/data', 'base/tried', 'card/budget', 'card/groups', 'card/verdict', 'choose/rows', 'sites/pointer',
].map(from));

const field = (label, unit, decimals, more = {}) => ({ label, unit, decimals, meaning: '', group: 'link', ...more });
const both = (a, b) => ({ v: [a, b] });
/** Site 0 gets a pair, site 1 none. */
const model = data.readModel({
  count: 2, flags: {}, extra: [], sheets: null, thresholds_db: { outbound: 1, inbound: 0.7 }, rules: { reserve_db: 1 },
  fields: {
    site_id: field('Site', '', null), name: field('Name', '', null), antenna_m: field('Antenna', 'm', 2), buc_w: field('BUC', 'W', 1),
    margin_db: field('Margin', 'dB', 1, { tried: true }), elevation_deg: field('Elevation', '°', 2),
    tried_antenna_m: field('Tried', 'm', 2, { tried: true }), tried_buc_w: field('Tried', 'W', 1, { tried: true }),
    margin_1_2_m_db: field('With 1.2 m', 'dB', 1, { tried: true }), flags: field('Flags', '', null),
  },
  columns: {
    site_id: both('A', 'B'), name: both('a', 'b'), antenna_m: both(1.2, null), buc_w: both(3, null), margin_db: both(2.4, -1.3),
    elevation_deg: both(43, 12), tried_antenna_m: both(1.2, 2.4), tried_buc_w: both(3, 4), margin_1_2_m_db: both(2.4, -4), flags: both('', ''),
    outbound_clear_es_n0_db: both(11.5, null), outbound_fade_margin_db: both(6, 2), outbound_margin_db: both(2.4, -1.3),
    inbound_clear_es_n0_db: both(12.5, null), inbound_fade_margin_db: both(7, 3), inbound_margin_db: both(3.4, 1.3),
    next_antenna_m: both(1.8, 3.7), next_antenna_margin_db: both(5, 0),
  },
  budget: [130, 6, 20, 10, 140, 9, 21, 11, 100, 4, 12, 7, 110, 5, 13, 8],
  layers: [{ field: 'margin_db', kind: 'verdict', codes: '01', classes: [{ label: 'ok' }, { label: 'fails' }] }],
});
const live = {
  now: { failing: [0, 1], codes: [[0, 1]], angles: null, estimate: null },
  text: (name, i) => model.text(name, i), isStale: () => false,
};
const all = (nodes) => nodes.flatMap((node) => told(node)).join('\n');
const PAIR = '2.40 m and 4.0 W';

test('the pair heads what was tried, and nothing else', () => {
  assert.equal(tried.triedPair(model, 0), '');
  assert.equal(tried.triedPair(model, 1), PAIR);
  assert.equal(tried.pairOf(model, 'margin_db', 1), PAIR);
  assert.equal(tried.pairOf(model, 'elevation_deg', 1), '');
});

test('the verdict names the pair, and says not to install', () => {
  const [own, other] = [0, 1].map((i) => all(verdict.verdict(model, { target: null, satellite: null }, live, i)));
  assert.match(own, /"Margin 2\.4 dB"/);
  assert.match(other, new RegExp(`DO NOT INSTALL: no kit is planned here\\. Margin -1\\.3 dB with ${PAIR} \\(tried, not planned\\)\\.`));
  const misses = { ...live, now: { ...live.now, failing: [1, 1] } };
  const short = { ...model, column: (name) => (name === 'margin_db' ? () => -0.5 : model.column(name)) };
  assert.match(all(verdict.verdict(short, { target: null, satellite: null }, misses, 0)), /"MISSES THE TARGET\. Margin/);
  const estimate = { ...live, now: { ...live.now, estimate: {} } };
  const text = all(verdict.verdict(model, { target: 99, satellite: null }, estimate, 1));
  assert.match(text, new RegExp(`target of 99 % with ${PAIR}, tried and not planned`));
});

test('groups part what is the site’s own from what was tried', () => {
  const of = (i) => all(groups.group(model, live, { heading: 'Link', fields: ['elevation_deg', 'margin_db'] }, i));
  assert.doesNotMatch(of(0), /tried/);
  const [own, other] = of(1).split(`Link, with ${PAIR} (tried, not planned)`);
  assert.match(own, /Elevation/);
  assert.doesNotMatch(own, /Margin/);
  assert.match(other, /Margin/);
});

test('the budget of a pair only tried has no Es/N0, and adds up', () => {
  const steps = budget.budgetSteps(model, 1, 'outbound');
  assert.equal(steps[0].label, 'Fade margin');
  const drops = steps.filter(({ drop }) => drop !== undefined).reduce((sum, { drop }) => sum + drop, 0);
  assert.ok(Math.abs(steps[0].level - drops - (-1.3 - model.rules.reserve_db)) < 1e-9);
  assert.equal(budget.budgetSteps(model, 0, 'outbound')[0].label, 'Downlink to the site, clear sky');
  const text = all(budget.drawBudget(model, 1));
  assert.match(text, new RegExp(`With ${PAIR}, tried and not planned, at the site`));
  assert.doesNotMatch(text, /Es\/N0/);
  assert.match(all(budget.otherAntennas(model, 1)), /Antennas tried with 4\.0 W: none is planned/);
});

test('the table and the tip head the margin by its pair', () => {
  const state = { selected: [0, 0], chosen: -1, layer: 0 };
  const of = (i) => told(rows.siteRow(i, i, ['site_id', 'margin_db', 'elevation_deg'], { model, state, live, open() {}, toggle() {} })).join('\n');
  assert.match(of(0), /"2\.4 dB"/);
  assert.match(of(1), new RegExp(`-1\\.3 dB \\(tried: ${PAIR}\\)`));
  assert.match(of(1), /"12\.00°"/);
  const map = makeMap();
  const store = core.makeStore({ layer: 0, tool: '', dms: false });
  pointers.makePointer(map, model, store, { points: { hits: () => [1] }, live, choose() {} });
  map.fire('mousemove', { layerPoint: { x: 1, y: 1 }, containerPoint: { x: 1, y: 1 }, latlng: { lat: 1, lng: 1 } });
  assert.match(told(page.byId('tip')).join('\n'), new RegExp(`Margin: -1\\.3 dB, with ${PAIR} \\(tried, not planned\\)`));
});
