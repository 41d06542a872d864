/*
 * Every part of the page that can be made without a browser, as it was when it was last looked at and found right: elements
 * with their words, and what is asked of the canvas. A part that should change fails once; SITEPLAN_KEEP=1 keeps it
 * anew in kept/, and the difference in the commit is what is looked at.
 */
import assert from 'node:assert/strict';
import { readFileSync, writeFileSync } from 'node:fs';
import { env } from 'node:process';
import test from 'node:test';
import { makeMap, makePage, Point, recorder, told } from './fake.js';

const page = makePage();
const { byId } = page;
const { document } = globalThis;
const from = (path) => import(`../../../siteplan/outputs/map/scripts/${path}.js`);
const [core, data, keys, dialogs, rows, legend, totals, finder] = await Promise.all([
  'base/core', 'base/data', 'base/keys', 'base/dialogs', 'choose/rows', 'sites/legend', 'choose/totals', 'choose/finder',
].map(from));
const [budget, groups, notes, place, verdict, skyplot, markers, strokes, overlay] = await Promise.all([
  'card/budget', 'card/groups', 'card/notes', 'card/place', 'card/verdict', 'card/skyplot', 'sites/markers', 'sites/strokes', 'sites/overlay',
].map(from));
const [contours, panel, graticule, labels, own, lines, basemap, selecting, asked] = await Promise.all([
  'backdrop/contours', 'backdrop/coveragepanel', 'backdrop/graticule', 'backdrop/labels', 'backdrop/ownlayers', 'backdrop/lines',
  'backdrop/basemap', 'choose/selection', 'choose/asked',
].map(from));
const [backdrops, coverages, selects, pointers, movings, sitesAt, look] = await Promise.all([
  'backdrop/backdrop', 'backdrop/coverage', 'choose/select', 'sites/pointer', 'sites/moves', 'sites/points', 'base/look',
].map(from));

function same(name, parts) {
  const path = new URL(`kept/${name}.txt`, import.meta.url);
  const text = `${parts.join('\n')}\n`;
  if (env.SITEPLAN_KEEP) writeFileSync(path, text);
  assert.deepEqual(text.split('\n'), readFileSync(path, 'utf8').split('\n'));
}

const style = (label, shape, more = {}) => ({ label, color: `#${label}`, shape, radius: 6.5, outline: 1.2, mark: '', ...more });
const field = (label, unit, decimals, meaning = `${label}.`) => ({ label, unit, decimals, meaning, group: 'link' });
const FIELDS = {
  site_id: field('Site', '', null), name: field('Name', '', null), margin_db: field('Margin', 'dB', 1),
  limiting_direction: field('Limited by', '', null), elevation_deg: field('Elevation', '°', 2), antenna_m: field('Antenna', 'm', 2),
  buc_w: field('BUC', 'W', 1), mount: field('Mount', '', null), flags: field('Flags', '', null), lat: field('Latitude', '°', 6),
  lon: field('Longitude', '°', 6), flag_notes: field('Notes', '', null), group: field('Group', '', null),
  no_fit_reason: field('Nothing fits', '', null), next_antenna_m: field('Next', 'm', 1), next_antenna_margin_db: field('With it', 'dB', 1),
  margin_1_2_m_db: field('With 1.2 m', 'dB', 1), margin_2_4_m_db: field('With 2.4 m', 'dB', 1), azimuth_true_deg: field('Azimuth', '°', 2),
};
const CLASSES = [
  style('a', 'circle'), style('b', 'triangle', { mark: 'cross' }), style('c', 'octagon', { stop: true, mark: 'level' }),
  style('d', 'bar', { blank: true, color: null }),
];

