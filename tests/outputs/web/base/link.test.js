import assert from 'node:assert/strict';
import test from 'node:test';
import { makeMap, makePage } from '../fake.js';

makePage();
const { makeHash } = await import('../../../../siteplan/outputs/map/scripts/base/hash.js');

/** What a link puts into the state. */
function restored(hash, reach = [0.01, 5], month = undefined) {
  globalThis.window.location = { hash: `#at=1,2,3&${hash}`, href: 'file:///map.html' };
  const state = {};
  const store = { state, set: (more) => Object.assign(state, more), on() {} };
  const model = { whatif: reach && { reach_pct: reach, month }, count: 0, has: () => false, column: () => () => '' };
  makeHash(makeMap(), model, store, { filters: { set() {}, setHidden() {} }, legend: { showField() {} } });
  return state;
}

test('a link\'s target counts between the ends of the slider', () => {
  for (const [given, taken] of [['95', 95], ['97.5', 97.5], ['99.99', 99.99], ['94.99', null], ['99.995', null], ['', null], ['x', null]]) {
    assert.equal(restored(`target=${given}`).target, taken, given);
  }
  assert.equal(restored('target=99', null).target, null);
});

test('a link\'s target of a worst month counts between the ends of that slider', () => {
  for (const [given, taken] of [['92.2', 92.2], ['92.1', null], ['99.94', 99.94], ['99.96', null]]) {
    assert.equal(restored(`target=${given}`, [0.01, 5], [0.3, 1.15, 0.008, 7.8]).target, taken, given);
  }
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

/** Where a link that is no whole view leads. */
function led(hash) {
  const page = makePage();
  globalThis.window.location = { hash, href: '' };
  const went = [];
  const state = {};
  const names = ['S1', 'S2', 'A+1', 'kö 9'];
  const model = { count: 4, has: () => false, column: () => (i) => names[i] };
  const map = makeMap();
  makeHash(map, model, { state, set: (more) => Object.assign(state, more), on() {} }, {
    filters: { set() {}, setHidden() {} }, legend: { showField: (field) => went.push(`field ${field}`) }, goTo: (i, zoom) => went.push(`site ${i} at ${zoom}`),
  });
  return { went, state, page, map };
}

test('a link that names a site alone goes there', () => {
  for (const [hash, i] of [['#site=S2', 1], ['#site=s2', 1], ['#site=A%2B1', 2], ['#site=A+1', 2], ['#site=k%C3%B6%209', 3]]) {
    assert.equal(led(hash).went.at(-1), `site ${i} at 8`, hash);
  }
  const { page, state } = led('#site=S9');
  assert.equal(state.chosen, -1);
  assert.equal(page.byId('view-note').hidden, false);
  assert.equal(page.byId('view-note').textContent, 'No site S9 on this map.');
  assert.equal(led('#site=S1').page.byId('view-note').hidden, true);
});

test('a link with a view keeps it, and chooses its site there', () => {
  const { went, state, map } = led('#at=1,2,3&site=S2');
  assert.equal(state.chosen, 1);
  assert.ok(!went.some((one) => one.startsWith('site')));
  assert.ok(map.notes.includes('set view [[1,2],3,{"animate":false}]'));
});

test('an address inside the page is no link to a view', () => {
  const { went, state } = led('#map');
  assert.deepEqual([went, state], [[], {}]);
});
