import assert from 'node:assert/strict';
import test from 'node:test';
import { columns, gap, textOf } from '../../../../siteplan/outputs/map/scripts/choose/rows.js';

test('the usual columns that the plan has, and the field that colours the map', () => {
  const model = { layers: [{ field: 'margin_db' }, { field: 'skew_deg' }], has: (name) => ['site_id', 'margin_db', 'skew_deg'].includes(name) };
  assert.deepEqual(columns(model, 0), ['site_id', 'margin_db']);
  assert.deepEqual(columns(model, 1), ['site_id', 'margin_db', 'skew_deg']);
});

test('codes are read as words, all other texts stay', () => {
  assert.equal(textOf('mount', 'non_penetrating'), 'non penetrating');
  assert.equal(textOf('flags', 'heavy_rain;no_fit'), 'heavy rain, no fit');
  assert.equal(textOf('name', 'a_b;c'), 'a_b;c');
});

test('no gap without rows out of sight', () => assert.deepEqual(gap(0), []));