function makeModel(more = {}) {
  const v = (...values) => ({ v: values });
  return data.readModel({
    heading: 'Three posts', facts: [['Sites', '3'], ['Target', '99.5 %']], count: 3, fields: FIELDS,
    assumptions: [{ key: 'rules.reserve_db', value: '1', unit: 'dB', meaning: 'Left over' }, { key: 'hub.lat', value: 'not given', unit: '', meaning: 'Hub' }],
    flags: { low: { severity: 'stop', meaning: 'Too low' }, rainy: { severity: 'warn', meaning: 'Heavy rain' } },
    columns: {
      site_id: v('S2', 'S10', 's3'), name: v('North post', '', 'Quay'), margin_db: { v: [24, -13, null], s: 1 },
      limiting_direction: v('inbound', 'outbound', ''), elevation_deg: { v: [4321, 1234, null], s: 2 }, antenna_m: v(1.2, 2.4, null),
      buc_w: v(3, 4, null), mount: v('pole', 'non_penetrating', 'pole'), flags: v('', 'rainy;odd', 'low'), lat: v(48.25, -33.9, 86),
      lon: v(16.3, 18.4, -170.5), flag_notes: v('', 'It pours: no cover.', ''), group: v('b', 'a', 'b'),
      no_fit_reason: v('', 'no cover', 'x'.repeat(50)), next_antenna_m: v(1.8, null, null), next_antenna_margin_db: { v: [51, null, null], s: 1 },
      margin_1_2_m_db: { v: [24, -40, null], s: 1 }, margin_2_4_m_db: { v: [80, -13, null], s: 1 }, azimuth_true_deg: v(190.5, 0.25, null),
      outbound_clear_es_n0_db: v(11.5, 9, null), outbound_fade_margin_db: v(6, 2, null), outbound_margin_db: v(2.4, -1.3, null),
      inbound_clear_es_n0_db: v(12.5, 8, null), inbound_fade_margin_db: v(7, 3, null), inbound_margin_db: v(3.4, 1.3, null),
    },
    budget: [130, 6, 20, 10, 140, 9, 21, 11, 100, 4, 12, 7, 110, 5, 13, 8, ...Array(8).fill(null)],
    thresholds_db: { outbound: 1, inbound: 0.7 },
    layers: [
      { field: 'margin_db', kind: 'verdict', bounds: [0], codes: '021', classes: CLASSES },
      { field: 'elevation_deg', kind: 'steps', bounds: [20], codes: '103', classes: CLASSES.slice(0, 4) },
    ],
    rules: { min_elevation_deg: 10, reserve_db: 1 }, extra: [{ label: 'contact', v: ['Ann', '', 'Bo'] }], sheets: null,
    horizon: Array.from({ length: 24 }, (_, k) => (k < 8 ? k : k < 16 ? null : 5)), view: [-34, -171, 86, 19], hub: { lat: 50.1, lon: 8.7 },
    card: [{ heading: 'Pointing', fields: ['azimuth_true_deg', 'elevation_deg'] }], tiles: '',
    look: { blank: CLASSES[3], ramps: {}, colors: [], shapes: [] }, ...more,
  });
}

const model = makeModel();
const live = {
  now: { failing: [0, 1, 1], codes: [[0, 2, 1], [1, 0, 3]], order: [2, 1, 0], angles: false, estimate: false },
  value: (name, i) => model.column(name)(i), text: (name, i) => model.text(name, i), isStale: () => false,
};
const whatIf = { ...live, now: { ...live.now, angles: true, estimate: true }, isStale: (name) => name === 'margin_db' };
const makeState = (more = {}) => core.makeStore({
  layer: 0, chosen: -1, cursor: -1, selected: new Uint8Array(3), selectedCount: 0, selection: 0, target: null, satellite: null,
  sortBy: '', sortDown: false, table: false, dms: false, shortcuts: true, hubLine: false, tool: '', bearings: 'drawn', mode: 'bright', under: [], labels: [], names: false, ...more,
});
const SITES = [0, 1, 2];
const FRAME = { size: 1024, left: 200.5, top: 100.25, width: 600, height: 400, first: 0, last: 0, inset: { x: 60, y: 40 } };
const all = (nodes) => nodes.flatMap((node) => told(node));
const drawnOn = (draw, options) => {
  const ctx = recorder(options);
  draw(ctx);
  return ctx.notes;
};

test('the card: verdict, place, flags, groups, budget, antennas', () => {
  const store = makeState({ target: 99.9, satellite: 10 });
  same('card', SITES.flatMap((i) => [
    ...all(verdict.verdict(model, makeState().state, live, i)), ...all(verdict.verdict(model, store.state, whatIf, i)),
    ...all(verdict.verdict(model, store.state, { ...whatIf, now: { ...whatIf.now, angles: false } }, i)),
    ...all(verdict.flags(model, { now: {} }, i)), ...all(place.coordinates(model, { dms: false }, i)), ...all(place.coordinates(model, { dms: true }, i)),
    ...all(groups.group(model, live, { heading: 'Link', fields: ['margin_db', 'mount', 'no_fit_reason'] }, i)),
    ...all(groups.group(model, whatIf, { heading: 'More: Link', fields: ['margin_db', 'mount', 'no_fit_reason'] }, i)),
    ...all(groups.extras(model, i)), ...all(budget.drawBudget(model, i)), ...all(budget.otherAntennas(model, i)),
  ]));
  assert.deepEqual(verdict.verdict({ ...model, layers: [] }, store.state, live, 0), []);
});

