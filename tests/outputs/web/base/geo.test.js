import assert from 'node:assert/strict';
import test from 'node:test';
import { dms, greatCircle, inside, LAT_LIMIT, placeText, worldY, wrapLon } from '../../../../siteplan/outputs/map/scripts/base/geo.js';

test('degrees, minutes and seconds carry over', () => {
  assert.equal(dms(10.99999999, -20.5), '11° 00′ 00.0″ N, 20° 30′ 00.0″ W');
  assert.equal(dms(-0.5, 190, 0), '0° 30′ 00″ S, 170° 00′ 00″ W');
});

test('decimal places', () => {
  assert.equal(placeText(-3.12, -60.02, 1), '3.1° S, 60.0° W');
  assert.equal(placeText(0, 180, 0), '0°, 180°');
});

test('longitudes are brought into [-180, 180)', () => {
  assert.equal(wrapLon(190), -170);
  assert.equal(wrapLon(-180), -180);
  assert.equal(wrapLon(540), -180);
});

test('the equator is in the middle of the world and the edges are its ends', () => {
  assert.equal(worldY(0), 0.5);
  assert.ok(Math.abs(worldY(LAT_LIMIT)) < 1e-9);
  assert.ok(Math.abs(worldY(-90) - 1) < 1e-9);
});

test('a great circle runs on past the antimeridian', () => {
  const line = greatCircle([50, 170], [50, -170], 8);
  assert.ok(line.every(([, lon], k) => k === 0 || lon > line[k - 1][1]));
  assert.ok(Math.abs(line.at(-1)[1] - 190) < 1e-9);
  // The middle of the arc lies nearer to the pole than its ends.
  assert.ok(line[4][0] > 50.3);
});

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
  for (let x = 0.5; x < 12; x++) for (let y = 0.5; y < 12; y++) assert.equal(inside(x, y, ring), inside(x, y, back));
});
