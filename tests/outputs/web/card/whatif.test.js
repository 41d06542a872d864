import assert from 'node:assert/strict';
import test from 'node:test';
import { makeStore } from '../../../../siteplan/outputs/map/scripts/base/core.js';
import { readModel } from '../../../../siteplan/outputs/map/scripts/base/data.js';
import { makeLive } from '../../../../siteplan/outputs/map/scripts/card/whatif.js';

function live(state = {}, more = {}) {
  const column = (v, s) => ({ v, s });
  const model = readModel({
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
      antenna_m: { c: 1.2 }, buc_w: { c: 4 }, ...more.columns,
    },
    layers: [{ field: 'margin_db', kind: 'verdict', bounds: [0, 1], codes: '2043', classes: [{}, {}, {}, { stop: true }, ...(more.classes ?? []), { blank: true }] }],
    rules: { min_elevation_deg: 10, reserve_db: 1 },
    whatif: {
      p_pct: [0.1, 1], reach_pct: [0.1, 1], share: 0, hub_db: [[0, 0], [0, 0]],
      site: [200, -100, 200, -100, -100, 400, -100, 400, 300, -250, 300, -250, null, null, null, null],
      clear: [900, 900, 900, 900, 900, 900, 900, 900, 900, null, null, null],
    },
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
  // The second now holds; the third is stopped by its elevation.
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

test('a site counts as served at a margin not below zero, under the reserve too, as in the plan', () => {
  // At this target the second has 0.4 dB: a reserve of 1 dB is not asked of it.
  const { store, values } = live();
  store.set({ target: 99.7 });
  assert.ok(values.value('margin_db', 1) > 0 && values.value('margin_db', 1) < 1);
  assert.equal(values.now.failing[1], 0);
  assert.equal(values.now.codes[0][1], 1);
});

test('past six decimals a margin is noise', () => {
  const { store, values } = live({}, { columns: { flags: { c: '' } } });
  // The second's margin passes zero between the two: by a ten-millionth of a decibel on either side.
  const outage = 0.1 * 10 ** (1 / 3);
  for (const off of [-1e-9, 1e-9]) {
    store.set({ target: 100 - outage * (1 + off) });
    assert.ok(Math.abs(values.value('margin_db', 1)) < 1e-6);
    assert.equal(values.now.failing[1], 0);
  }
});

test('a site without kit is in a class of its own, and never served', () => {
  const { store, values } = live({}, { columns: { antenna_m: { v: [12, null, 12, 12], s: 1 } }, classes: [{ kitless: true }] });
  store.set({ target: 99 });
  assert.ok(values.value('margin_db', 1) > 1);
  assert.deepEqual([...values.now.codes[0]], [2, 4, 3, 5]);
  assert.equal(values.now.failing[1], 1);
  store.set({ target: null });
  assert.deepEqual([...values.now.codes[0]], [2, 0, 4, 3]);
});