test('the sky: at both hemispheres, below the horizon, overhead', () => {
  same('sky', [
    ...SITES.flatMap((i) => all(place.sky(model, live, i))),
    ...told(skyplot.drawSky({ lat: 0, azimuth: null, elevation: 90, horizon: null })),
  ]);
});

test('notes are kept, told and written', () => {
  const kept = notes.makeNotes(model);
  const box = kept.field(1);
  const [area] = box.all().filter(({ tag }) => tag === 'textarea');
  area.value = 'A crane.';
  area.fire('input');
  same('notes', [...told(box), JSON.stringify([...page.kept]), JSON.stringify(kept.rows())]);
  assert.equal(notes.makeNotes(model).field(1).all().find(({ tag }) => tag === 'textarea').value, 'A crane.');
  area.value = '';
  area.fire('input');
  assert.equal(page.kept.size, 0);
});

test('the dialogs: heading, facts, what was assumed', () => {
  const { open } = dialogs.makeDialogs(model, makeState());
  same('dialogs', [document.title, byId('heading').textContent, ...told(byId('facts')), ...told(byId('assumed-list'))]);
  open('help');
  assert.equal(byId('help').attributes.open, '');
  for (const id of ['open-assumed', 'view-assumed']) {
    byId('assumed').attributes = {};
    byId(id).click();
    assert.equal(byId('assumed').attributes.open, '', id);
  }
  byId('help').attributes = {};
  byId('open-help').click();
  assert.equal(byId('help').attributes.open, '');
  dialogs.makeDialogs(makeModel({ assumptions: [] }), makeState());
  assert.deepEqual(told(byId('assumed-list')).slice(1), ['  p "Nothing: every figure was given."']);
});

test('every key does its own', () => {
  const done = [];
  const names = ['nextWorst', 'step', 'enter', 'shut', 'toggleSelected', 'find', 'tool', 'mode', 'fit', 'showAll', 'help'];
  const store = makeState();
  keys.makeKeys(model, store, Object.fromEntries(names.map((name) => [name, (x) => done.push(`${name} ${x ?? ''}`.trim())])));
  const told_ = told(byId('keys'));
  const press = (key, more = {}) => document.fire('keydown', { key, target: { matches: () => false }, ...more });
  for (const key of ['1', '2', 'w', 'N', 'p', 'Enter', 'Escape', 'x', 't', 'f', 'b', 'g', 'c', 'd', 'h', 'a', 's', '?', 'q']) {
    const before = { ...store.state };
    const event = press(key);
    const changed = Object.keys(before).filter((name) => before[name] !== store.state[name]).map((name) => `${name}: ${store.state[name]}`);
    told_.push(`${key}: ${done.splice(0).join()} ${changed.join()} ${event.defaultPrevented ?? ''}`.trim());
  }
  for (const more of [{ ctrlKey: true }, { metaKey: true }, { altKey: true }, { defaultPrevented: true }, { target: { matches: (by) => by.startsWith('input:not') } }]) {
    press('w', more);
    assert.deepEqual(done, []);
  }
  press('Enter', { target: { matches: (by) => by.startsWith('button') } });
  store.set({ shortcuts: false });
  press('w');
  assert.deepEqual(done, []);
  press('Escape');
  assert.deepEqual(done, ['shut']);
  same('keys', told_);
});

test('the table: headings and rows, sorted, chosen, selected, stale', () => {
  const went = [];
  const acts = { open: (i) => went.push(`open ${i}`), toggle: (i) => went.push(`toggle ${i}`) };
  const shown = rows.columns(model, 0);
  const plain = makeState().state;
  const busy = makeState({ chosen: 1, sortBy: 'margin_db', sortDown: true, selected: Uint8Array.of(1, 0, 0) }).state;
  const made = [[plain, live], [busy, whatIf]].flatMap(([state, now]) => [
    rows.headRow(model, state, { live: now, sortOn: (name) => went.push(`sort ${name}`) }),
    ...SITES.map((i) => rows.siteRow(i, 10 + i, shown, { model, state, live: now, ...acts })),
  ]);
  made.flatMap((node) => node.all()).forEach((node) => ['click', 'change'].forEach((name) => node.fire(name)));
  same('table', [...all(made), ...all(rows.gap(36)), ...went, ...told(rows.headRow(model, { ...busy, sortDown: false }, { live, sortOn() {} }))]);
});

