import assert from 'node:assert/strict';
import test from 'node:test';
import { makeMap, makePage } from '../fake.js';

const page = makePage();
const from = (path) => import(`../../../../siteplan/outputs/map/scripts/${path}.js`);
const [{ makeStore }, { makeSelection }, { makeTable }] = await Promise.all(['base/core', 'choose/selection', 'choose/table'].map(from));

test('the selected come first where that is asked for, and a ticked row stays under the hand', () => {
  const model = { count: 4, fields: {}, layers: [{ field: 'x' }], has: () => false, text: (_, i) => `S${i}` };
  model.fields.x = { label: 'X', unit: '' };
  const live = { now: { order: [3, 2, 1, 0], failing: [0, 0, 0, 0] }, value: () => null, text: () => '', isStale: () => false };
  const store = makeStore({
    layer: 0, selection: 0, selectedCount: 0, selected: new Uint8Array(4), table: false, chosen: -1, sortBy: '', sortDown: false,
  });
  const selection = makeSelection(store);
  Object.assign(page.byId('dock'), { hidden: true });
  Object.assign(page.byId('table-frame'), { scrollTop: 0, clientHeight: 400 });
  const { rows } = makeTable(makeMap(), model, store, {
    filters: { sites: () => [0, 1, 2, 3] }, live, points: {}, selection, choose() {},
  });
  store.set({ table: true });
  selection.add([1]);
  assert.deepEqual(rows(), [0, 1, 2, 3]);
  page.byId('selected-first').checked = true;
  page.byId('selected-first').fire('change');
  assert.deepEqual(rows(), [1, 0, 2, 3]);
  selection.add([3]);
  assert.deepEqual(rows(), [1, 3, 0, 2], 'selected on the map');
  const box = page.byId('table-body').all().filter(({ tag }) => tag === 'input').at(-1);
  box.fire('change');
  assert.deepEqual([rows(), selection.sites()], [[1, 3, 0, 2], [1, 2, 3]], 'ticked in the table');
});
