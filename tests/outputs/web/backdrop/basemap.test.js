import assert from 'node:assert/strict';
import test from 'node:test';
import { makeMap, makePage } from '../fake.js';

const { byId } = makePage();
const scripts = '../../../../siteplan/outputs/map/scripts/backdrop/';
const { addBasemap } = await import(`${scripts}basemap.js`);
const { drawGraticule } = await import(`${scripts}graticule.js`);
const { recorder } = await import('../fake.js');

/** Text of a line as the basemap has it: differences of [lat, lon] in whole steps, each as base-32 digits. */
function polyline(points) {
  let text = '';
  points.flatMap(([lat, lon], k) => [lat - (points[k - 1]?.[0] ?? 0), lon - (points[k - 1]?.[1] ?? 0)]).forEach((step) => {
    let rest = step < 0 ? ~(step << 1) : step << 1;
    for (; rest >= 0x20; rest >>= 5) text += String.fromCharCode((0x20 | (rest & 0x1f)) + 63);
    text += String.fromCharCode(rest + 63);
  });
  return text;
}

const FRAME = { size: 360, left: 0, top: 0, width: 360, height: 360, first: 0, last: 0, inset: { x: 0, y: 0 } };

for (const [way, parts, xs] of [
  ['eastwards', [[[0, 170], [0, 180]], [[0, -180], [5, -175], [0, -170]]], [350, 360, 360, 365, 370]],
  ['westwards', [[[0, -170], [0, -180]], [[0, 180], [5, 175], [0, 170]]], [10, 0, 0, -5, -10]],
]) {
  test(`land across the antimeridian ${way} runs on without a jump`, () => {
    const map = makeMap();
    byId('siteplan-basemap').textContent = JSON.stringify({
      step_deg: 1, arcs: parts.map(polyline), land: [[0, 1]], coast: [], border: [],
    });
    addBasemap(map, { state: {}, on() {} });
    const drawn = map.layers.basemap.drawnIn({ ...FRAME, left: -50, width: 500 });
    const at = drawn.flatMap((note) => /^(?:moveTo|lineTo) (\S+)/.exec(note)?.[1] ?? []).map((x) => Number(x) - 50);
    const first = at.slice(0, new Set(xs).size);
    assert.deepEqual(first, [...new Set(xs)]);
  });
}

test('degrees of the graticule have as many decimals as tell its lines apart', () => {
  const found = new Map();
  for (let size = 256; size <= 2 ** 26; size *= 1.1) {
    const ctx = recorder();
    const frame = { ...FRAME, size, left: 0.55 * size, top: 0.4 * size, width: 900, height: 400 };
    globalThis.document.documentElement.style = {};
    drawGraticule(ctx, frame);
    const east = ctx.notes.flatMap((note) => /^fillText ([\d.]+)\D* ?E /.exec(note)?.[1] ?? []);
    if (east.length < 2) continue;
    const step = Number((Number(east[1]) - Number(east[0])).toFixed(2));
    assert.equal(new Set(east).size, east.length, `told apart at ${step}`);
    found.set(step, new Set([...(found.get(step) ?? []), ...east.map((x) => (x.split('.')[1] ?? '').length)]));
  }
  const decimals = Object.fromEntries([...found].map(([step, each]) => [step, [...each].join()]));
  for (const [step, many] of Object.entries({ 10: '0', 5: '0', 2: '0', 1: '0', 0.5: '1', 0.2: '1', 0.1: '1', 0.05: '2', 0.02: '2' })) {
    assert.equal(decimals[step], many, `${step} in ${JSON.stringify(decimals)}`);
  }
});
