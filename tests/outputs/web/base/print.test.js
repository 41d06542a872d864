import assert from 'node:assert/strict';
import test from 'node:test';
import { makeMap, makePage } from '../fake.js';

makePage();
const { makePrinting } = await import('../../../../siteplan/outputs/map/scripts/base/print.js');
const { CanvasLayer } = await import('../../../../siteplan/outputs/map/scripts/base/canvas.js');

/** A page in dark mode that watches what printing asks for. */
function ready({ wide = true } = {}) {
  const page = makePage({ wide });
  const map = makeMap();
  const modes = [];
  const layer = Object.assign(new CanvasLayer(), { options: { pane: 'sites' } });
  layer.addTo(map);
  page.byId('panel').getBoundingClientRect = () => ({ right: 340 });
  page.byId('card').hidden = true;
  map.container.getBoundingClientRect = () => ({ left: 0, right: 600, top: 0, bottom: 400 });
  const canvas = globalThis.document.createElement('canvas');
  map.container.append(canvas);
  Object.assign(canvas, { width: 8, height: 9 });
  Object.assign(canvas.style, { width: '8px', height: '9px', transform: 'moved' });
  const state = { mode: 'dark', table: true };
  const store = { state, set: (more) => Object.assign(state, more) };
  makePrinting(map, store, { setMode: (mode) => modes.push(mode) });
  return { page, map, modes, layer, canvas, store };
}

const body = () => globalThis.document.body;
const fits = (map) => map.notes.filter((note) => note.startsWith('fit '));

test('what the browser\'s menu prints is laid out as the button lays it out', async () => {
  const menu = ready();
  globalThis.window.fire('beforeprint');
  const button = ready();
  await new Promise((done) => {
    globalThis.window.print = done;
    button.page.byId('print').click();
  });
  assert.deepEqual(fits(menu.map), fits(button.map));
  assert.deepEqual([menu.modes, menu.layer.redrawn], [button.modes, button.layer.redrawn]);
  assert.deepEqual(menu.modes, ['bright']);
  assert.ok(body().classList.contains('printing'));
  assert.equal(menu.store.state.table, false);
});

test('all that was in sight beside the panel is on paper', () => {
  const { map } = ready();
  globalThis.window.fire('beforeprint');
  const [corners, options] = JSON.parse(fits(map)[0].slice(4));
  // The fake map: half a degree a pixel around 40 N 20 E; the panel ends at pixel 340.
  assert.deepEqual(corners, [{ lat: 140, lng: 40 }, { lat: -60, lng: 170 }]);
  assert.ok(options.paddingTopLeft[0] > 340);
  const narrow = ready({ wide: false });
  globalThis.window.fire('beforeprint');
  assert.deepEqual(JSON.parse(fits(narrow.map)[0].slice(4))[0], [{ lat: 140, lng: -130 }, { lat: -60, lng: 170 }]);
});

test('from the menu new canvases stand in for those drawn on, and go again', () => {
  const { map, canvas } = ready();
  globalThis.window.fire('beforeprint');
  const copies = map.container.children.filter((node) => node !== canvas);
  assert.equal(copies.length, 1);
  assert.equal(canvas.style.visibility, 'hidden');
  assert.equal(copies[0].style.transform, 'moved');
  assert.deepEqual(copies[0].context.notes, ['drawImage <canvas> 0 0']);
  globalThis.window.fire('afterprint');
  assert.equal(copies[0].removed, true);
  assert.equal(canvas.style.visibility, '');
});

test('what the reader had comes back', () => {
  const { map, modes, store } = ready();
  globalThis.window.fire('beforeprint');
  globalThis.window.fire('afterprint');
  assert.ok(!body().classList.contains('printing'));
  assert.deepEqual(modes, ['bright', 'dark']);
  assert.equal(store.state.table, true);
  assert.equal(map.notes.at(-1), 'set view [{"lat":40,"lng":20},4,{"animate":false}]');
  map.notes.length = 0;
  globalThis.window.fire('afterprint');
  assert.deepEqual(map.notes, []);
});

test('a card that is longer than the paper ends with a whole row, and is whole again afterwards', () => {
  const { page } = ready();
  const card = page.byId('card');
  card.hidden = false;
  const part = (tag, bottom, children = []) => {
    const node = globalThis.document.createElement(tag);
    node.getBoundingClientRect = () => ({ bottom });
    node.append(...children);
    return node;
  };
  const rows = [part('dt', 90), part('dd', 90), part('dt', 150), part('dd', 400), part('dt', 420), part('dd', 420)];
  const section = part('section', 420, [part('h3', 60), part('dl', 420, rows)]);
  const list = part('div', 300, [part('p', 40), section, part('p', 500)]);
  Object.assign(list, { className: 'card-body', scrollTop: 70, scrollHeight: 900, clientHeight: 300 });
  card.append(list);
  globalThis.window.fire('beforeprint');
  const left = list.all().filter((node) => !node.classList.contains('off-paper')).map(({ tag }) => tag);
  assert.deepEqual(left, ['div', 'p', 'section', 'h3', 'dl', 'dt', 'dd']);
  assert.equal(list.scrollTop, 0);
  assert.ok(list.classList.contains('cut'));
  globalThis.document.querySelectorAll = () => list.all();
  globalThis.window.fire('afterprint');
  assert.ok(!list.all().some((node) => node.classList.contains('off-paper') || node.classList.contains('cut')));
});
