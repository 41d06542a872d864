import assert from 'node:assert/strict';
import test from 'node:test';
import { readModel } from '../../../../siteplan/outputs/map/scripts/base/data.js';
import { makePage, told } from '../fake.js';

const page = makePage();
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
  const store = { on: () => {} };
  makeTotals(model, store, { filters: { sites: () => [] }, selection });
  const words = told(page.byId('totals')).join(' ');
  assert.match(words, /1 × engineered \(1 to be surveyed\), 1 × non penetrating \(1 to be surveyed\), 1 × none, 2 × pole \(1 to be surveyed\)/);
});
