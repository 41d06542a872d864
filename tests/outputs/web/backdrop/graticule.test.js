import assert from 'node:assert/strict';
import test from 'node:test';
import { makePage, recorder } from '../fake.js';

makePage();
const { drawGraticule } = await import('../../../../siteplan/outputs/map/scripts/backdrop/graticule.js');

test('degrees of the graticule have as many decimals as tell its lines apart', () => {
  const found = new Map();
  for (let size = 1024; size <= 2 ** 26; size *= 1.1) {
    const ctx = recorder();
    const frame = { size, left: 0.55 * size, top: 0.4 * size, width: 900, height: 400, inset: { x: 0, y: 0 } };
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
