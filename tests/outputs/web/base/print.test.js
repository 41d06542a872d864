import assert from 'node:assert/strict';
import test from 'node:test';
import { makeMap, makePage } from '../fake.js';

makePage();
const { makePrinting } = await import('../../../../siteplan/outputs/map/scripts/base/print.js');

test('a page that the browser prints of itself keeps the map\'s pixels, scaled, and gives them back', () => {
  const map = makeMap();
  map.container.parentElement = { getBoundingClientRect: () => ({ width: 300, height: 400 }) };
  makePrinting(map, { state: { mode: 'dark', table: false } }, { setMode() {} });
  globalThis.window.fire('beforeprint');
  const { inset, width, height, transform, transformOrigin } = map.container.style;
  assert.deepEqual([inset, width, height, transformOrigin], ['auto', '600px', '400px', '0 0']);
  assert.equal(transform, `scale(${0.98 * 0.5})`);
  assert.equal(globalThis.document.documentElement.dataset.mode, 'bright');
  globalThis.window.fire('afterprint');
  assert.deepEqual(['inset', 'width', 'height', 'transform', 'transformOrigin'].map((k) => map.container.style[k]), ['', '', '', '', '']);
  assert.equal(globalThis.document.documentElement.dataset.mode, 'dark');
});
