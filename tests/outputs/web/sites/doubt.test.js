import assert from 'node:assert/strict';
import test from 'node:test';
import { makeMap, makePage, told } from '../fake.js';

const page = makePage();
const from = (path) => import(`../../../../siteplan/outputs/map/scripts/${path}.js`);
const [{ makeStore }, { readModel }, { makePoints }, { makeFar, makeHome }, { makePointer }, { makeMoves }] = await Promise.all(
  ['base/core', 'base/data', 'sites/points', 'sites/home', 'sites/pointer', 'sites/moves'].map(from));

const text = { decimals: null, unit: '', label: 'Text' };
const row = { color: '#fff', shape: 'circle', radius: 5, outline: 1, mark: '' };
const model = readModel({
  count: 3, far: [2], view: [-2, 36, -1, 38], hub: null,
  fields: { site_id: text, name: text, flags: text, lat: { decimals: 6, unit: '°', label: 'Latitude' } },
  flags: {
    coordinate_doubt: { severity: 'warn', meaning: 'The coordinates look wrong; check them' },
    heavy_rain: { severity: 'note', meaning: 'Heavy rain climate' }, no_fit: { severity: 'stop', meaning: 'Nothing fits' },
  },
  columns: {
    site_id: { v: ['A', 'B', 'C'] }, lat: { v: [40, 41, 42] }, lon: { v: [18, 20, 22] },
    flags: { v: ['', 'heavy_rain', 'heavy_rain;coordinate_doubt'] },
  },
  layers: [{ field: 'flags', codes: '012', classes: [row, row, row] }, { field: 'lat', codes: '000', classes: [row] }], extra: [], sheets: null,
});
const live = {
  now: { order: [0, 1, 2], failing: [0, 0, 0], codes: [[0, 1, 2], [0, 0, 0]] },
  value: () => null, text: (name, i) => model.text(name, i), isStale: () => false,
};
const FRAME = { size: 1024, left: 400, top: 250, width: 600, height: 400, first: 0, last: 0, inset: { x: 60, y: 40 } };

test('a site in doubt has a question mark in every layer, and no other site has', () => {
  const map = makeMap();
  const store = makeStore({ layer: 0, selected: new Uint8Array(3), selectedCount: 0, bearings: '', names: false, labels: [] });
  makePoints(map, model, store, { filters: { shown: [1, 1, 1] }, live });
  for (const layer of [0, 1]) {
    store.set({ layer });
    const marks = map.layers.sites.drawnIn(FRAME).filter((note) => note.startsWith('fillText ?'));
    assert.equal(marks.length, 1, String(layer));
  }
});

test('names are written in every layer where bearings have room, unless they are switched off', () => {
  const map = makeMap();
  const store = makeStore({ layer: 0, selected: new Uint8Array(3), selectedCount: 0, bearings: '', names: true, labels: [] });
  makePoints(map, model, store, { filters: { shown: [1, 1, 1] }, live });
  const wide = { ...FRAME, size: 16384, left: 8500, top: 5900, width: 900, height: 700 };
  const written = () => map.layers.sites.drawnIn(wide).filter((note) => /^fillText [ABC] /.test(note)).length;
  for (const layer of [0, 1]) {
    store.set({ layer });
    assert.equal(written(), 3);
  }
  store.set({ names: false });
  assert.equal(written(), 0);
  assert.equal(map.layers.sites.redrawn > 1, true);
});

test('the link to a site far away goes there and opens its card', () => {
  const map = makeMap();
  const store = makeStore({ chosen: -1, cursor: -1, under: [] });
  const points = { latLng: (i) => [model.column('lat')(i), model.column('lon')(i)] };
  const moves = makeMoves(map, model, store, { points, live, filters: {} });
  makeFar(model, store, moves.goTo);
  assert.equal(page.byId('far').hidden, false);
  assert.equal(page.byId('far').textContent, '1 site far away');
  assert.equal(page.byId('fit').textContent, 'All but 1 in view');
  page.byId('far').click();
  assert.equal(store.state.chosen, 2);
  assert.equal(map.notes[0], 'set view [[42,22],5,{"animate":false}]');
  makeFar({ ...model, far: [] }, store, moves.goTo);
  assert.equal(page.byId('far').hidden, true);
});

test('several sites far away are gone to in turn', () => {
  const again = makePage();
  const store = makeStore({ chosen: -1 });
  const went = [];
  makeFar({ ...model, far: [0, 2] }, store, (i) => { went.push(i); store.set({ chosen: i }); });
  assert.equal(again.byId('far').textContent, '2 sites far away');
  for (let k = 0; k < 3; k++) again.byId('far').click();
  assert.deepEqual(went, [0, 2, 0]);
});

test('who has not moved the map keeps all sites in view when the window changes; paper does not', () => {
  makePage();
  const map = makeMap();
  const home = makeHome(map, model);
  const fits = () => map.notes.splice(0).filter((note) => note.startsWith('fit')).length;
  home.fit();
  assert.equal(fits(), 1);
  home.resized();
  assert.equal(fits(), 1);
  map.getZoom = () => 6;
  home.resized();
  assert.equal(fits(), 0, 'moved');
  map.getZoom = () => 4;
  globalThis.document.body.classList.add('printing');
  home.resized();
  assert.deepEqual(map.notes, [], 'nothing is resized under the printer');
});

test('the first view keeps its markers clear of the edges, the panel and the tools', () => {
  const again = makePage();
  again.byId('panel').offsetWidth = 328;
  const map = makeMap();
  makeHome(map, model).fit();
  const [, options] = JSON.parse(map.notes.find((note) => note.startsWith('fit ')).slice(4));
  const marker = 16;
  assert.ok(options.paddingTopLeft[0] >= 10 + 328 + marker && options.paddingTopLeft[1] >= marker);
  assert.ok(options.paddingBottomRight[0] >= 10 + 44 + marker && options.paddingBottomRight[1] >= marker);
});

test('the tip tells doubt in every layer, and flags as stop, decide or know', () => {
  const again = makePage();
  const map = makeMap();
  const store = makeStore({ layer: 0, tool: '', dms: false });
  let under = [2];
  makePointer(map, model, store, { points: { hits: () => under }, live, choose() {} });
  const tip = () => {
    map.fire('mousemove', { layerPoint: {}, containerPoint: { x: 1, y: 1 }, latlng: { lat: 0, lng: 0 } });
    return told(again.byId('tip')).join(' ');
  };
  assert.match(tip(), /Decide: The coordinates look wrong; check them; 1 more.*Coordinates to check/);
  store.set({ layer: 1 });
  assert.match(tip(), /Coordinates to check/);
  [under, store.state.layer] = [[1], 0];
  assert.match(tip(), /Know: Heavy rain climate/);
  assert.doesNotMatch(tip(), /Coordinates to check/);
  under = [0];
  assert.match(tip(), /: none/);
});
