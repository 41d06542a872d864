/* Classes of fields that have no layer of their own, made when a reader asks for them. */
const MOST = 6;

/** 1, 2 or 5 times a power of ten, not under what is asked for. */
export function niceStep(raw) {
  const power = 10 ** Math.floor(Math.log10(raw));
  return power * [1, 2, 5, 10].find((m) => m * power >= raw * (1 - 1e-9));
}

/** Round bounds inside the range of the numbers; none where all are the same. */
export function niceBounds(values, smallest) {
  let [low, high] = [Infinity, -Infinity];
  for (const x of values) {
    if (x === null) continue;
    if (x < low) low = x;
    if (x > high) high = x;
  }
  if (!(low < high)) return [];
  const step = Math.max(niceStep((high - low) / MOST), smallest);
  const bounds = [];
  for (let k = Math.floor(low / step); k * step < high; k++) {
    const bound = Number((k * step).toPrecision(6));
    if (bound > low) bounds.push(bound);
  }
  return bounds;
}

/** The class of a number: 0 below the first bound; one on a bound belongs above it. */
export function bin(value, bounds) {
  let k = 0;
  while (k < bounds.length && value >= bounds[k]) k++;
  return k;
}

const unitOf = (unit) => (unit === '°' || !unit ? unit : ` ${unit}`);

function labels(bounds, unit) {
  if (!bounds.length) return ['All values'];
  const u = unitOf(unit);
  return [
    `below ${bounds[0]}${u}`,
    ...bounds.slice(1).map((b, k) => `${bounds[k]} to ${b}${u}`),
    `${bounds.at(-1)}${u} or more`,
  ];
}

const row = (label, color, shape, radius) => ({ label, color, shape, radius, outline: 1.2, mark: '' });

function numbers(values, field, look) {
  const bounds = niceBounds(values, 10 ** -(field.decimals ?? 0));
  const names = labels(bounds, field.unit);
  const colors = look.ramps[names.length];
  const rows = names.map((name, k) =>
    row(name, colors[k], 'circle', 4.5 + (4 * k) / Math.max(1, names.length - 1)));
  const codes = Uint8Array.from(values, (x) => (x === null ? rows.length : bin(x, bounds)));
  return { rows, codes, bounds };
}

/** The most frequent texts get a class each, the rest share the last. */
function texts(values, look) {
  const counts = new Map();
  for (const x of values) if (x) counts.set(x, (counts.get(x) ?? 0) + 1);
  const most = [...counts].sort((a, b) => b[1] - a[1]).map(([text]) => text);
  const room = look.shapes.length;
  const named = most.length > room ? most.slice(0, room - 1) : most;
  const titles = most.length > room ? [...named, 'others'] : named;
  const rows = titles.map((text, k) =>
    row(text.replaceAll('_', ' '), look.colors[k % look.colors.length], look.shapes[k], 6.5));
  const place = new Map(named.map((text, k) => [text, k]));
  const codes = Uint8Array.from(values, (x) => (x ? (place.get(x) ?? rows.length - 1) : rows.length));
  return { rows, codes, bounds: [] };
}

/**
 * A layer of any field.
 * @param {string} field its name
 * @param {Array} values of all sites
 * @param {Object} about the field as the dictionary has it
 * @param {Object} look colours and shapes
 */
export function fieldLayer(field, values, about, look) {
  const isText = about.decimals === null;
  const { rows, codes, bounds } = isText ? texts(values, look) : numbers(values, about, look);
  return { field, kind: isText ? 'names' : 'steps', bounds, codes, classes: [...rows, look.blank] };
}
