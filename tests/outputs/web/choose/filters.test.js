import assert from 'node:assert/strict';
import test from 'node:test';
import { makeStore } from '../../../../siteplan/outputs/map/scripts/base/core.js';
import { readModel } from '../../../../siteplan/outputs/map/scripts/base/data.js';
import { makeFilters } from '../../../../siteplan/outputs/map/scripts/choose/filters.js';
import { makeSelection } from '../../../../siteplan/outputs/map/scripts/choose/selection.js';

function made() {
  const text = { decimals: null, unit: '' };
  const model = readModel({
    count: 4,
    fields: { site_id: text, name: text, group: text, mount: text, flags: text, antenna_m: { decimals: 1, unit: 'm' }, margin_db: { decimals: 1, unit: 'dB' } },
    flags: { low: { severity: 'stop' }, dust: { severity: 'note' } },
    columns: {
      site_id: { v: ['A1', 'A2', 'B1', 'B2'] },
      name: { v: ['North Quay', 'South Quay', 'North Hill', 'Old Mill'] },
      group: { v: ['n', 's', 'n', 's'] },
      mount: { v: ['pole', 'wall', 'pole', ''] },
      flags: { v: ['', 'dust', 'low', 'dust;low'] },
      antenna_m: { v: [12, 18, 12, null], s: 1 },
      margin_db: { v: [20, 5, 10, null], s: 1 },
    },
    layers: [
      { field: 'margin_db', codes: '0012', classes: [{}, {}, {}] },
      { field: 'mount', codes: '0102', classes: [{}, {}, {}] },
    ],
    extra: [], sheets: null,
  });
  const store = makeStore({ filtering: 0, live: 0, selection: 0, selectedCount: 0, selected: new Uint8Array(4) });
  const live = { now: { failing: model.failing, codes: model.layers.map(({ codes }) => codes) }, value: (field, i) => model.column(field)(i) };
  return { store, filters: makeFilters(model, store, live) };
}

test('what is asked for adds up', () => {
  const asked = (patch) => {
    const { filters } = made();
    filters.set(patch);
    return filters.sites();
  };
  assert.deepEqual(asked({ words: 'north  QUAY' }), [0]);
  assert.deepEqual(asked({ words: 'b' }), [2, 3]);
  assert.deepEqual(asked({ group: 'n' }), [0, 2]);
  assert.deepEqual(asked({ group: 's', mount: 'wall' }), [1]);
  assert.deepEqual(asked({ flag: 'dust' }), [1, 3]);
  assert.deepEqual(asked({ flag: 'stop' }), [2, 3]);
  assert.deepEqual(asked({ antenna: '1.2' }), [0, 2]);
  assert.deepEqual(asked({ antenna: 'none' }), [3]);
  assert.deepEqual(asked({ least: 0.5, most: 1 }), [1, 2]);
});

test('hidden classes of every layer add up, and the legend counts what they leave', () => {
  const { filters, store } = made();
  filters.toggle(0, 0);
  assert.deepEqual(filters.sites(), [2, 3]);
  filters.toggle(1, 2);
  assert.deepEqual(filters.sites(), [2]);
  assert.equal(filters.shownCount(), 1);
  assert.ok(filters.isHidden(0, 0) && filters.isHidden(1, 2) && !filters.isHidden(0, 1));
  const { total, left } = filters.counts(0);
  assert.deepEqual([[...total], [...left]], [[2, 1, 1], [2, 1, 0]]);
  assert.equal(store.state.filtering, 2);
  filters.clear();
  assert.deepEqual([filters.sites(), filters.any(), filters.isAsked()], [[0, 1, 2, 3], false, false]);
});

test('the hidden classes go into a link and come back; what a link asks wrongly is left out', () => {
  const { filters } = made();
  filters.toggle(0, 1);
  filters.toggle(1, 2);
  assert.equal(filters.hiddenText(), 'margin_db:1,mount:2');
  filters.setHidden('mount:0.7,nothing:1,margin_db:2');
  filters.refresh();
  assert.equal(filters.hiddenText(), 'margin_db:2,mount:0');
  assert.deepEqual(filters.sites(), [1]);
});

test('the selection counts its sites', () => {
  const { store } = made();
  const selection = makeSelection(store);
  selection.add([1, 3]);
  selection.toggle(3);
  selection.toggle(0);
  assert.deepEqual([selection.sites(), store.state.selectedCount, store.state.selection], [[0, 1], 2, 3]);
  selection.clear();
  assert.deepEqual(selection.sites(), []);
});
