import assert from 'node:assert/strict';
import test from 'node:test';
import { load, range } from './load.js';

const { inside } = load('base/core.js', 'choose/select.js');
const point = ([x, y]) => ({ x, y });

test('inside and outside of a square', () => {
  const square = [[0, 0], [10, 0], [10, 10], [0, 10]].map(point);
  assert.ok(inside(5, 5, square));
  assert.ok(!inside(15, 5, square));
  assert.ok(!inside(-1, 5, square));
});

test('a bay in a polygon is outside', () => {
  const bay = [[0, 0], [10, 0], [10, 10], [5, 3], [0, 10]].map(point);
  assert.ok(!inside(5, 6, bay));
  assert.ok(inside(2, 4, bay));
});

test('the corners may be in either order', () => {
  const ring = [[0, 0], [8, 1], [9, 7], [3, 9]].map(point);
  const back = [...ring].reverse();
  for (const x of range(12)) for (const y of range(12)) assert.equal(inside(x + 0.5, y + 0.5, ring), inside(x + 0.5, y + 0.5, back));
});