test('the legend, its key and its counts', () => {
  const toggled = [];
  const filters = {
    counts: () => ({ total: [2, 1, 1, 0], left: [1, 1, 0, 0] }), isHidden: (_, code) => code === 2, toggle: (k, code) => toggled.push(`${k} ${code}`),
    shownCount: () => 2, any: () => true, clear: () => toggled.push('clear'),
  };
  const store = makeState();
  legend.makeLegend(model, store, { filters, live });
  const now = () => ['legend', 'legend-title', 'legend-meaning', 'legend-key', 'shown', 'show-all', 'layer-list', 'other-field'].flatMap((id) => told(byId(id)));
  const seen = now();
  store.set({ layer: 1, bearings: 'crowded' });
  seen.push(...now());
  Object.assign(live.now, { estimate: true });
  store.set({ target: 99, satellite: 3, bearings: 'none' });
  seen.push(...told(byId('legend-key')));
  Object.assign(live.now, { estimate: false });
  [byId('show-all'), ...byId('legend').children, ...byId('layer-list').children].forEach((node) => node.click());
  same('legend', [...seen, ...toggled, `layer ${store.state.layer}`]);
});

test('what the selection adds up to', () => {
  const store = makeState();
  const selection = selecting.makeSelection(store);
  const made = totals.makeTotals(model, store, { filters: { sites: () => [0, 2] }, selection });
  const now = () => ['selected-count', 'totals', 'clear-selection', 'export-csv'].flatMap((id) => told(byId(id)));
  const seen = now();
  byId('select-shown').click();
  seen.push(...now());
  selection.toggle(1);
  seen.push(...now(), JSON.stringify(selection.sites()), `count ${store.state.selectedCount}`);
  seen.push(JSON.stringify(made.rowsOf([1, 2])), made.tally('mount', SITES));
  byId('clear-selection').click();
  seen.push(...now(), JSON.stringify(selection.sites()));
  same('totals', seen);
});

test('finding: choices, what is asked for, what is found', () => {
  const went = [];
  const wanted = { ...asked.NOTHING };
  const filters = { wanted, shown: [1, 1, 1], set: (more) => went.push(JSON.stringify(more)), clear: () => went.push('clear') };
  const store = makeState({ filtering: 0 });
  finder.makeFinder(model, store, filters, (i) => went.push(`choose ${i}`));
  const ids = ['group', 'mount', 'antenna', 'flag', 'least', 'most', 'words', 'list', 'none'].map((name) => `find-${name}`);
  const seen = ids.flatMap((id) => told(byId(id)));
  Object.assign(wanted, { words: 's', group: 'b', mount: 'pole', antenna: '1.2', flag: 'low', least: -3, most: 4.5 });
  store.set({ filtering: 1 });
  seen.push(...ids.flatMap((id) => told(byId(id))));
  for (const id of ['group', 'mount', 'antenna', 'flag']) byId(`find-${id}`).fire('change');
  for (const [id, value] of [['least', ' '], ['most', '2.5'], ['least', 'x']]) {
    byId(`find-${id}`).value = value;
    byId(`find-${id}`).fire('input');
  }
  byId('find-words').value = ' S3 ';
  byId('find-words').fire('input');
  byId('find-words').fire('keydown', { key: 'Enter' });
  byId('find-words').fire('keydown', { key: 'a' });
  byId('find-clear').click();
  same('finder', [...seen, ...went]);
});

