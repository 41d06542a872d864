import assert from 'node:assert/strict';
import test from 'node:test';
import { between, marginAt, unfolded } from '../../../../siteplan/outputs/map/scripts/card/interpolate.js';

test('steps along the outages are added up, and no number stays none', () => {
  const tenths = unfolded([-50, 20, 5, null, null, null, 10, 0, -1], 3);
  assert.deepEqual([...tenths], [-50, -30, -25, -32768, -32768, -32768, 10, 10, 9]);
});

test('between two points the margin runs straight in ln p', () => {
  const outages = [0.01, 0.1, 1];
  const tenths = unfolded([0, 100, 50, 20, 0, 0], 3);
  const at = (p, way) => marginAt(tenths, 3, 0, way, between(outages, p));
  assert.equal(at(0.01, 0), 0);
  assert.equal(at(0.1, 0), 10);
  assert.equal(at(1, 0), 15);
  assert.ok(Math.abs(at(Math.sqrt(0.001), 0) - 5) < 1e-12);
  assert.equal(at(0.5, 1), 2);
  // Beyond the ends the last value holds.
  assert.equal(at(5, 0), 15);
});
