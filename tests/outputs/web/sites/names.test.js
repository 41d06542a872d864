import assert from 'node:assert/strict';
import test from 'node:test';
import { makePage, recorder } from '../fake.js';

makePage();
const { drawNames, placed } = await import('../../../../siteplan/outputs/map/scripts/sites/names.js');

const FRAME = { width: 700, height: 480, inset: { x: 50, y: 40 } };
const wide = (text) => 7 * text.length;
const around = (more = {}) => ({ frame: FRAME, ends: [], hubs: [], plates: [], ...more });
const at = (...spots) => ({ sites: spots.map((_, k) => k), px: spots.map(([x]) => x), py: spots.map(([, y]) => y) });
const name = (i) => `Post ${i}`;

/** The box that a name takes. */
const boxOf = ({ text, x, y }) => [x, y - 8, x + wide(text), y + 8];
const meet = (a, b) => a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];

test('no name lies on another, on a marker, a bearing, the hub or a label', () => {
  let seed = 7;
  const random = () => (seed = (seed * 16807) % 2147483647) / 2147483647;
  for (let round = 0; round < 40; round++) {
    const spots = Array.from({ length: 30 }, () => [60 + 580 * random(), 50 + 380 * random()]);
    const drawn = at(...spots);
    const ends = spots.map(([x, y]) => [x + 20, y - 20]);
    const given = around({ ends, hubs: [[300, 200, 3]], plates: [[50, 40, 250, 300]] });
    const found = placed(drawn, given, name, wide);
    assert.ok(found.length > 5);
    const boxes = found.map(boxOf);
    boxes.forEach((box, k) => {
      boxes.slice(k + 1).forEach((other) => assert.ok(!meet(box, other), 'names'));
      spots.forEach(([x, y]) => assert.ok(!meet(box, [x - 8, y - 8, x + 8, y + 8]), 'marker'));
      spots.forEach(([x, y], j) => assert.ok(!meet(box, [x, ends[j][1], ends[j][0], y]), 'bearing'));
      assert.ok(!meet(box, [280, 168, 320, 210]), 'hub');
      assert.ok(!meet(box, given.plates[0]), 'label');
    });
  }
});

test('a site with room has its name to the right, one without room elsewhere or none', () => {
  const [free] = placed(at([300, 200]), around(), name, wide);
  assert.deepEqual([free.text, free.y], ['Post 0', 200]);
  assert.ok(free.x > 300);
  const [left] = placed(at([300, 200]), around({ plates: [[305, 150, 420, 250]] }), name, wide);
  assert.ok(left.x + wide('Post 0') < 300);
  assert.deepEqual(placed(at([300, 200]), around({ plates: [[200, 150, 420, 250]] }), name, wide), []);
});

test('a name keeps clear of the mark of doubt', () => {
  const tall = { frame: FRAME, ends: [], hubs: [], plates: [[100, 202, 280, 240], [320, 202, 500, 240], [250, 202, 350, 240]], doubted: [1] };
  const [above] = placed(at([300, 200]), { ...tall, doubted: [0] }, name, wide);
  assert.ok(above.y < 200);
  assert.deepEqual(placed(at([300, 200]), tall, name, wide), []);
});

test('the worst site, drawn last, is named first', () => {
  const crowd = at([300, 200], [310, 200], [320, 200]);
  const found = placed(crowd, around(), name, wide).map(({ text }) => text);
  assert.equal(found[0], 'Post 2');
});

test('a name is not cut by the edge of what is in sight', () => {
  for (const x of [55, 100, 600, 640]) {
    for (const { text, x: left } of placed(at([x, 200]), around(), () => 'A long name indeed', wide)) {
      assert.ok(left >= 50 && left + wide(text) <= 650, String(x));
    }
  }
});

test('a long name is cut, control characters are blanks, an empty one is not written', () => {
  const [one] = placed(at([300, 200]), around(), () => `Line\u2028two\t${'x'.repeat(40)}`, wide);
  assert.equal(one.text, `Line two ${'x'.repeat(14)}…`);
  assert.deepEqual(placed(at([300, 200]), around(), () => ' \t', wide), []);
});

test('names are written with an edge first, so that they are read over land, sea and dark', () => {
  const ctx = recorder();
  drawNames(ctx, at([300, 200]), around(), name);
  const stroke = ctx.notes.findIndex((note) => note.startsWith('strokeText Post 0'));
  const fill = ctx.notes.findIndex((note) => note.startsWith('fillText Post 0'));
  assert.ok(stroke >= 0 && stroke < fill);
  assert.ok(ctx.notes.includes('strokeStyle = --name-halo') && ctx.notes.includes('fillStyle = --text'));
});