test('what is asked for passes the sites that it should', () => {
  const tests = asked.makeTests(model, live);
  const passing = (more) => SITES.filter((i) => tests({ ...asked.NOTHING, ...more }).every((passes) => passes(i))).join('');
  for (const [more, sites] of [
    [{}, '012'], [{ words: 'POST' }, '0'], [{ words: 's n' }, '0'], [{ words: 's1' }, '1'], [{ group: 'b' }, '02'], [{ mount: 'pole' }, '02'],
    [{ flag: 'stop' }, '12'], [{ flag: 'rainy' }, '1'], [{ flag: 'low' }, '2'], [{ antenna: 'none' }, '2'], [{ antenna: '2.4' }, '1'],
    [{ least: 2.4 }, '0'], [{ least: 2.5 }, ''], [{ most: -1.3 }, '1'], [{ most: -1.4 }, ''], [{ least: -1.3, most: 2.4 }, '01'],
  ]) assert.equal(passing(more), sites, JSON.stringify(more));
});

test('the markers: each shape, mark, ring and size', () => {
  const shapes = ['circle', 'triangle', 'down', 'diamond', 'square', 'pentagon', 'hexagon', 'octagon', 'bar'];
  const marks = ['', 'cross', 'level', 'stroke'].map((mark) => style('m', 'circle', { mark }));
  const how = [{}, { failing: true }, { stale: true }, { failing: true, stale: true, scale: 0.6, ratio: 3 }];
  const drawn = { sites: [2, 0, 1], px: [10.5, 20, 30], py: [40, 50, 60.25], scale: 0.8 };
  same('markers', [
    ...shapes.flatMap((shape) => told(markers.swatch(style('s', shape), { failing: true }))),
    ...[...marks, CLASSES[3], style('o', 'octagon', { radius: 12 })].flatMap((one) => how.flatMap((options) => told(markers.swatch(one, options)))),
    ...drawnOn((ctx) => markers.drawMarkers(ctx, SITES, drawn, { classes: CLASSES, codes: [0, 2, 1], failing: [0, 1, 0], stale: false })),
    ...drawnOn((ctx) => strokes.drawTicks(ctx, drawn, strokes.tickEnds(drawn, (i) => [0, 90, null][i]))),
    ...drawnOn((ctx) => strokes.drawSelected(ctx, [0, 2], drawn, [0, 1, 1])),
  ]);
});

test('hub, line to the hub and rings', () => {
  const map = makeMap();
  const store = makeState({ chosen: 0, cursor: 1, hubLine: true });
  const points = { pixel: (i) => [100 + i, 200 + i], latLng: (i) => ({ lng: model.column('lon')(i) + 360 }) };
  const made = overlay.makeOverlay(map, model, store, points);
  assert.equal(made.lineShown(), true);
  const seen = ['links', 'chosen'].flatMap((pane) => map.layers[pane].drawnIn({ ...FRAME, last: 1 }));
  store.set({ hubLine: false, cursor: 0 });
  assert.equal(made.lineShown(), false);
  same('overlay', [...seen, ...map.layers.links.drawnIn(FRAME), ...map.layers.chosen.drawnIn(FRAME), JSON.stringify(map.panes)]);
  assert.deepEqual([map.layers.links.redrawn, map.layers.chosen.redrawn], [1, 1]);
  overlay.makeOverlay(map, makeModel({ hub: null }), store, points);
  assert.deepEqual(map.layers.links.drawnIn(FRAME), []);
});

/** A band whose area is a box of the unit square. */
const square = (x0, y0, x1, y1) => lines.boxed(Float64Array.of(x0, y0, x1, y0, x1, y1, x0, y1, x0, y0));
const BAND = { label: '10 to 20°', color: '#aa0000', lines: [square(0.3, 0.2, 0.9, 0.6), square(0.95, 0.2, 0.96, 0.21)], care: true };
const LAYER = { name: 'elevation_deg', label: 'Elevation', unit: '°', meaning: 'How high', bands: [BAND, { ...BAND, label: 'more', care: false }] };
const OWN = {
  name: 'Roads', colors: { bright: '#00aa00', dark: '#00ff00' }, fills: [BAND.lines[0]], strokes: BAND.lines, spots: [0.4, 0.3, 0.5, 0.4],
  labels: [[0, 40, 'A road'], [1, 40.1, 'hidden by it'], [20, 30, 'x'.repeat(45)], [170, 0, 'far']],
};

