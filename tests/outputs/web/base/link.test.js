import assert from 'node:assert/strict';
import test from 'node:test';
import { makeMap, makePage } from '../fake.js';

makePage();
const { makeHash } = await import('../../../../siteplan/outputs/map/scripts/base/hash.js');

/** What a link puts into the state. */
function restored(hash, reach = [0.01, 5]) {
  globalThis.window.location = { hash: `#at=1,2,3&${hash}`, href: 'file:///map.html' };
  const state = {};
  const store = { state, set: (more) => Object.assign(state, more), on() {} };
  const model = { whatif: reach && { reach_pct: reach }, count: 0, has: () => false, column: () => () => '' };
  makeHash(makeMap(), model, store, { filters: { set() {}, setHidden() {} }, legend: { showField() {} } });
  return state;
}

test('a link\'s target counts between the ends of the slider', () => {
  for (const [given, taken] of [['95', 95], ['97.5', 97.5], ['99.99', 99.99], ['94.99', null], ['99.995', null], ['', null], ['x', null]]) {
    assert.equal(restored(`target=${given}`).target, taken, given);
  }
  assert.equal(restored('target=99', null).target, null);
});

test('a link\'s satellite counts on either side of Greenwich', () => {
  for (const [given, taken] of [['-61', -61], ['19.2', 19.2], ['0', 0], ['-360', -360], ['360', 360], ['361', null], ['-360.1', null]]) {
    assert.equal(restored(`satellite=${given}`).satellite, taken, given);
  }
});

test('a link\'s least and most margin count either side of nothing', () => {
  const seen = [];
  globalThis.window.location = { hash: '#at=1,2,3&least=-3.5&most=1000', href: '' };
  const store = { state: {}, set() {}, on() {} };
  const model = { count: 0, has: () => false, column: () => () => '' };
  makeHash(makeMap(), model, store, {
    filters: { set: ({ least, most }) => seen.push(least, most), setHidden() {} }, legend: { showField() {} },
  });
  assert.deepEqual(seen, [-3.5, null]);
});
