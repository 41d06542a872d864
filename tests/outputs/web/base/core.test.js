import assert from 'node:assert/strict';
import test from 'node:test';
import { attempt, makeStore } from '../../../../siteplan/outputs/map/scripts/base/core.js';

test('those who listen to a key hear of its changes, once for each call', () => {
  const store = makeStore({ a: 1, b: 2, c: 3 });
  const heard = [];
  store.on(['a', 'b'], ({ a, b }) => heard.push([a, b]));
  store.set({ a: 5, b: 6 });
  store.set({ c: 4 });
  store.set({ a: 5 });
  assert.deepEqual(heard, [[5, 6]]);
  assert.deepEqual(store.state, { a: 5, b: 6, c: 4 });
});

test('all of the state is new before anybody hears of it', () => {
  const store = makeStore({ a: 1, b: 1 });
  store.on(['a'], () => store.set({ b: store.state.b + 1 }));
  store.set({ a: 2, b: 10 });
  assert.equal(store.state.b, 11);
});

test('a part that fails leaves the rest alone', (t) => {
  const warn = t.mock.method(globalThis.console, 'warn', () => {});
  assert.equal(attempt('the whole', () => 3), 3);
  assert.equal(attempt('the part', () => { throw new Error('no such thing'); }), undefined);
  assert.match(warn.mock.calls[0].arguments[0], /the part is not available here/);
});
