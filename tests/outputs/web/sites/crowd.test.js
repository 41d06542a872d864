import assert from 'node:assert/strict';
import test from 'node:test';
import { cells, crowding, isRoomy, seen, sitesNear } from '../../../../siteplan/outputs/map/scripts/sites/crowd.js';

const FRAME = { width: 600, height: 400 };
const drawn = (places) => ({ sites: places.map((_, k) => 10 + k), px: places.map(([x]) => x), py: places.map(([, y]) => y) });

test('many sites on little room are drawn smaller, but not smaller than six tenths', () => {
  assert.equal(crowding(0, FRAME), 1);
  assert.equal(crowding(100, FRAME), 1);
  assert.ok(crowding(800, FRAME) < 1);
  assert.equal(crowding(1e6, FRAME), 0.6);
});

test('the nearest site comes first, the topmost of those at one place', () => {
  const places = drawn([[100, 100], [104, 100], [300, 300], [104, 100]]);
  const grid = cells(places);
  assert.deepEqual(sitesNear(grid, places, { x: 103, y: 100 }, 11), [13, 11, 10]);
  assert.deepEqual(sitesNear(grid, places, { x: 200, y: 200 }, 22), []);
});

test('a site just beyond the border of a cell is found', () => {
  const places = drawn([[31, 31]]);
  assert.deepEqual(sitesNear(cells(places), places, { x: 33, y: 33 }, 11), [10]);
});

test('of thousands within a dot the topmost is drawn, of few every one', () => {
  const few = drawn(Array.from({ length: 10 }, () => [50, 50]));
  assert.equal(seen(few, FRAME).length, 10);
  const many = drawn(Array.from({ length: 4000 }, (_, k) => [50 + 100 * (k % 2), 50]));
  assert.deepEqual(seen(many, FRAME), [3998, 3999]);
});

test('strokes need room: not where all sites share a cell', () => {
  assert.ok(isRoomy(drawn([[10, 10], [200, 200]]), FRAME));
  assert.ok(!isRoomy(drawn([[10, 10], [12, 10], [14, 10]]), FRAME));
});
