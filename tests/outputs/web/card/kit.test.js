import assert from 'node:assert/strict';
import test from 'node:test';
import { makePage } from '../fake.js';

makePage();
const from = (path) => import(`../../../../siteplan/outputs/map/scripts/${path}.js`);
const [{ makeStore }, { readModel }, { makeCard }, { kitText }] = await Promise.all(['base/core', 'base/data', 'card/card', 'card/verdict'].map(from));

const text = { decimals: null, unit: '' };
const model = readModel({
  count: 5,
  fields: {
    site_id: text, name: text, mount: text, mount_certainty: text, kit_source: text,
    antenna_m: { decimals: 2, unit: 'm' }, buc_w: { decimals: 1, unit: 'W' },
  },
  flags: {},
  columns: {
    site_id: { v: ['S1', 'S2', 'S3', 'S4', 'S5'] }, name: { v: ['Quay', '', '', '', ''] },
    antenna_m: { v: [120, 240, null, 180, 120], s: 2 }, buc_w: { v: [80, 40, 20, null, 15], s: 1 },
    mount: { v: ['pole', 'non_penetrating', 'pole', 'pole', ''] }, mount_certainty: { v: ['decided', 'provisional', '', '', ''] },
    kit_source: { v: ['picked', 'picked', 'none', 'none', 'installed'] },
  },
  layers: [], extra: [], sheets: null, card: [{ heading: 'Pointing', fields: [] }],
});

test('the kit in a line: sizes, mount, what is open, what stands there', () => {
  assert.deepEqual([0, 1, 2, 3, 4].map((i) => kitText(model, i)), [
    '1.2 m, 8 W, pole', '2.4 m, 4 W, non penetrating (to be surveyed)', 'No kit planned', 'No kit planned', '1.2 m, 1.5 W, no mount, installed',
  ]);
});

test('the kit is the second line of the card, beside the id', () => {
  const page = makePage();
  const store = makeStore({ chosen: -1, under: [], hubLine: false, dms: false });
  const live = { now: { failing: new Uint8Array(5) }, value: () => null, text: (name, i) => model.text(name, i), isStale: (field) => field === 'antenna_m' };
  makeCard({ ...model, column: (name) => (name === 'lat' || name === 'lon' ? () => 1 : model.column(name)) }, store, {
    live, notes: { field: () => 'notes' }, focusMap() {}, showSite() {},
  });
  page.byId('card').querySelector = () => null;
  store.set({ chosen: 0 });
  const [head] = page.byId('card').children[0].children;
  assert.deepEqual(head.children[0].textContent, 'Quay');
  assert.deepEqual(head.children[1].children.map(({ textContent }) => textContent), ['1.2 m, 8 W, pole', 'S1']);
  assert.equal(head.children[1].children[0].className, 'card-kit stale', 'a moved satellite may need other kit');
});
