/* How the shown layer's values are spread over the sites: drag over the bars to filter by them. */
import { byId, isWide, svg } from '../base/core.js';
import { binOf, edge, fill, makeBins, rangeOf } from './bins.js';
import { askedOf, asking } from './ranges.js';

/** The drawing: width, height of the bars, and of all with the figures below [units]. */
const [WIDTH, BARS, HEIGHT] = [300, 64, 86];
/** How wide a character of the figures below is, and the gap between two of them [units]. */
const [LETTER, GAP] = [6.6, 5];
/** The least difference of two estimated values [dB]: they are not rounded as the plan's are. */
const ESTIMATED = 0.01;

const number = (text) => (text.trim() === '' || !Number.isFinite(Number(text)) ? null : Number(text));

/** A line or a bar. */
const line = (x, has = {}) => svg('line', { x1: x, x2: x, y1: 0, y2: BARS, ...has });
const bar = (x, top, width, height, has) => svg('rect', { x, y: top, width: Math.max(0.5, width), height, ...has });

/** One bin: all its sites in outline, those shown filled by their class, and its figures. */
function drawBin(bins, k, { all, byClass }, { most, classes, unit }) {
  const width = WIDTH / bins.count;
  const scale = BARS / most;
  const bars = [bar(k * width + 0.5, BARS - all[k] * scale, width - 1, all[k] * scale, { class: 'bin-all' })];
  let top = BARS;
  byClass[k].forEach((count, code) => {
    if (!count) return;
    top -= count * scale;
    bars.push(bar(k * width + 0.5, top, width - 1, count * scale, { class: 'bin', fill: classes[code].color ?? 'none' }));
  });
  const count = byClass[k].reduce((sum, n) => sum + n, 0);
  const from = k === 0 && bins.below ? 'below' : edge(bins, k);
  const to = k === bins.count - 1 && bins.above ? 'more' : edge(bins, k + 1);
  const ends = from === 'below' ? `below ${to}` : `${from} to ${to}`;
  return svg('g', {}, [...bars, svg('title', { text: `${ends}${unit}: ${count} of ${all[k]}` })]);
}

/** A figure below the bars, inside the drawing, and the room that it takes. */
function figure(at, text) {
  const half = (text.length * LETTER) / 2;
  const middle = Math.max(half, Math.min(WIDTH - half, at));
  return { text, middle, from: middle - half - GAP / 2, to: middle + half + GAP / 2 };
}

/** Figures below the bars: the class bounds, and the ends that leave room. */
function drawScale(bins, bounds, unit) {
  const x = (value) => ((value - bins.start) / (bins.step * bins.count)) * WIDTH;
  const ends = [edge(bins, 0), edge(bins, bins.count)];
  const inside = bounds.filter((b) => b > ends[0] && b < ends[1]);
  const written = [];
  for (const value of [...inside, ...ends]) {
    const one = figure(x(value), `${value}${value === ends[1] ? unit : ''}`);
    if (written.every((other) => one.to <= other.from || one.from >= other.to)) written.push(one);
  }
  return [
    ...inside.map((b) => line(x(b), { class: 'bin-bound' })),
    svg('line', { x1: 0, x2: WIDTH, y1: BARS, y2: BARS, class: 'bin-floor' }),
    ...written.map(({ middle, text }) => svg('text', {
      x: middle, y: BARS + 16, 'text-anchor': 'middle', class: 'bin-figure', text,
    })),
  ];
}

/** The part that is asked for, behind the bars. */
function drawRange(bins, [least, most]) {
  if (least === null && most === null) return [];
  const x = (value, open) => (value === null ? open : Math.max(0, Math.min(WIDTH, ((value - bins.start) / (bins.step * bins.count)) * WIDTH)));
  const [from, to] = [x(least, 0), x(most, WIDTH)];
  return [bar(from, 0.75, Math.max(2, to - from), BARS - 0.75, { class: 'bin-range' })];
}

export function makeHistogram(model, store, { filters, live }) {
  const box = byId('spread');
  const frame = byId('spread-drawing');
  const [least, most] = ['spread-least', 'spread-most'].map(byId);
  /** Values and bins of a layer, as things stood at some count of changes. */
  let kept = { key: '' };
  /** The bin where a drag began. */
  let from = null;

  const field = () => model.layers[store.state.layer].field;
  const isNumeric = (name) => model.fields[name].decimals !== null && !live.isStale(name);
  const hair = () => (live.now.estimate ? ESTIMATED : 10 ** -model.fields[field()].decimals);

  function measured() {
    const key = `${store.state.layer} ${store.state.live}`;
    if (kept.key !== key) {
      const name = field();
      const values = Array.from({ length: model.count }, (_, i) => live.value(name, i));
      kept = { key, values, bins: makeBins(values, 10 ** -model.fields[name].decimals) };
    }
    return kept;
  }

  function draw() {
    const { layer } = store.state;
    const { classes, bounds } = model.layers[layer];
    const { values, bins } = measured();
    if (!bins) return frame.replaceChildren();
    const { label, unit } = model.fields[field()];
    const found = fill(bins, values, live.now.codes[layer], { shown: filters.shown, classes: classes.length });
    const looks = { most: Math.max(...found.all), classes, unit: unit && (unit === '°' ? unit : ` ${unit}`) };
    const range = askedOf(filters.wanted, field());
    const drawing = svg('svg', {
      viewBox: `0 0 ${WIDTH} ${HEIGHT}`, class: 'spread-bars', role: 'img',
      'aria-label': `Histogram of ${label}: ${values.filter((x) => x !== null).length} sites between ${edge(bins, 0)} and ${edge(bins, bins.count)}${looks.unit}, at most ${looks.most} in a bar`,
    }, [
      ...drawRange(bins, range),
      ...Array.from({ length: bins.count }, (_, k) => drawBin(bins, k, found, looks)),
      ...drawScale(bins, bounds, looks.unit),
    ]);
    return frame.replaceChildren(drawing);
  }

  /** Show in the boxes what is asked for, whoever asked. */
  function mirror() {
    const range = askedOf(filters.wanted, field());
    [least, most].forEach((input, k) => {
      if (document.activeElement !== input) input.value = String(range[k] ?? '');
    });
    byId('spread-clear').disabled = range.every((end) => end === null);
    byId('spread-unit').textContent = model.fields[field()].unit ? `to [${model.fields[field()].unit}]` : 'to';
  }

  function show() {
    box.hidden = !isNumeric(field());
    if (box.hidden) return;
    mirror();
    if (box.open) draw();
  }

  const ask = (range) => filters.set(asking(filters.wanted, field(), range));

  /** The bin under the pointer. */
  function under(event) {
    const { bins } = measured();
    const { left, width } = frame.getBoundingClientRect();
    return binOf(bins, bins.start + ((event.clientX - left) / width) * bins.step * bins.count);
  }

  function brush(event) {
    const { bins } = measured();
    ask(rangeOf(bins, from, under(event), hair()));
  }

  frame.addEventListener('pointerdown', (event) => {
    if (!measured().bins || event.button) return;
    from = under(event);
    frame.setPointerCapture(event.pointerId);
    brush(event);
  });
  frame.addEventListener('pointermove', (event) => from !== null && brush(event));
  ['pointerup', 'pointercancel'].forEach((name) => frame.addEventListener(name, () => { from = null; }));
  [least, most].forEach((input) => input.addEventListener('input', () => ask([number(least.value), number(most.value)])));
  byId('spread-clear').addEventListener('click', () => ask([null, null]));
  box.addEventListener('toggle', show);
  store.on(['layer', 'filtering', 'mode'], show);
  box.open = isWide();
  show();
}
