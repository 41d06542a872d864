import assert from 'node:assert/strict';
import test from 'node:test';
import { load } from './load.js';

const { interpolate, classes, makeStore, makeLive, data } = load('base/core.js', 'base/look.js', 'sites/classes.js', 'base/data.js', 'card/whatif.js');

test('steps along the outages are added up, and no number stays none', () => {
  const tenths = interpolate.unfolded([-50, 20, 5, null, null, null, 10, 0, -1], 3);
  assert.deepEqual([...tenths], [-50, -30, -25, -32768, -32768, -32768, 10, 10, 9]);
});

test('between two points the margin runs straight in ln p', () => {
  const outages = [0.01, 0.1, 1];
  const tenths = interpolate.unfolded([0, 100, 50, 20, 0, 0], 3);
  const at = (p, way) => interpolate.margin(tenths, 3, 0, way, interpolate.between(outages, p));
  assert.equal(at(0.01, 0), 0);
  assert.equal(at(0.1, 0), 10);
  assert.equal(at(1, 0), 15);
  assert.ok(Math.abs(at(Math.sqrt(0.001), 0) - 5) < 1e-12);
  assert.equal(at(0.5, 1), 2);
  // Beyond the ends the last value holds.
  assert.equal(at(5, 0), 15);
});

function live(state = {}) {
  const column = (v, s) => ({ v, s });
  const model = data.read({
    count: 4,
    fields: {
      margin_db: { decimals: 1, unit: 'dB', group: 'link' },
      elevation_deg: { decimals: 2, unit: '°', group: 'geometry' },
      altitude_m: { decimals: 0, unit: 'm', group: 'site' },
    },
    flags: { low: { severity: 'stop' }, no_fit: { severity: 'stop' } },
    columns: {
      margin_db: column([20, -10, 30, null], 1), flags: { v: ['', 'no_fit', 'low', 'low'] },
      lat: { v: [0, 0, 0, 0] }, lon: { v: [0, 10, 20, 170] }, altitude_m: { c: 0 }, elevation_deg: { c: 50 },
    },
    layers: [{ field: 'margin_db', kind: 'verdict', bounds: [0, 1], codes: '2043', classes: [{}, {}, {}, { stop: true }, { blank: true }] }],
    rules: { min_elevation_deg: 10, reserve_db: 1 },
    whatif: { outages_pct: [0.1, 1], margins: [20, 10, 20, 10, -10, 30, -10, 30, 30, 5, 30, 5, null, null, null, null] },
    extra: [], sheets: null,
  });
  const store = makeStore({ target: null, satellite: null, live: 0, ...state });
  return { model, store, values: makeLive(model, store) };
}

test('an estimate moves margins, classes and what fails', () => {
  const { store, values } = live();
  assert.equal(values.text('margin_db', 0), '2.0 dB');
  store.set({ target: 99 });
  assert.equal(values.text('margin_db', 0), '≈ 3.0 dB');
  assert.equal(values.text('margin_db', 3), '');
  // The second now has more than the reserve; the third is stopped by its elevation.
  assert.deepEqual([...values.now.failing], [0, 0, 1, 1]);
  assert.deepEqual([...values.now.codes[0]], [2, 2, 3, 4]);
  store.set({ target: null });
  assert.equal(values.text('margin_db', 0), '2.0 dB');
});

test('a moved satellite has new angles, and what rests on the link is out of date', () => {
  const { store, values } = live();
  store.set({ satellite: 10 });
  assert.equal(values.text('elevation_deg', 1), '90.00°');
  assert.equal(values.text('elevation_deg', 3), '');
  assert.ok(values.isStale('margin_db'));
  assert.ok(values.isStale('inbound_availability_pct'));
  assert.ok(!values.isStale('elevation_deg'));
  assert.ok(!values.isStale('altitude_m'));
  assert.ok(!values.isStale('rain_rate_mm_h'));
  assert.deepEqual([...values.now.failing], [0, 0, 0, 1]);
});

test('sites that fail in a what-if lie on top', () => {
  const { store, values } = live();
  store.set({ satellite: 10 });
  assert.equal(values.now.order.at(-1), 3);
  assert.equal(new Set(values.now.order).size, 4);
});

test('bounds are round, inside the values, and a value on a bound belongs above', () => {
  assert.deepEqual(classes.niceBounds([12, 97, null], 0.01), [20, 40, 60, 80]);
  assert.deepEqual(classes.niceBounds([5, 5], 0.1), []);
  assert.equal(classes.bin(1, [0, 1, 3]), 2);
  assert.equal(classes.bin(-0.01, [0, 1, 3]), 0);
});

test('any field becomes a layer', () => {
  const look = { ramps: { 1: ['#111111'], 2: ['#111111', '#222222'], 5: ['#1', '#2', '#3', '#4', '#5'] }, colors: ['#a', '#b'], shapes: ['circle', 'square', 'bar'], blank: { label: 'No value', blank: true } };
  const numbers = classes.layer('x_m', [12, null, 97], { decimals: 0, unit: 'm' }, look);
  assert.deepEqual([...numbers.codes], [0, 5, 4]);
  assert.equal(numbers.classes[1].label, '20 to 40 m');
  const texts = classes.layer('kind', ['b', 'a', 'b', '', 'c', 'd'], { decimals: null, unit: '' }, look);
  assert.deepEqual(texts.classes.map((c) => c.label), ['b', 'a', 'others', 'No value']);
  assert.deepEqual([...texts.codes], [0, 1, 0, 3, 2, 2]);
});
