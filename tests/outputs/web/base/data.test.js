import assert from 'node:assert/strict';
import test from 'node:test';
import { ofMonth, outageOf, reachOf, reader, readModel, targetOf, written } from '../../../../siteplan/outputs/map/scripts/base/data.js';

const all = (column, n) => Array.from({ length: n }, (_, i) => reader(column)(i));

const raw = (columns, more = {}) => ({
  count: columns.margin_db.v.length,
  fields: Object.fromEntries(Object.keys(columns).map((k) => [k, { decimals: k === 'margin_db' ? 1 : null, unit: k === 'margin_db' ? 'dB' : '' }])),
  flags: { low: { severity: 'stop' }, no_fit: { severity: 'stop' }, dust: { severity: 'note' } },
  columns, layers: [], extra: [], sheets: null, ...more,
});

test('columns of every coding are read', () => {
  assert.deepEqual(all({ c: 'pole' }, 2), ['pole', 'pole']);
  assert.deepEqual(all({ d: ['a', 'b'], i: [1, 0, 1] }, 3), ['b', 'a', 'b']);
  assert.deepEqual(all({ v: [125, null, -4], s: 2 }, 3), [1.25, null, -0.04]);
  assert.deepEqual(all({ v: JSON.parse('[3,-0]'), s: 1 }, 2), [0.3, -0]);
  assert.deepEqual(all({ v: ['x', ''] }, 2), ['x', '']);
});

test('sentences get their numbers back', () => {
  const column = { t: [['Rain of ', ' mm/h.'], ['Dry.'], ['', ' and ', '']], i: [0, 1, 0, 2], n: '1.50 20 3 4' };
  assert.deepEqual(all(column, 4), ['Rain of 1.50 mm/h.', 'Dry.', 'Rain of 20 mm/h.', '3 and 4']);
});

test('a distance of exposure of 0 reads as the sheet has it, never as 0.0 m', () => {
  const field = { decimals: 1, unit: 'm', zero: "the rule's limit is not reached" };
  assert.equal(written(0, field), "the rule's limit is not reached");
  assert.equal(written(1.2, field), '1.2 m');
  assert.equal(written(null, field), '');
  assert.equal(written(0, { decimals: 1, unit: 'm' }), '0.0 m');
});

test('values are written with decimals and unit, and a negative zero keeps its sign', () => {
  assert.equal(written(-0, { decimals: 1, unit: 'dB' }), '-0.0 dB');
  assert.equal(written(12, { decimals: 2, unit: '°' }), '12.00°');
  assert.equal(written(null, { decimals: 2, unit: 'm' }), '');
});

test('a stop flag fails a site whatever its margin; a note does not', () => {
  const model = readModel(raw({ margin_db: { v: JSON.parse('[50,50,-0,-3,null]'), s: 1 }, flags: { v: ['low', 'dust', '', 'no_fit', ''] } }));
  assert.deepEqual([...model.failing], [1, 0, 1, 1, 0]);
  assert.deepEqual([...model.stops], [2, 0, 0, 1, 0]);
});

test('failing sites are drawn last, the worst on top', () => {
  const model = readModel(raw({ margin_db: { v: [50, -3, 10, -20], s: 1 }, flags: { v: ['', '', 'low', ''] } }));
  assert.deepEqual([...model.order], [0, 2, 1, 3]);
});

test('targets of a year allow what is left of it, and the reach of the page is theirs', () => {
  const whatif = { reach_pct: [0.01, 5] };
  assert.equal(outageOf(whatif, 99.5), 0.5);
  assert.equal(targetOf(whatif, 0.5), 99.5);
  assert.deepEqual(reachOf(whatif), [95, 99.99]);
  assert.equal(ofMonth(whatif), '');
  assert.equal(ofMonth(undefined), '');
});

test('targets of a worst month go by ITU-R P.841, there and back, inside its range', () => {
  const whatif = { reach_pct: [0.01, 5], month: [0.3, 1.15, 0.008, 7.8] };
  assert.ok(Math.abs(outageOf(whatif, 99.5) - 0.1352) < 6e-5);
  assert.ok(Math.abs(outageOf(whatif, 99.8) - 0.0471) < 6e-5);
  for (const target of [92.2, 97, 99.5, 99.9]) {
    assert.ok(Math.abs(targetOf(whatif, outageOf(whatif, target)) - target) < 1e-9);
  }
  const [least, most] = reachOf(whatif);
  assert.equal(least, 92.2);
  assert.ok(Math.abs(outageOf(whatif, most) - 0.01) < 1e-9);
  assert.equal(ofMonth(whatif), ' of the worst month');
});
