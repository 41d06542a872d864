import assert from 'node:assert/strict';
import test from 'node:test';
import { makePage } from '../fake.js';

const { byId } = makePage();
const { makeStore } = await import('../../../../siteplan/outputs/map/scripts/base/core.js');
const { readModel } = await import('../../../../siteplan/outputs/map/scripts/base/data.js');
const { makeLive } = await import('../../../../siteplan/outputs/map/scripts/card/whatif.js');
const { makeOneKit, saidOf } = await import('../../../../siteplan/outputs/map/scripts/choose/onekit.js');

const DB = { decimals: 1, unit: 'dB', group: 'link' };
const PAIRS = { pairs: [[1.2, 1], [1.8, 2]], step_db: 0.05, of_the_kit: ['no_fit'], db: [10, 30, 30, 40, -20, 60] };

function made(everywhere = PAIRS) {
  const model = readModel({
    count: 3, everywhere,
    rules: { reserve_db: 1, min_elevation_deg: 10 },
    fields: { margin_db: DB, margin_after_reserve_db: DB, outbound_margin_db: DB, flags: { label: 'Flags', decimals: null, unit: '' } },
    flags: { no_fit: { severity: 'stop' }, blocked: { severity: 'stop' } },
    columns: {
      margin_db: { v: [20, 25, 10], s: 1 }, margin_after_reserve_db: { v: [10, 15, 0], s: 1 },
      outbound_margin_db: { v: [20, 25, 10], s: 1 }, flags: { v: ['', 'blocked', 'no_fit'] },
    },
    layers: [
      { field: 'margin_db', kind: 'verdict', codes: '221', bounds: [0, 1, 3], classes: [{ label: 'a' }, { label: 'b' }, { label: 'c' }, { label: 'd' }, { blank: true }] },
      { field: 'flags', kind: 'flags', codes: '000', bounds: [], classes: [{}] },
    ],
    extra: [], sheets: null,
  });
  const store = makeStore({ layer: 0, live: 0, target: null, satellite: null, kit: null });
  const live = makeLive(model, store);
  for (const id of ['kit-choice', 'kit-back']) byId(id).listeners = {};
  byId('kit-banner').hidden = byId('one-kit').hidden = true;
  makeOneKit(model, store, live);
  return { model, store, live };
}

function choose(value) {
  byId('kit-choice').value = value;
  byId('kit-choice').fire('change');
}

test('the choice names every pair and how many sites it serves', () => {
  made();
  const texts = byId('kit-choice').all().filter(({ tag }) => tag === 'option').map((node) => node.textContent);
  assert.deepEqual(texts, ['the kit planned', '1.2 m and 1 W: serves 0 of 3', '1.8 m and 2 W: serves 2 of 3']);
  assert.equal(byId('one-kit').hidden, false);
  assert.equal(byId('kit-banner').hidden, true);
});

test('values, classes and what fails follow the pair', () => {
  const { live, store } = made();
  choose('0');
  assert.equal(store.state.kit, 0);
  assert.deepEqual([0, 1, 2].map((i) => live.value('margin_db', i)), [0.5, 1.5, -1]);
  assert.deepEqual([0, 1, 2].map((i) => live.value('margin_after_reserve_db', i)), [-0.5, 0.5, -2]);
  assert.deepEqual([0, 1, 2].map((i) => live.text('margin_db', i)), ['0.5 dB', '1.5 dB', '-1.0 dB']);
  assert.equal(live.value('outbound_margin_db', 0), null, 'of its directions nothing is known');
  assert.deepEqual([...live.now.codes[0]], [1, 2, 0]);
  assert.deepEqual([...live.now.failing], [1, 1, 1], 'under the reserve, blocked, under zero');
  choose('1');
  assert.deepEqual([...live.now.failing], [0, 1, 0], 'what found no kit may be served by this one');
  choose('');
  assert.deepEqual([0, 1, 2].map((i) => live.value('margin_db', i)), [2, 2.5, 1]);
  assert.deepEqual([...live.now.failing], [0, 1, 1]);
});

test('the page says which kit is shown, in every layer, and goes back to the plan', () => {
  const { store } = made();
  choose('1');
  assert.equal(byId('kit-banner').hidden, false);
  assert.equal(byId('kit-banner-text').textContent, '1.8 m and 2 W at every site.');
  assert.match(byId('kit-said').textContent, /^Serves 2 of 3 sites: /);
  store.set({ layer: 1 });
  assert.equal(byId('kit-banner-text').textContent, 'octagons are for 1.8 m and 2 W at every site. The layer shown, Flags, is the plan’s.');
  assert.equal(byId('kit-banner').hidden, false);
  assert.equal(byId('one-kit').hidden, false);
  byId('kit-back').click();
  assert.equal(store.state.kit, null);
  assert.equal(byId('kit-banner').hidden, true);
  assert.equal(byId('one-kit').hidden, true);
});

test('another target or another satellite is asked of the kit planned', () => {
  for (const asked of [{ target: 99 }, { satellite: 20 }]) {
    const { store, live } = made();
    choose('1');
    store.set(asked);
    assert.deepEqual([store.state.kit, live.now.kit], [null, null]);
    choose('0');
    assert.deepEqual([store.state.target, store.state.satellite, live.now.kit], [null, null, 0]);
  }
});

test('what a kit costs is told where there are prices, in no currency', () => {
  const { model } = made({ ...PAIRS, prices: [500, 1250.5] });
  assert.match(saidOf(model, model.pairs, 1), /sites that it serves cost 2,501 \(1,250\.5 each\)\.$/);
  const { model: unpriced } = made();
  assert.doesNotMatch(saidOf(unpriced, unpriced.pairs, 1), /cost/);
});

test('a plan that came without pairs offers no choice', () => {
  const { model } = made(null);
  assert.equal(model.pairs, null);
  assert.equal(byId('one-kit').hidden, true);
});
