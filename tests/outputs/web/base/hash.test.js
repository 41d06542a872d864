import assert from 'node:assert/strict';
import test from 'node:test';
import { numberIn } from '../../../../siteplan/outputs/map/scripts/base/hash.js';

test('a number of a link counts inside its range only', () => {
  assert.equal(numberIn('-12.5', -360, 360), -12.5);
  assert.equal(numberIn('0', 0, 1), 0);
  for (const wrong of [null, '', ' ', 'x', '361', '-361', 'Infinity', 'NaN']) {
    assert.equal(numberIn(wrong, -360, 360), null, String(wrong));
  }
});
