import assert from 'node:assert/strict';
import test from 'node:test';
import { readModel } from '../../../../siteplan/outputs/map/scripts/base/data.js';
import { makePage, told } from '../fake.js';

const page = makePage();
const { makeStore } = await import('../../../../siteplan/outputs/map/scripts/base/core.js');
const { makeSelection } = await import('../../../../siteplan/outputs/map/scripts/choose/selection.js');
const { makeTotals } = await import('../../../../siteplan/outputs/map/scripts/choose/totals.js');

test('provisional mounts count under their kind, with how many there are', () => {
  const text = { decimals: null, unit: '' };
  const model = readModel({
    count: 5,
    fields: { mount: text, mount_certainty: text },
    flags: {},
    columns: {
      mount: { v: ['pole', 'pole', 'non_penetrating', 'engineered', ''] },
      mount_certainty: { v: ['decided', 'provisional', 'provisional', 'provisional', ''] },
    },
    layers: [], extra: [], sheets: null,
  });
  const selection = { sites: () => [0, 1, 2, 3, 4], clear: () => {}, add: () => {} };
  const store = { on: () => {}, state: { selectedCount: 5, table: false, tool: '' } };
  makeTotals(model, store, { filters: { sites: () => [] }, selection });
  const words = told(page.byId('totals')).join(' ');
  assert.match(words, /1 × engineered \(1 to be surveyed\), 1 × non penetrating \(1 to be surveyed\), 1 × none, 2 × pole \(1 to be surveyed\)/);
});

test('the selection is counted on the map where the table is not open to tell it', () => {
  const again = makePage();
  const model = readModel({
    count: 3, fields: { antenna_m: { decimals: 1, unit: 'm' } }, flags: { no_fit: { severity: 'stop' } },
    columns: { antenna_m: { v: [1.2, 1.8, null] }, flags: { v: ['', '', 'no_fit'] } }, layers: [], extra: [], sheets: null,
  });
  const store = makeStore({ selection: 0, selectedCount: 0, selected: new Uint8Array(3), table: false, tool: '' });
  const selection = makeSelection(store);
  makeTotals(model, store, { filters: { sites: () => [] }, selection });
  assert.equal(again.byId('picked').hidden, true);
  selection.add([0, 2]);
  assert.equal(again.byId('picked').hidden, false);
  assert.equal(again.byId('picked-text').textContent, '2 selected, 1 of them not served as planned. Antennas: 1 × 1.2 m, 1 × none');
  for (const more of [{ table: true }, { tool: 'box' }]) {
    store.set(more);
    assert.equal(again.byId('picked').hidden, true, JSON.stringify(more));
    store.set({ table: false, tool: '' });
    assert.equal(again.byId('picked').hidden, false);
  }
  again.byId('picked-table').click();
  assert.equal(store.state.table, true);
  assert.equal(globalThis.document.activeElement, again.byId('table-frame'));
  store.set({ table: false });
  again.byId('picked-clear').click();
  assert.equal(again.byId('picked').hidden, true);
  assert.deepEqual(selection.sites(), []);
  assert.equal(globalThis.document.activeElement, again.byId('map'));
});
