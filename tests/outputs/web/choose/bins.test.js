import assert from 'node:assert/strict';
import test from 'node:test';
import { binOf, edge, fill, makeBins, rangeOf } from '../../../../siteplan/outputs/map/scripts/choose/bins.js';

test('bins are round steps from one below the least to one above the most', () => {
  const bins = makeBins([0.3, null, 5.9, 2], 0.1);
  assert.deepEqual(bins, { start: 0, step: 0.5, count: 12, below: false, above: false });
  assert.deepEqual([0.3, 0.5, 5.9, -4, 99].map((x) => binOf(bins, x)), [0, 1, 11, 0, 11]);
  assert.equal(edge(bins, 3), 1.5);
});

test('steps are no finer than the field, and one value has one bin', () => {
  assert.equal(makeBins([1, 2], 1).step, 1);
  assert.deepEqual(makeBins([7, 7, null], 1), { start: 7, step: 1, count: 1, below: false, above: false });
  assert.equal(makeBins([null, null], 1), null);
  assert.equal(makeBins([], 1), null);
});

test('a value on an edge is of the bin above, in spite of the noise of fractions', () => {
  const bins = makeBins(Array.from({ length: 25 }, (_, k) => k / 10), 0.1);
  assert.equal(bins.step, 0.1);
  assert.deepEqual([0.3, 0.6, 0.7, 1.2, 2.3].map((x) => binOf(bins, x)), [3, 6, 7, 12, 23]);
});

test('a few far away do not squeeze all others: the ends hold them', () => {
  const values = [-80, ...Array.from({ length: 200 }, (_, k) => k / 50), 400];
  const bins = makeBins(values, 0.1);
  assert.ok(bins.start > -4 && bins.start < 0);
  assert.ok(edge(bins, bins.count) < 10);
  assert.deepEqual([bins.below, bins.above], [true, true]);
  const { all } = fill(bins, values, new Uint8Array(values.length), { shown: new Uint8Array(values.length).fill(1), classes: 1 });
  assert.equal(all.reduce((sum, n) => sum + n, 0), 202);
});

test('all sites are counted, and those shown by their class', () => {
  const values = [1, 1, 2, null, 2];
  const bins = makeBins(values, 1);
  const { all, byClass } = fill(bins, values, [0, 1, 1, 2, 0], { shown: [1, 1, 0, 1, 1], classes: 3 });
  assert.deepEqual([...all], [2, 2]);
  assert.deepEqual(byClass.map((row) => [...row]), [[1, 1, 0], [1, 0, 0]]);
});

test('a range of bins ends a hair under the next edge, and is open at the ends', () => {
  const bins = { start: 0, step: 0.5, count: 8 };
  assert.deepEqual(rangeOf(bins, 2, 3, 0.1), [1, 1.9]);
  assert.deepEqual(rangeOf(bins, 3, 2, 0.1), [1, 1.9]);
  assert.deepEqual(rangeOf(bins, 0, 1, 0.1), [null, 0.9]);
  assert.deepEqual(rangeOf(bins, 6, 7, 0.1), [3, null]);
  assert.deepEqual(rangeOf(bins, 0, 7, 0.1), [null, null]);
});
