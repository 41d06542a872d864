import assert from 'node:assert/strict';
import test from 'node:test';
import { makePage } from '../fake.js';

const { byId } = makePage();
byId('seed').namespaceURI = 'drawing';
const { makeStore } = await import('../../../../siteplan/outputs/map/scripts/base/core.js');
const { NOTHING } = await import('../../../../siteplan/outputs/map/scripts/choose/asked.js');
const { makeHistogram } = await import('../../../../siteplan/outputs/map/scripts/choose/histogram.js');

const VALUES = { margin_db: [-2, 0.5, 1, 1.2, 4, null], elevation_deg: [11, 12, 30, 31, 32, 60] };
const model = {
  count: 6,
  fields: { margin_db: { label: 'Margin', unit: 'dB', decimals: 1 }, elevation_deg: { label: 'Elevation', unit: '°', decimals: 0 }, mount: { label: 'Mount', unit: '', decimals: null } },
  layers: [
    { field: 'margin_db', bounds: [0, 1, 3], classes: [{ color: '#a' }, { color: '#b' }, { color: '#c' }, { color: '#d' }, {}] },
    { field: 'elevation_deg', bounds: [20], classes: [{ color: '#a' }, { color: '#b' }, {}] },
    { field: 'mount', bounds: [], classes: [{}] },
  ],
};

function made(estimate = null) {
  const store = makeStore({ layer: 0, filtering: 0, live: 0, mode: 'bright' });
  const filters = {
    wanted: { ...NOTHING }, shown: new Uint8Array(6).fill(1),
    set(patch) {
      Object.assign(filters.wanted, patch);
      store.set({ filtering: store.state.filtering + 1 });
    },
  };
  const live = {
    now: { codes: [[0, 1, 2, 2, 3, 4], [0, 0, 1, 1, 1, 1], [0, 0, 0, 0, 0, 0]], estimate },
    value: (field, i) => VALUES[field][i], isStale: (field) => field === 'elevation_deg' && store.state.moved,
  };
  const frame = byId('spread-drawing');
  for (const id of ['spread', 'spread-drawing', 'spread-least', 'spread-most', 'spread-clear']) byId(id).listeners = {};
  byId('spread-least').value = byId('spread-most').value = '';
  Object.assign(frame, { getBoundingClientRect: () => ({ left: 100, width: 300 }), setPointerCapture() {} });
  globalThis.document.activeElement = null;
  makeHistogram(model, store, { filters, live });
  return { store, filters, frame };
}

const named = (frame, name) => frame.all().filter((node) => node.attributes.class === name);

test('bars hold all sites that have a value, those shown by the colour of their class', () => {
  const { frame, filters } = made();
  assert.equal(byId('spread').hidden, false);
  assert.deepEqual(named(frame, 'bin').map((node) => node.attributes.fill), ['#a', '#b', '#c', '#d']);
  assert.equal(named(frame, 'bin')[2].attributes.height, '64', 'the two of a class in one bin');
  assert.deepEqual(named(frame, 'bin-bound').length, 3);
  filters.shown[0] = 0;
  filters.set({});
  assert.equal(named(frame, 'bin').length, 3);
  assert.ok(named(frame, 'bin-all').some((node) => Number(node.attributes.height) > 0));
});

test('dragging asks for the range of the bins, and for no end where it is open', () => {
  const { frame, filters, store } = made();
  const at = (bin) => 100 + 300 * ((bin + 0.5) / 13); // -2 to 4.5 in halves
  frame.fire('pointerdown', { clientX: at(4), button: 0, pointerId: 1 });
  assert.deepEqual([filters.wanted.least, filters.wanted.most], [0, 0.4]);
  frame.fire('pointermove', { clientX: at(6) });
  assert.deepEqual([filters.wanted.least, filters.wanted.most], [0, 1.4]);
  frame.fire('pointermove', { clientX: 5000 });
  frame.fire('pointerup');
  assert.deepEqual([filters.wanted.least, filters.wanted.most], [0, null]);
  frame.fire('pointermove', { clientX: at(1) });
  assert.deepEqual([filters.wanted.least, filters.wanted.most], [0, null], 'the drag is over');
  assert.equal(byId('spread-least').value, '0');
  assert.equal(named(frame, 'bin-range').length, 1);
  store.set({ layer: 1 });
  frame.fire('pointerdown', { clientX: 101, button: 0, pointerId: 1 });
  frame.fire('pointercancel');
  assert.match(filters.wanted.ranges, /^elevation_deg::\d+$/);
  frame.fire('pointerdown', { clientX: at(3), button: 2, pointerId: 1 });
  assert.match(filters.wanted.ranges, /^elevation_deg::\d+$/, 'another button does nothing');
});

test('estimates are not rounded: a bin ends a hundredth under the next', () => {
  const { frame, filters } = made({});
  frame.fire('pointerdown', { clientX: 100 + 300 * (4.5 / 13), button: 0, pointerId: 1 });
  assert.deepEqual([filters.wanted.least, filters.wanted.most], [0, 0.49]);
});

test('two boxes ask by number, and a button asks for all', () => {
  const { filters } = made();
  byId('spread-least').value = '0.7';
  byId('spread-least').fire('input');
  assert.deepEqual([filters.wanted.least, filters.wanted.most], [0.7, null]);
  byId('spread-most').value = '-';
  byId('spread-most').fire('input');
  assert.deepEqual([filters.wanted.least, filters.wanted.most], [0.7, null]);
  assert.equal(byId('spread-clear').disabled, false);
  byId('spread-clear').click();
  assert.deepEqual([filters.wanted.least, filters.wanted.most], [null, null]);
  assert.equal(byId('spread-clear').disabled, true);
});

test('names have no histogram, nor has what is out of date', () => {
  const { store } = made();
  store.set({ layer: 2 });
  assert.equal(byId('spread').hidden, true);
  store.set({ moved: true, layer: 1 });
  assert.equal(byId('spread').hidden, true);
  store.set({ moved: false, layer: 0 });
  assert.equal(byId('spread').hidden, false);
});

test('a reader who hears the page is told the reach', () => {
  const { frame } = made();
  const [drawing] = named(frame, 'spread-bars');
  assert.equal(drawing.attributes['aria-label'], 'Histogram of Margin: 5 sites between -2 and 4.5 dB, at most 2 in a bar');
});

test('figures that would touch are left out, the bounds first in', () => {
  const { frame } = made();
  const figures = named(frame, 'bin-figure').map((node) => node.textContent);
  assert.deepEqual(figures, ['0', '1', '3', '-2', '4.5 dB']);
  const bounds = model.layers[0].bounds;
  model.layers[0].bounds = [0, 0.1, 1, 4.4];
  const { frame: crowded } = made();
  assert.deepEqual(named(crowded, 'bin-figure').map((node) => node.textContent), ['0', '1', '4.4', '-2']);
  assert.equal(named(crowded, 'bin-bound').length, 4, 'each bound has its line all the same');
  model.layers[0].bounds = bounds;
});
