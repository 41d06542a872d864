import assert from 'node:assert/strict';
import test from 'node:test';
import { budgetSteps } from '../../../../siteplan/outputs/map/scripts/card/budget.js';
import { command, hopLines } from '../../../../siteplan/outputs/map/scripts/card/hop.js';
import { makePage, told } from '../fake.js';

const VALUES = { outbound_clear_es_n0_db: 11.5, outbound_fade_margin_db: 6, outbound_margin_db: 2.4 };
const model = {
  budget: [130, 6, 20, 10, null, null, null, null],
  thresholds_db: { outbound: 1 },
  rules: { reserve_db: 0.8 },
  column: (name) => () => VALUES[name],
};

test('each step goes from where the last one ended, down to the margin', () => {
  const steps = budgetSteps(model, 0, 'outbound');
  assert.deepEqual(steps.map(({ label }) => label), [
    'Downlink to the site, clear sky', 'Other hop', 'Interference', 'Threshold', 'Modem loss', 'Fade margin',
    'Rain and gas at the site', 'Noise of the rain, wet dish', 'Rain at the hub', 'Margin at the target',
    'Reserve', 'Margin after reserve',
  ]);
  let level = 0;
  for (const step of steps) {
    if (step.drop !== undefined) level -= step.drop;
    else {
      if (level) assert.ok(Math.abs(level - step.level) < 1e-9, step.label);
      level = step.level;
    }
  }
  assert.ok(Math.abs(level - 1.6) < 1e-9);
});

const dropsOf = (changes, way = 'outbound') =>
  Object.fromEntries(budgetSteps({ ...model, ...changes }, 0, way).map(({ label, drop }) => [label, drop]));

test('what the other hop takes is what interference leaves, and never below nothing', () => {
  const near = (found, wanted) => assert.ok(Math.abs(found - wanted) < 1e-9, `${found} is not ${wanted}`);
  // 13.0 dB of the hop down to 11.5 dB in clear sky: 0.6 dB are interference, 0.9 dB the other hop.
  near(dropsOf({})['Other hop'], 0.9);
  near(dropsOf({}).Interference, 0.6);
  // 1.44 dB are written as 1.4 dB, and 1.55 dB between two rounded levels as 1.5 dB: no gain of 0.1 dB is shown.
  const rounded = dropsOf({ budget: [130, 16, 20, 10] });
  assert.ok(!('Other hop' in rounded));
  near(rounded.Interference, 1.5);
});

test('the step of noise says that it holds what rain depolarizes, where that counts', () => {
  const carriers = (depolarizes) => ({ carriers: { outbound: { depolarizes } } });
  const plain = 'Noise of the rain, wet dish';
  assert.ok(plain in dropsOf({}) && plain in dropsOf(carriers(false)));
  const counted = dropsOf(carriers(true));
  assert.ok('Noise and depolarization of the rain, wet dish' in counted && !(plain in counted));
});

test('a way without figures has no steps', () => assert.deepEqual(budgetSteps(model, 0, 'inbound'), []));

const HOP = {
  ...model,
  carriers: {
    outbound: { ghz: 11.95, symbol_rate_msps: 6, eirp_dbw: 50, backoff_db: 3.5, transponder_mhz: 36, occupied_mhz: 7.2 },
    inbound: { ghz: 14.25, symbol_rate_msps: 0.512, g_t_db_k: 2 },
  },
  budget: [191, 4, 52, 0, 146, 2, 80, 0],
  column: (name) => () => ({ slant_range_km: 36262, antenna_m: 1.8, buc_w: 2 })[name] ?? null,
};

test('the lines of the site’s own hop add up as they are shown', () => {
  for (const [way, top] of [['outbound', 19.1], ['inbound', 14.6]]) {
    const lines = hopLines(HOP, 0, way);
    const last = lines.pop();
    assert.deepEqual([last.sum, last.value], [true, top]);
    const sum = lines.reduce((all, { value }) => all + Math.round(value * 10), 0);
    assert.equal(sum, Math.round(10 * top));
  }
  const of = (way) => Object.fromEntries(hopLines(HOP, 0, way).map(({ label, value }) => [label, value]));
  // Free space by hand: 20 log (4 pi 36262 km / 25.087 mm) = 205.2 dB; 228.6 less 67.8 dBHz; 6.99 dB of a fifth.
  assert.equal(of('outbound')['Free-space loss at 11.95 GHz'], -205.2);
  assert.equal(of('outbound')['Carrier’s share of the power'], -7);
  assert.ok(Math.abs(of('outbound')['G/T of the site, less pointing and gas'] - 24) < 1e-9);
  assert.ok(Math.abs(of('inbound')['EIRP of the site, less gas'] - 47.8) < 1e-9);
});

test('a site with a level of its own is told by it, and what it brings itself is as much less', () => {
  const own = { satellite_eirp_dbw: HOP.carriers.outbound.eirp_dbw + 2, satellite_g_t_db_k: HOP.carriers.inbound.g_t_db_k - 3 };
  const there = { ...HOP, column: (k) => (k in own ? () => own[k] : HOP.column(k)) };
  const value = (of, way, start) => hopLines(of, 0, way).find(({ label }) => label.startsWith(start)).value;
  assert.equal(value(there, 'outbound', 'Satellite EIRP'), own.satellite_eirp_dbw);
  assert.equal(value(there, 'inbound', 'Satellite G/T'), own.satellite_g_t_db_k);
  assert.ok(Math.abs(value(there, 'outbound', 'G/T of the site') - 22) < 1e-9);
  assert.ok(Math.abs(value(there, 'inbound', 'EIRP of the site') - 50.8) < 1e-9);
});

test('a pair only tried, and a site that is not seen, have no lines', () => {
  const without = (name) => ({ ...HOP, column: (k) => () => (k === name ? null : HOP.column(k)()) });
  assert.deepEqual(hopLines(without('antenna_m'), 0, 'outbound'), []);
  assert.deepEqual(hopLines(without('slant_range_km'), 0, 'outbound'), []);
  assert.deepEqual(hopLines({ ...HOP, carriers: undefined }, 0, 'outbound'), []);
  assert.deepEqual(hopLines({ ...HOP, budget: [null, null, null, null] }, 0, 'outbound'), []);
});

test('the command names the site as a shell takes it', () => {
  makePage();
  const named = (id, margin = 2) => command({ text: () => id, column: () => () => margin }, 0).flatMap((node) => told(node)).join(' ');
  assert.match(named('RC001'), /siteplan budget PROJECT RC001"/);
  assert.match(named('Mill 1'), /siteplan budget PROJECT .*"Mill 1/);
  assert.match(named('$(reboot)'), /siteplan budget PROJECT SITE"/);
  assert.equal(named('RC001', null), '');
  assert.equal(named(''), '');
});
