import assert from 'node:assert/strict';
import test from 'node:test';
import { makeMap, makePage } from '../fake.js';

makePage();
const { makeSelectTools } = await import('../../../../siteplan/outputs/map/scripts/choose/select.js');

test('drawing hears the pointer before anything that lies in the map, and keeps it from it', () => {
  const map = makeMap();
  const heard = {};
  map.container.addEventListener = (name, fn, first) => { heard[name] = { fn, first }; };
  const store = { state: { tool: '' }, set() {}, on() {} };
  makeSelectTools(map, store, {}, {});
  assert.deepEqual(Object.entries(heard).map(([name, { first }]) => [name, first]), [
    ['pointerdown', true], ['pointermove', true], ['pointerup', true],
  ]);
});
