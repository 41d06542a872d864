import assert from 'node:assert/strict';
import test from 'node:test';
import { makeMap, makePage } from '../fake.js';

const { byId } = makePage();
const { addBasemap } = await import('../../../../siteplan/outputs/map/scripts/backdrop/basemap.js');

/** Text of a line as the basemap has it: differences of [lon, lat] in whole steps, each as base-32 digits. */
function polyline(points) {
  let text = '';
  points.flatMap(([lon, lat], k) => [lon - (points[k - 1]?.[0] ?? 0), lat - (points[k - 1]?.[1] ?? 0)]).forEach((step) => {
    let rest = step < 0 ? ~(step << 1) : step << 1;
    for (; rest >= 0x20; rest >>= 5) text += String.fromCharCode((0x20 | (rest & 0x1f)) + 63);
    text += String.fromCharCode(rest + 63);
  });
  return text;
}

const FRAME = { size: 360, left: 0, top: 0, width: 360, height: 360, first: 0, last: 0, inset: { x: 0, y: 0 } };

for (const [way, parts, xs] of [
  ['eastwards', [[[170, 0], [180, 0]], [[-180, 0], [-175, 5], [-170, 0]]], [-10, 0, 5, 10]],
  ['westwards', [[[-170, 0], [-180, 0]], [[180, 0], [175, 5], [170, 0]]], [10, 0, -5, -10]],
]) {
  test(`land across the antimeridian ${way} runs on without a jump`, () => {
    const map = makeMap();
    byId('siteplan-basemap').textContent = JSON.stringify({
      step_deg: 1, arcs: parts.map(polyline), land: [[0, 1]], coast: [], border: [],
    });
    addBasemap(map, { state: {}, on() {} });
    const drawn = map.layers.basemap.drawnIn({ ...FRAME, left: -50, width: 500 });
    const at = drawn.flatMap((note) => /^(?:moveTo|lineTo) (\S+)/.exec(note)?.[1] ?? []).map((x) => Number(x) - 50);
    const first = at.slice(0, xs.length);
    assert.deepEqual(first, xs);
  });
}
