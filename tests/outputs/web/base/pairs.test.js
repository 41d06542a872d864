import assert from 'node:assert/strict';
import test from 'node:test';
import { heldBy, isOneKit, makePairs, pairName } from '../../../../siteplan/outputs/map/scripts/base/pairs.js';

const FLAGS = ['', 'no_fit', 'blocked', 'below_horizon', 'mount_engineered;dust'];
const model = {
  count: 5,
  rules: { reserve_db: 1 },
  flags: { no_fit: { severity: 'stop' }, blocked: { severity: 'stop' }, below_horizon: { severity: 'stop' }, mount_engineered: { severity: 'stop' }, dust: { severity: 'note' } },
  codesOf: (text) => text.split(';').filter(Boolean),
  column: () => (i) => FLAGS[i],
  everywhere: {
    pairs: [[1.2, 1], [1.2, 2.5], [1.8, 1]], step_db: 0.05, of_the_kit: ['no_fit', 'mount_engineered'],
    db: [19, 1, 43, -30, 60, 100, 20, 0, 0, null, null, null, 20, -1, 3], prices: [800, 950.5, 1200],
  },
};
const pairs = makePairs(model);

test('margins are added up from pair to pair, site by site', () => {
  const all = [0, 1, 2, 3, 4].map((i) => [0, 1, 2].map((k) => pairs.margin(k, i)));
  assert.deepEqual(all, [[0.95, 1, 3.15], [-1.5, 1.5, 6.5], [1, 1, 1], [null, null, null], [1, 0.95, 1.1]]);
});

test('a pair serves with the reserve, where nothing else stops the site', () => {
  assert.deepEqual([0, 1, 2, 3, 4].map((i) => pairs.serves(0, i)), [false, false, false, false, true]);
  assert.deepEqual([0, 1, 2, 3, 4].map((i) => pairs.serves(1, i)), [true, true, false, false, false]);
  assert.deepEqual([0, 1, 2].map(pairs.served), [1, 2, 3]);
  assert.deepEqual([...pairs.barred], [0, 0, 1, 1, 0]);
});

test('a pair has a name, a price, and a text in a link', () => {
  assert.equal(pairs.name(1), '1.2 m and 2.5 W');
  assert.equal(pairName([3.7, 16]), '3.7 m and 16 W');
  assert.deepEqual([0, 1, 2].map(pairs.price), [800, 950.5, 1200]);
  assert.deepEqual([0, 1, 2].map((k) => pairs.find(pairs.text(k))), [0, 1, 2]);
  assert.equal(pairs.find(''), -1);
  assert.equal(pairs.find('9 9'), -1);
  assert.equal(makePairs({ ...model, everywhere: { ...model.everywhere, prices: undefined } }).price(0), null);
});

test('a plan that came without has none', () => {
  assert.equal(makePairs({ ...model, everywhere: undefined }), null);
});

test('only margins are held by the one kit, and only while it is shown', () => {
  const whole = { ...model, pairs };
  assert.equal(heldBy(whole, { now: { kit: 2 } }, 'margin_db'), '1.8 m and 1 W');
  assert.equal(heldBy(whole, { now: { kit: 0 } }, 'margin_after_reserve_db'), '1.2 m and 1 W');
  assert.equal(heldBy(whole, { now: { kit: 2 } }, 'elevation_deg'), '');
  assert.equal(heldBy(whole, { now: { kit: null } }, 'margin_db'), '');
  assert.deepEqual([{ kit: 0 }, { kit: null }, {}, undefined].map(isOneKit), [true, false, false, false]);
});
