/* The buttons of the layers: all of a plan's in sight, those of other maps folded but for what the map is for. */
import assert from 'node:assert/strict';
import test from 'node:test';
import { makePage } from '../fake.js';

makePage();
const from = (path) => import(`../../../../siteplan/outputs/map/scripts/${path}.js`);
const [{ makeStore }, { makeLayers }] = await Promise.all(['base/core', 'sites/layers'].map(from));

function made(count, opensOn) {
  const page = makePage();
  const layers = Array.from({ length: count }, (_, k) => ({ field: `f${k}` }));
  const fields = Object.fromEntries(layers.map(({ field }, k) => [field, { label: field, group: k < count - 2 ? 'link' : 'as built' }]));
  fields.f0.group = 'margin';
  const store = makeStore({ layer: count - 1 });
  const model = { layers, fields, names: Object.keys(fields), opens_on: opensOn, has: () => true };
  makeLayers(model, store, { addLayer() {} }).mark();
  const list = page.byId('layer-list');
  const named = (nodes) => nodes.map((node) => node.dataset.layer).filter(Boolean);
  return { store, all: list.all(), seen: named(list.children), folded: named(list.all()).slice(named(list.children).length) };
}

test('a map that opens on its own layer folds the others, and all still work', () => {
  const { store, all, seen, folded } = made(14, 'f13');
  assert.deepEqual(seen, ['f0', 'f12', 'f13']);
  assert.deepEqual(folded, Array.from({ length: 11 }, (_, k) => `f${k + 1}`));
  const pressed = all.filter((node) => node.attributes['aria-pressed'] === 'true').map((node) => node.dataset.layer);
  assert.deepEqual(pressed, ['f13']);
  all.find((node) => node.dataset.layer === 'f5').click();
  assert.equal(store.state.layer, 5);
});

test('a plan’s map shows a button for each key', () => {
  const { seen, folded } = made(14, '');
  assert.equal(seen.length, 9);
  assert.deepEqual(folded, []);
});

test('few layers are not folded', () => {
  assert.equal(made(5, 'f4').seen.length, 5);
});
