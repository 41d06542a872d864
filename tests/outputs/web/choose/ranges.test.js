import assert from 'node:assert/strict';
import test from 'node:test';
import { makeTests, NOTHING } from '../../../../siteplan/outputs/map/scripts/choose/asked.js';
import { askedOf, asking, parsed } from '../../../../siteplan/outputs/map/scripts/choose/ranges.js';

test('a text of ranges is read, and what is none is left out', () => {
  assert.deepEqual([...parsed('elevation_deg:10:20,rain_rate_mm_h::80,x:-1.5:')], [
    ['elevation_deg', [10, 20]], ['rain_rate_mm_h', [null, 80]], ['x', [-1.5, null]]]);
  assert.deepEqual([...parsed('')], []);
  assert.deepEqual([...parsed('a,b:1,c::,d:x:y,:1:2,e:1:2:3')], []);
});

test('asking for a range keeps the others, and an open one goes', () => {
  const first = { ...NOTHING, ...asking(NOTHING, 'elevation_deg', [10, null]) };
  const both = { ...first, ...asking(first, 'rain_rate_mm_h', [null, 80]) };
  assert.equal(both.ranges, 'elevation_deg:10:,rain_rate_mm_h::80');
  assert.deepEqual(askedOf(both, 'elevation_deg'), [10, null]);
  assert.deepEqual(askedOf(both, 'mount'), [null, null]);
  assert.deepEqual(asking(both, 'elevation_deg', [null, null]), { ranges: 'rain_rate_mm_h::80' });
});

test('the margin\'s range is that of the search', () => {
  assert.deepEqual(asking(NOTHING, 'margin_db', [1, null]), { least: 1, most: null });
  assert.deepEqual(askedOf({ ...NOTHING, least: 1, most: 3 }, 'margin_db'), [1, 3]);
});

test('sites are tested by the values as they stand now, both ends included', () => {
  const values = { elevation_deg: [9, 10, 20, null, 21] };
  const model = { count: 5, has: (name) => name in values, column: () => () => '', text: () => '', codesOf: () => [] };
  const live = { now: { failing: [] }, value: (field, i) => values[field][i] };
  const passes = (ranges) => {
    const tests = makeTests(model, live)({ ...NOTHING, ranges });
    return [0, 1, 2, 3, 4].filter((i) => tests.every((one) => one(i)));
  };
  assert.deepEqual(passes('elevation_deg:10:20'), [1, 2]);
  assert.deepEqual(passes('elevation_deg:10:'), [1, 2, 4]);
  assert.deepEqual(passes('unknown:10:20'), [0, 1, 2, 3, 4]);
});
