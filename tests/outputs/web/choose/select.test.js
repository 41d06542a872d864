import assert from 'node:assert/strict';
import test from 'node:test';
import { makeMap, makePage } from '../fake.js';

makePage();
const { makeStore } = await import('../../../../siteplan/outputs/map/scripts/base/core.js');
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

test('Enter closes a polygon of three corners, and not before', () => {
  const page = makePage();
  const map = makeMap();
  const store = makeStore({ tool: '' });
  const added = [];
  const { enter } = makeSelectTools(map, store, { within: (passes) => (passes(340, 220) ? [5] : []) }, { add: (sites) => added.push(sites) });
  const tap = (x, y) => ['pointerdown', 'pointerup'].forEach((name) => map.container.fire(name, {
    clientX: x, clientY: y, isPrimary: true, stopPropagation() {}, target: { closest: () => null },
  }));
  page.byId('tool-polygon').click();
  assert.equal(globalThis.document.activeElement, map.container, 'Enter is the tool\'s, not the button\'s');
  tap(300, 200);
  tap(400, 200);
  enter();
  assert.deepEqual([added, store.state.tool], [[], 'polygon']);
  tap(350, 300);
  enter();
  assert.deepEqual([added, store.state.tool], [[[5]], '']);
  page.byId('tool-box').click();
  enter();
  assert.equal(store.state.tool, 'box');
});
