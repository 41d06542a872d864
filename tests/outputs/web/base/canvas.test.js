import assert from 'node:assert/strict';
import test from 'node:test';
import { makePage, Point, recorder } from '../fake.js';

for (const ratio of [1, 2, 1.25]) {
  test(`a canvas has ${ratio} of its own pixels for each of the page's, both ways`, async () => {
    makePage({ ratio });
    globalThis.L.Renderer.extend = (members) => members;
    globalThis.L.DomUtil = { setPosition(node, at) { node.at = at; } };
    const { CanvasLayer } = await import(`../../../../siteplan/outputs/map/scripts/base/canvas.js?ratio=${ratio}`);
    const layer = {
      _container: { style: {} }, _ctx: recorder(), _bounds: { min: new Point(-60, -40), getSize: () => new Point(601, 402) },
    };
    CanvasLayer._fitContainer.call(layer);
    const { width, height, style, at } = layer._container;
    assert.deepEqual([width, height], [Math.round(601 * ratio), Math.round(402 * ratio)]);
    assert.deepEqual(style, { width: '601px', height: '402px' });
    assert.deepEqual({ ...at }, { x: -60, y: -40 });
    assert.deepEqual(layer._ctx.notes, [`setTransform ${ratio} 0 0 ${ratio} 0 0`]);
  });
}
