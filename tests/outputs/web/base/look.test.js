import assert from 'node:assert/strict';
import test from 'node:test';
import { lookAngles, sunAt, sunTrack } from '../../../../siteplan/outputs/map/scripts/base/look.js';

const near = (a, b, by) => assert.ok(Math.abs(a - b) <= by, `${a} and ${b} differ by more than ${by}`);

test('the satellite stands overhead at its own meridian on the equator', () => {
  const at = lookAngles(0, 30, 0, 30);
  near(at.elevation, 90, 1e-9);
  assert.equal(at.azimuth, null);
  // 42164.17 km less the equatorial radius.
  near(at.range, 42164.17 - 6378.137, 1e-6);
});

test('due south from the north, due north from the south', () => {
  near(lookAngles(50, 10, 0, 10).azimuth, 180, 1e-9);
  near(lookAngles(-50, 10, 0, 10).azimuth % 360, 0, 1e-9);
});

test('nothing below the horizon', () => {
  assert.deepEqual(lookAngles(0, 0, 0, 120), { azimuth: null, elevation: null, skew: null, range: null });
  assert.equal(lookAngles(85, 0, 0, 0).elevation, null);
});

test('turns of 360 degrees change nothing', () => {
  const [a, b] = [lookAngles(-3, -60, 40, -61), lookAngles(-3, 300, 40, 299)];
  for (const key of ['azimuth', 'elevation', 'skew', 'range']) near(a[key], b[key], 1e-9);
});

test('the sun at noon stands at 90 degrees less latitude plus declination', () => {
  for (let lat = -20; lat < 40; lat += 5) {
    near(sunAt(lat, 10, 0)[1], 90 - Math.abs(lat - 10), 1e-9);
  }
});

test('at the equinox the sun rises in the east and sets in the west', () => {
  near(sunAt(40, 0, -90)[0], 90, 1e-9);
  near(sunAt(40, 0, 90)[0], 270, 1e-9);
});

test('no track in the polar night, a whole circle on the polar day', () => {
  assert.deepEqual(sunTrack(75, -23.44), []);
  assert.equal(sunTrack(75, 23.44).flat().length, 121);
});