test('behind the sites: classes, hatching, relief, labels, own layers', () => {
  same('behind', [
    ...LAYER.bands.flatMap((band) => drawnOn((ctx) => contours.drawBand(ctx, band, FRAME))),
    ...drawnOn((ctx) => contours.drawRelief(ctx, FRAME, 'picture', [-10, 20, 30, 60])),
    ...drawnOn((ctx) => labels.writeLabels(ctx, LAYER, FRAME, model), { within: (x) => x < 400 }),
    ...drawnOn((ctx) => own.drawOverlay(ctx, OWN, FRAME, 'bright')),
    ...drawnOn((ctx) => own.drawOverlay(ctx, { ...OWN, fills: [] }, FRAME, 'dark')),
    ...drawnOn((ctx) => own.nameShapes(ctx, FRAME, [OWN, OWN])),
    ...['bright', 'dark'].flatMap((mode) => all(panel.legendParts(LAYER, { note: 'A note.', targets: '' }, mode))),
    ...all(panel.legendParts({ ...LAYER, unit: '' }, { note: '', targets: '' }, 'bright')), ...told(panel.choices([LAYER], () => {})),
  ]);
  assert.deepEqual(panel.legendParts(undefined, {}, 'bright'), []);
});

test('the graticule from the whole world down to streets', () => {
  same('graticule', [256, 1024, 4096, 65536, 1 << 21, 1 << 26].flatMap((size) => {
    const frame = { ...FRAME, size, left: 0.55 * size - 300, top: 0.4 * size - 200 };
    return drawnOn((ctx) => graticule.drawGraticule(ctx, frame));
  }));
});

test('lines of the page, and those of them in sight', () => {
  const line = lines.arcOf('_p~iF~ps|U_ulLnnqC_mqNvxq`@', 1e-5);
  same('lines', [
    [...line].map((x) => x.toFixed(9)).join(' '), JSON.stringify(lines.boxed(line).box.map((x) => x.toFixed(9))),
    ...drawnOn((ctx) => lines.traceAll(ctx, [square(0.3, 0.2, 0.9, 0.6), square(0.3, 0.2, 0.3002, 0.2002), square(2, 2, 3, 3)], FRAME)),
    ...drawnOn((ctx) => lines.traceAll(ctx, [square(0.3, 0.2, 0.9, 0.6)], { ...FRAME, first: -1, last: 1, left: -700 })),
  ]);
});

test('land, coast and borders, and the graticule over them', () => {
  const map = makeMap();
  const store = makeState({ graticule: true });
  byId('siteplan-basemap').textContent = JSON.stringify({
    step_deg: 1e-5, arcs: ['_p~iF~ps|U_ulLnnqC_mqNvxq`@', '_c`|@_c`|@_c`|@?'], land: [[0, 1], [-2, 0]], coast: [0], border: [1],
  });
  basemap.addBasemap(map, store);
  same('basemap', [...map.layers.basemap.drawnIn(FRAME), '', ...map.layers.graticule.drawnIn(FRAME).slice(0, 9), JSON.stringify(map.panes)]);
  store.set({ graticule: false });
  assert.deepEqual(map.layers.graticule.drawnIn(FRAME), []);
  assert.equal(map.layers.graticule.redrawn, 1);
});

test('behind the sites in the panel: switches, choices, legend', () => {
  const map = makeMap();
  const store = makeState();
  const rings = ['_c`|@_c`|@_c`|@?_c`|@_c`|@'];
  const behind = {
    step_deg: 1e-5, note: 'As seen.', relief: { image: 'data:x', frame: [-10, 20, 30, 60] },
    layers: [{ ...LAYER, bands: LAYER.bands.map((band) => ({ ...band, rings })) }],
    overlays: [{ ...OWN, rings, lines: rings, points: rings[0], step_deg: 1e-5 }, { ...OWN, name: 'Towns', labels: [], rings: [], lines: [], points: '', step_deg: 1e-5 }],
  };
  const made = makeModel({ behind, tiles: 'https://tiles.example.org/{z}/{x}/{y}.png' });
  const backdrop = backdrops.makeBackdrop(map, made, store);
  coverages.makeCoverage(map, made, { store, backdrop });
  const now = () => [...map.layers.coverage.drawnIn(FRAME), ...map.layers['own-layers'].drawnIn(FRAME, { within: (x) => x < 300 })];
  const boxes = byId('backdrop').all().filter(({ tag }) => tag === 'input');
  const seen = [...told(byId('backdrop')), ...told(byId('panel')), JSON.stringify(map.panes), ...map.notes, ...now()];
  for (const box of boxes) {
    box.checked = false;
    box.fire('change');
  }
  byId('backdrop').all().filter(({ tag }) => tag === 'button').forEach((button) => button.click());
  seen.push('switched off', ...now(), String(store.state.graticule), store.state.coverage);
  store.set({ coverage: 'none' });
  seen.push(...told(byId('panel')), ...now());
  same('coverage', seen);
  assert.equal(coverages.makeCoverage(map, makeModel(), { store, backdrop }), null);
});

