import assert from 'node:assert/strict';
import test from 'node:test';
import { beamOf, hubsOf } from '../../../../siteplan/outputs/map/scripts/sites/beams.js';

const [NEAR, FAR] = [{ lat: 1, lon: 2 }, { lat: 3, lon: 4 }];
const MANY = { beams: { of: [1, 0], each: [
  { name: 'east', hub: NEAR }, { name: 'a beam with a long name', hub: FAR }, { name: 'west', hub: NEAR }, { name: 'n', hub: null },
] } };

test('a site has what its beam shares; with one beam what the plan does', () => {
  assert.equal(beamOf(MANY, 0).hub, FAR);
  assert.equal(beamOf(MANY, 1).hub, NEAR);
  const one = { hub: NEAR };
  assert.equal(beamOf(one, 5), one);
});

test('a hub that serves several beams is there once, and one without a place not at all', () => {
  assert.deepEqual(hubsOf(MANY), [{ ...NEAR, plate: 'HUB east +1' }, { ...FAR, plate: 'HUB a beam with a l…' }]);
  assert.deepEqual(hubsOf({ hub: NEAR }), [{ ...NEAR, plate: 'HUB' }]);
  const shared = { beams: { of: [0], each: [{ name: 'east', hub: NEAR }, { name: 'west', hub: NEAR }] } };
  assert.deepEqual(hubsOf(shared), [{ ...NEAR, plate: 'HUB' }]);
  assert.deepEqual(hubsOf({ hub: null }), []);
});
