import assert from 'node:assert/strict';
import test from 'node:test';

test('every import is met: the modules link as a browser would link them', async () => {
  // What the modules ask of Leaflet while they load.
  globalThis.L = { Renderer: { extend: (members) => members } };
  const { siteplan } = await import('../../../siteplan/outputs/map/scripts/main.js');
  assert.equal(typeof siteplan.start, 'function');
  assert.equal(siteplan.ready, false);
});