/** The sites on a map of their own. */
function placed(more = {}, shown = [1, 1, 1]) {
  const map = makeMap();
  const store = makeState(more);
  const found = sitesAt.makePoints(map, model, store, { filters: { shown }, live });
  const { sites } = map.layers;
  return { map, store, found, drawn: (frame = { ...FRAME, last: 1 }) => sites.drawnIn(frame) };
}

test('the sites on the map: drawn, found under a point, in view, in a shape', () => {
  const { found, drawn, map, store } = placed({ selected: Uint8Array.of(1, 0, 0), selectedCount: 1 });
  const seen = [...drawn(), store.state.bearings, JSON.stringify(SITES.map((i) => [found.latLng(i), found.pixel(i, FRAME)]))];
  const at = (i) => new Point(found.pixel(i, FRAME)[0] - 60, found.pixel(i, FRAME)[1] - 40);
  seen.push(JSON.stringify([found.drawnCount(), found.inView(), SITES.map((i) => found.hits(at(i), 11)), found.hits(new Point(0, 0), 11)]));
  const edges = [[at(0).x, at(0).y]].flatMap(([x, y]) => [
    found.within((px, py) => px === x && py === y), found.within((px) => px > x), found.within((_, py) => py > y)]);
  seen.push(JSON.stringify(edges), JSON.stringify(map.panes));
  const hidden = placed({}, [0, 1, 0]);
  seen.push(...hidden.drawn(), JSON.stringify(hidden.found.inView()));
  same('points', seen);
  store.set({ selection: 1 });
  assert.equal(map.layers.sites.redrawn, 1);
});

test('in view is what lies within the four edges', () => {
  const { map, found, drawn } = placed();
  drawn();
  const [x, y] = found.pixel(0, FRAME).map((p, k) => p - [60, 40][k]);
  const view = (left, top, right, bottom) => {
    map.getPixelBounds = () => ({ min: new Point(1000 + left, 500 + top), max: new Point(1000 + right, 500 + bottom) });
    return found.inView().includes(0);
  };
  assert.ok(view(x, y, x, y));
  for (const edges of [[x + 1, y - 9, x + 9, y + 9], [x - 9, y + 1, x + 9, y + 9], [x - 9, y - 9, x - 1, y + 9], [x - 9, y - 9, x + 9, y - 1]]) {
    assert.ok(!view(...edges), String(edges));
  }
});

test('going from site to site', () => {
  for (const wide of [true, false]) {
    const again = makePage({ wide });
    const map = makeMap();
    const store = makeState();
    again.byId('panel').offsetWidth = 300;
    again.byId('card').offsetWidth = 250;
    again.byId('card').getBoundingClientRect = () => ({ top: 500 });
    const filters = { shown: [1, 1, 0] };
    const points = { latLng: (i) => [i, 10 * i], inView: () => [2, 0, 1] };
    const moves = movings.makeMoves(map, model, store, { points, live, filters });
    const seen = [];
    const note = (name) => seen.push(`${name}: chosen ${store.state.chosen} cursor ${store.state.cursor} ${again.byId('said').textContent ?? ''} ${map.notes.splice(0).join()}`);
    for (const by of [1, 1, -1, -1, -1]) {
      moves.step(by);
      note(`step ${by}`);
    }
    moves.openCursor();
    note('open');
    for (let k = 0; k < 3; k++) {
      moves.nextWorst();
      note('worst');
    }
    moves.step(1);
    note('step');
    moves.choose(-1, []);
    note('none');
    store.set({ cursor: -1 });
    moves.step(-1);
    note('step back from none');
    assert.equal(moves.openCursor() === false, false);
    same(`moves_${wide ? 'wide' : 'narrow'}`, seen);
  }
});

