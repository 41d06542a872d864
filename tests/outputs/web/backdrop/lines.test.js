import assert from 'node:assert/strict';
import test from 'node:test';
import { arcOf, boxed, traceAll } from '../../../../siteplan/outputs/map/scripts/backdrop/lines.js';

const near = (a, b) => assert.ok(Math.abs(a - b) < 1e-12, `${a} and ${b}`);

// The format's own example, from memory: three places, the latitude first, in steps of 1e-5 degrees.
const EXAMPLE = '_p~iF~ps|U_ulLnnqC_mqNvxq`@';

test('the encoded polyline of the format\'s published example is read', () => {
  const line = arcOf(EXAMPLE, 1e-5);
  const places = [[38.5, -120.2], [40.7, -120.95], [43.252, -126.453]];
  assert.equal(line.length, 6);
  places.forEach(([first], k) => near(line[2 * k], first / 360 + 0.5));
});

test('the box around a line is west, north, east, south', () => {
  const { box } = boxed(Float64Array.from([0.2, 0.7, 0.1, 0.3, 0.4, 0.5]));
  assert.deepEqual(box, [0.1, 0.3, 0.4, 0.7]);
});

function traced(lines, frame) {
  const path = [];
  const ctx = {
    beginPath() {},
    moveTo: (x, y) => path.push(['M', x, y]),
    lineTo: (x, y) => path.push(['L', x, y]),
  };
  traceAll(ctx, lines, frame);
  return path;
}

const FRAME = { size: 100, left: 0, top: 0, width: 100, height: 100, first: 0, last: 0 };

test('points that fall on one pixel are left out, the last is kept', () => {
  const line = boxed(Float64Array.from([0.1, 0.1, 0.101, 0.1, 0.5, 0.5, 0.501, 0.5]));
  assert.deepEqual(traced([line], FRAME).map(([way]) => way), ['M', 'L', 'L']);
});

test('a line out of sight is left out, one across the edge of the world is drawn in each copy', () => {
  const away = boxed(Float64Array.from([0.2, 0.2, 0.3, 0.3]));
  assert.deepEqual(traced([away], { ...FRAME, top: 50, height: 40 }), []);
  const across = boxed(Float64Array.from([0.95, 0.5, 1.05, 0.5]));
  assert.deepEqual(traced([across], FRAME).filter(([way]) => way === 'M').map(([, x]) => Math.round(x)), [-5, 95]);
});
