import assert from 'node:assert/strict';
import test from 'node:test';
import { makePage, told } from '../fake.js';

makePage();
const from = (path) => import(`../../../../siteplan/outputs/map/scripts/${path}.js`);
const [data, verdict, budget, changes] = await Promise.all(['base/data', 'card/verdict', 'card/budget', 'card/changes'].map(from));

const dB = { decimals: 1, unit: 'dB', group: 'link', label: 'x', meaning: 'x' };
const text = { decimals: null, unit: '', group: 'link', label: 'x', meaning: 'x' };
const CLASSES = ['below 0 dB: fails', '0 to 1 dB, under the reserve', '1 dB or more', 'none'].map((label, k) => ({
  label, color: '#000', shape: 'circle', radius: 6, outline: 1, mark: '', blank: k === 3,
}));
const model = data.readModel({
  count: 3,
  fields: {
    margin_db: dB, margin_after_reserve_db: dB, margin_1_2_m_db: dB, limiting_direction: text, margin_class: text,
    antenna_m: { ...dB, unit: 'm' }, buc_w: { ...dB, unit: 'W' },
  },
  columns: {
    margin_db: { v: [14, 3, null], s: 1 }, margin_after_reserve_db: { v: [4, -7, null], s: 1 },
    margin_1_2_m_db: { v: [14, 3, null], s: 1 }, limiting_direction: { v: ['inbound', 'outbound', ''] },
    flags: { c: '' }, antenna_m: { c: 1.2 }, buc_w: { v: [2, 2, 2] }, margin_class: { v: ['1 dB or more', '0 to 1 dB', ''] },
  },
  layers: [{ field: 'margin_db', kind: 'verdict', bounds: [0, 1], codes: '213', classes: CLASSES }],
  rules: { min_elevation_deg: 10, reserve_db: 1 }, extra: [], sheets: null, flags: {},
});
const live = {
  now: { failing: [0, 0, 1], codes: [[2, 1, 3]], estimate: null, angles: null },
  text: model.text, isStale: () => false,
};
const words = (elements) => elements.flatMap((element) => told(element)).join(' ');

test('the card says what the reserve leaves of the margin, the first thing', () => {
  const said = words(verdict.verdict(model, { target: null, satellite: null }, live, 0));
  assert.match(said, /Margin 1\.4 dB, 0\.4 dB after reserve, limited by inbound/);
  const short = words(verdict.verdict(model, { target: null, satellite: null }, live, 1));
  assert.match(short, /Margin 0\.3 dB, -0\.7 dB after reserve, limited by outbound/);
});

test('what another antenna would give is told with the reserve taken off too', () => {
  assert.match(words(budget.otherAntennas(model, 0)), /1\.4 dB, 0\.4 dB after reserve/);
});

test('an estimate has its own margin after the reserve, and the word of its own class', () => {
  const found = changes.withRules({ margin: [2.5, 0.5, null] }, model);
  assert.deepEqual(found.after, [1.5, -0.5, null]);
  assert.deepEqual(found.word, ['1 dB or more', '0 to 1 dB, under the reserve', '']);
});

test('a site without kit has no class of its own, whatever the margin of what was tried', () => {
  const bare = { ...model, column: (name) => (name === 'buc_w' ? (i) => (i === 1 ? null : 2) : model.column(name)) };
  const estimate = { margin: [2.5, 0.5, null] };
  assert.deepEqual(changes.withRules(estimate, bare).word, ['1 dB or more', undefined, '']);
  const everywhere = changes.withRules(estimate, bare, { everywhere: true });
  assert.deepEqual(everywhere.word, ['1 dB or more', '0 to 1 dB, under the reserve', '']);
});