test('the pointer: a tip, the place, a choice', () => {
  const again = makePage();
  const map = makeMap();
  const store = makeState();
  const went = [];
  const points = { hits: ({ x }, reach) => (x < 100 ? [] : [went.push(`reach ${reach}`) && 1, 0]) };
  pointers.makePointer(map, model, store, { points, live, choose: (i, under) => went.push(`choose ${i} of ${under}`) });
  const event = (x, y) => ({ layerPoint: { x, y }, containerPoint: { x, y }, latlng: { lat: -12.5, lng: 190.25 } });
  const seen = [];
  const note = () => seen.push(...told(again.byId('tip')), String(map.container.style.cursor), map.controls[0].textContent, ...went.splice(0));
  for (const [x, y] of [[120, 50], [500, 60], [50, 70]]) {
    map.fire('mousemove', event(x, y));
    note();
  }
  store.set({ dms: true });
  map.fire('click', event(120, 50));
  note();
  map.fire('click', event(20, 50));
  note();
  map.fire('mousemove', event(120, 50));
  map.fire('mouseout');
  note();
  map.container.fire('pointerdown', { pointerType: 'touch' });
  map.fire('mousemove', event(120, 50));
  map.fire('click', event(300, 50));
  note();
  store.set({ tool: 'box' });
  map.fire('click', event(300, 50));
  store.set({ tool: '' });
  map.fire('click', event(300, 50));
  assert.deepEqual(went, []);
  same('pointer', seen);
});

test('selecting by box and by polygon', () => {
  const again = makePage();
  const map = makeMap();
  const store = makeState();
  const added = [];
  const places = [[310, 210], [400, 250], [60, 40]];
  const points = { within: (passes) => SITES.filter((i) => passes(...places[i])) };
  selects.makeSelectTools(map, store, points, { add: (sites) => added.push(sites.join()) });
  const at = (name, x, y) => map.container.fire(name, { clientX: x, clientY: y, isPrimary: true, stopPropagation() {}, target: { closest: () => null } });
  const seen = [];
  const note = (name) => seen.push(name, ...map.layers.selecting.drawnIn(FRAME), ...added.splice(0).map((one) => `added ${one}`), `tool ${store.state.tool}`,
    ...['tool-hint', 'tool-text', 'tool-done', 'tool-box', 'tool-polygon'].flatMap((id) => told(again.byId(id))), ...map.notes.splice(0));
  const go = (name, ...steps) => {
    steps.forEach(([what, x, y]) => at(`pointer${what}`, x, y));
    note(name);
  };
  again.byId('tool-box').click();
  go('box begun', ['down', 300, 200], ['move', 350, 250]);
  go('box done', ['up', 350, 250]);
  again.byId('tool-box').click();
  go('box by a tap', ['down', 300, 200], ['up', 302, 201]);
  go('box by two', ['move', 500, 350], ['down', 500, 350], ['up', 500, 350]);
  again.byId('tool-polygon').click();
  go('polygon', ['down', 300, 200], ['up', 300, 200], ['down', 450, 200], ['up', 450, 202], ['down', 450, 320], ['up', 450, 320], ['move', 320, 330]);
  go('dragged: no corner', ['down', 10, 10], ['up', 60, 60]);
  go('closed at the first', ['down', 305, 203], ['up', 305, 203]);
  again.byId('tool-polygon').click();
  go('polygon again', ['down', 30, 20], ['up', 30, 20], ['down', 80, 20], ['up', 80, 20], ['down', 80, 90], ['up', 80, 90]);
  again.byId('tool-done').click();
  note('done');
  again.byId('tool-box').click();
  again.byId('tool-cancel').click();
  note('cancelled');
  again.byId('tool-box').click();
  again.byId('tool-box').click();
  note('put away');
  same('select', seen);
});

test('look angles and the sun at places that tell', () => {
  const round = (x) => (x === null ? 'none' : x.toFixed(6));
  const places = [[48.25, 16.3, 200, 13], [-33.9, 18.4, 4000, -20.5], [70, 13, 0, 13], [0, 13, 0, 13], [10, 100, null, 13], [5, -175, 0, 170]];
  same('look', [
    ...places.map((given) => Object.entries(look.lookAngles(...given)).map(([name, x]) => `${name} ${round(x)}`).join(' ')),
    ...[[48, 23.44, -60], [-33, -23.44, 100], [0, 0, 0]].map((given) => look.sunAt(...given).map(round).join(' ')),
    ...[[70, 23.44], [70, -23.44], [-10, 0]].map(([lat, sun]) => look.sunTrack(lat, sun, 30).map((track) => track.map((at) => at.map(round).join('/')).join(' ')).join(' | ')),
  ]);
});
