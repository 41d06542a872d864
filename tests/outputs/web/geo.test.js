import assert from 'node:assert/strict';
import test from 'node:test';
import { load } from './load.js';

const { geo } = load('base/geo.js');

test('degrees, minutes and seconds carry over', () => {
  assert.equal(geo.dms(10.99999999, -20.5), '11° 00′ 00.0″ N, 20° 30′ 00.0″ W');
  assert.equal(geo.dms(-0.5, 190, 0), '0° 30′ 00″ S, 170° 00′ 00″ W');
});

test('decimal places', () => {
  assert.equal(geo.place(-3.12, -60.02, 1), '3.1° S, 60.0° W');
  assert.equal(geo.place(0, 180, 0), '0°, 180°');
});

test('longitudes are brought into [-180, 180)', () => {
  assert.equal(geo.wrap(190), -170);
  assert.equal(geo.wrap(-180), -180);
  assert.equal(geo.wrap(540), -180);
});

test('the equator is in the middle of the world and the edges are its ends', () => {
  assert.equal(geo.y(0), 0.5);
  assert.ok(Math.abs(geo.y(geo.LIMIT)) < 1e-9);
  assert.ok(Math.abs(geo.y(-90) - 1) < 1e-9);
});

test('a great circle runs on past the antimeridian', () => {
  const line = geo.greatCircle([50, 170], [50, -170], 8);
  assert.ok(line.every(([, lon], k) => k === 0 || lon > line[k - 1][1]));
  assert.ok(Math.abs(line.at(-1)[1] - 190) < 1e-9);
  // The middle of the arc lies nearer to the pole than its ends.
  assert.ok(line[4][0] > 50.3);
});
