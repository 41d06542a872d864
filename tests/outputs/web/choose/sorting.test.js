import assert from 'node:assert/strict';
import test from 'node:test';
import { nextSort, selectedFirst, sorted } from '../../../../siteplan/outputs/map/scripts/choose/sorting.js';

const VALUES = { name: ['S10', 'S2', '', 's1'], margin_db: [3, null, -1, 20] };
const model = { count: 4, has: (field) => field in VALUES };
const live = { now: { order: [3, 0, 1, 2] }, value: (field, i) => VALUES[field][i] };
const by = (sortBy, sortDown) => sorted([0, 1, 2, 3], model, live, { sortBy, sortDown });

test('without a field the last drawn, the worst, comes first', () => {
  assert.deepEqual(by('', false), [2, 1, 0, 3]);
  assert.deepEqual(by('no_such_field', false), [2, 1, 0, 3]);
});

test('numbers by size, texts as people sort them; what has no value comes last either way', () => {
  assert.deepEqual(by('margin_db', false), [2, 0, 3, 1]);
  assert.deepEqual(by('margin_db', true), [3, 0, 2, 1]);
  assert.deepEqual(by('name', false), [3, 1, 0, 2]);
  assert.deepEqual(by('name', true), [0, 1, 3, 2]);
});

test('a heading sorts up, then down, then not at all', () => {
  let state = { sortBy: '', sortDown: false };
  const seen = [];
  for (let k = 0; k < 3; k++) {
    state = { ...state, ...nextSort(state, 'name') };
    seen.push([state.sortBy, state.sortDown]);
  }
  assert.deepEqual(seen, [['name', false], ['name', true], ['', false]]);
  assert.deepEqual(nextSort({ sortBy: 'name', sortDown: true }, 'mount'), { sortBy: 'mount', sortDown: false });
});

test('the selected come first, each part in its order', () => {
  assert.deepEqual(selectedFirst([3, 1, 0, 2], Uint8Array.of(1, 0, 1, 0)), [0, 2, 3, 1]);
  assert.deepEqual(selectedFirst([], new Uint8Array(0)), []);
});
