import assert from 'node:assert/strict';
import test from 'node:test';
import { makeStore } from '../../../../siteplan/outputs/map/scripts/base/core.js';
import { readModel } from '../../../../siteplan/outputs/map/scripts/base/data.js';
import { makeFilters } from '../../../../siteplan/outputs/map/scripts/choose/filters.js';
import { makeStrip } from '../../../../siteplan/outputs/map/scripts/choose/strip.js';
import { makePage } from '../fake.js';

const LINES = [
  { code: 'served', label: 'Served', items: [
    { text: '3 of 5', asks: { flag: 'served' } }, { text: '1 of them under the reserve', asks: { flag: 'served_short' } },
  ] },
  { code: 'unserved', label: 'Not served', items: [{ text: '2 (Hill, Mill)', asks: { flag: 'stop' } }] },
  { code: 'antennas', label: 'Antennas', items: [
    { text: '2 of 1.2 m', asks: { antenna: '1.2' } }, { text: '2 of 1.8 m', asks: { antenna: '1.8' } }, { text: '1 without', asks: { antenna: 'none' } },
  ] },
  { code: 'bucs', label: 'BUCs', items: [{ text: '1 of 0.5 W', asks: { buc: '0.5' } }, { text: '3 of 2 W', asks: { buc: '2' } }] },
  { code: 'mounts', label: 'Mounts', items: [
    { text: '3 pole', asks: { mount: 'pole' }, detail: '1 to be surveyed' }, { text: '1 wall', asks: { mount: 'wall' } },
    { text: '1 to be surveyed in all', asks: { survey: 'provisional' } },
  ] },
  { code: 'coordinates', label: 'Coordinates', items: [{ text: 'none to check', asks: {} }] },
];

function made({ wide = true, verdict = { sites: 5, served: 3, lines: LINES } } = {}) {
  const { byId } = makePage({ wide });
  const text = { decimals: null, unit: '' };
  const names = ['site_id', 'name', 'group', 'mount', 'mount_certainty', 'flags'];
  const model = readModel({
    count: 5, verdict,
    fields: {
      ...Object.fromEntries(names.map((name) => [name, text])),
      antenna_m: { decimals: 1, unit: 'm' }, buc_w: { decimals: 1, unit: 'W' }, margin_db: { decimals: 1, unit: 'dB' },
    },
    flags: { blocked: { severity: 'stop' }, no_fit: { severity: 'stop' }, margin_short: { severity: 'warn' } },
    columns: {
      site_id: { v: ['A', 'B', 'C', 'D', 'E'] },
      name: { v: ['', '', '', 'Hill', 'Mill'] },
      group: { c: '' },
      mount: { v: ['pole', 'pole', 'wall', 'pole', ''] },
      mount_certainty: { v: ['decided', 'provisional', 'decided', 'decided', ''] },
      flags: { v: ['', 'margin_short', '', 'blocked;margin_short', 'no_fit'] },
      antenna_m: { v: [12, 12, 18, 18, null], s: 1 },
      buc_w: { v: [5, 20, 20, 20, null], s: 1 },
      margin_db: { v: [20, 5, 30, 5, -10], s: 1 },
    },
    layers: [{ field: 'margin_db', codes: '00000', classes: [{}] }], extra: [], sheets: null,
  });
  const store = makeStore({ filtering: 0, live: 0 });
  const live = {
    now: { failing: model.failing, codes: model.layers.map(({ codes }) => codes), estimate: null, angles: null },
    value: (field, i) => model.column(field)(i),
  };
  const filters = makeFilters(model, store, live);
  byId('strip').hidden = true;
  makeStrip(model, store, { filters, live });
  const buttons = byId('strip-lines').all().filter(({ tag }) => tag === 'button');
  const button = (words) => buttons.find(({ textContent }) => textContent === words);
  return { byId, store, live, filters, buttons, button };
}

test('each count shows as many sites as it counts, says that it is pressed, and lets go again', () => {
  const { filters, buttons } = made();
  assert.equal(buttons.length, LINES.flatMap(({ items }) => items).length - 1, 'what counts none is no button');
  for (const one of buttons) {
    one.click();
    assert.equal(filters.shownCount(), Number.parseInt(one.textContent, 10), one.textContent);
    assert.deepEqual(buttons.filter(({ attributes }) => attributes['aria-pressed'] === 'true'), [one]);
    one.click();
    assert.equal(filters.shownCount(), 5);
    assert.equal(filters.any(), false);
    assert.equal(one.attributes['aria-pressed'], 'false');
  }
});

test('counts of different kinds add up, of the same kind the last one holds', () => {
  const { filters, button } = made();
  button('2 of 1.8 m').click();
  button('3 of 2 W').click();
  assert.deepEqual(filters.sites(), [2, 3]);
  button('2 of 1.2 m').click();
  assert.deepEqual(filters.sites(), [1]);
  assert.equal(button('2 of 1.8 m').attributes['aria-pressed'], 'false');
  filters.clear();
  assert.equal(button('2 of 1.2 m').attributes['aria-pressed'], 'false');
});

test('what is asked for elsewhere is pressed here too', () => {
  const { filters, button } = made();
  filters.set({ flag: 'stop', words: 'hill' });
  assert.equal(button('2 (Hill, Mill)').attributes['aria-pressed'], 'true');
  assert.equal(button('2 (Hill, Mill)').textContent, '2 (Hill, Mill)', 'counts are of the whole plan');
});

test('on a narrow screen it is one line, which opens, and folds when something is asked for', () => {
  const { byId, button } = made({ wide: false });
  const [opener, short] = [byId('strip-open'), byId('strip-short')];
  const open = () => [opener.attributes['aria-expanded'], byId('strip').classes.has('open')];
  assert.equal(short.textContent, 'Served 3 of 5 · Not served 2');
  opener.click();
  assert.deepEqual(open(), ['true', true]);
  button('1 wall').click();
  assert.deepEqual(open(), ['false', false]);
  assert.equal(short.textContent, '✓ 1 wall');
  assert.equal(globalThis.document.activeElement, opener);
  button('1 wall').click();
  assert.equal(short.textContent, 'Served 3 of 5 · Not served 2');
});

test('on a wide screen the focus stays where it is', () => {
  const { button } = made();
  button('1 wall').focus();
  button('1 wall').click();
  assert.equal(globalThis.document.activeElement, button('1 wall'));
});

test('it says where the map shows some of the sites, or a what-if', () => {
  const whole = made();
  assert.equal(whole.byId('strip-note').textContent, '');
  const { byId, store, live } = made({ verdict: { sites: 90, served: 3, lines: LINES } });
  assert.equal(byId('strip-note').textContent, 'Counted over all 90 sites of the plan; the map shows 5 of them.');
  live.now.estimate = {};
  store.set({ live: 1 });
  assert.match(byId('strip-note').textContent, /Counts are the plan’s; the map shows a what-if\.$/);
  live.now.estimate = null;
  store.set({ live: 2 });
  assert.doesNotMatch(byId('strip-note').textContent, /what-if/);
});

test('a page without a verdict has no strip', () => {
  const { byId, buttons } = made({ verdict: null });
  assert.equal(byId('strip').hidden, true);
  assert.deepEqual(buttons, []);
});
