/* The markers: shapes drawn once as small pictures, then stamped for every site. */
import { el, pixelRatio, styleOf } from '../base/core.js';

/** Regular shapes: corners and the turn of the first corner from straight up. */
const POLYGONS = {
  triangle: [3, 0],
  down: [3, Math.PI],
  diamond: [4, 0],
  square: [4, Math.PI / 4],
  pentagon: [5, 0],
  hexagon: [6, 0],
  octagon: [8, Math.PI / 8],
};
/** The least radius of the ring of what is not served [CSS pixels]. */
const RING = 11.5;
/** What is out of date shows nothing of its class. */
const STALE = { shape: 'circle', radius: 5.5, outline: 1.2, mark: '' };
/** A triangle of the same radius looks smaller than a circle; this evens it out. */
const SWELL = { triangle: 1.25, down: 1.25, diamond: 1.15, square: 1.1 };

/** Trace a shape of radius r around 0, 0. */
function trace(ctx, shape, r) {
  ctx.beginPath();
  if (shape === 'bar') return ctx.rect(-r * 1.1, -r * 0.55, r * 2.2, r * 1.1);
  if (!POLYGONS[shape]) return ctx.arc(0, 0, r, 0, 2 * Math.PI);
  const [corners, turn] = POLYGONS[shape];
  const size = r * (SWELL[shape] ?? 1);
  for (let k = 0; k < corners; k++) {
    const angle = turn + (2 * Math.PI * k) / corners - Math.PI / 2;
    ctx.lineTo(size * Math.cos(angle), size * Math.sin(angle));
  }
  return ctx.closePath();
}

/** A cross, a stroke or a level bar inside the marker, so that it shows on any fill. */
function mark(ctx, kind, r) {
  const d = r * 0.5;
  ctx.beginPath();
  ctx.moveTo(-d, kind === 'level' ? 0 : d);
  ctx.lineTo(d, kind === 'level' ? 0 : -d);
  if (kind === 'cross') {
    ctx.moveTo(-d, -d);
    ctx.lineTo(d, d);
  }
  ctx.stroke();
}

/** What is not served has an octagon around it, unless its class is one already. */
const needsRing = (style, failing) => failing && style.shape !== 'octagon';

const ringRadius = ({ radius }) => Math.max(RING, radius + 5);

function ring(ctx, r) {
  for (const [color, width] of [['--marker-halo', 6], ['--stop', 3]]) {
    trace(ctx, 'octagon', r);
    ctx.strokeStyle = styleOf(color);
    ctx.lineWidth = width;
    ctx.lineJoin = 'round';
    ctx.stroke();
  }
}

/**
 * Draw one class's marker around 0, 0.
 * @param {CanvasRenderingContext2D} ctx
 * @param {Object} style a class of a layer
 * @param {{failing: boolean, scale: number}} how
 */
function draw(ctx, given, { failing, scale, stale }) {
  const style = stale ? STALE : given;
  const r = style.radius * scale;
  if (needsRing(style, failing)) ring(ctx, ringRadius(style) * scale);
  const outline = failing ? Math.max(style.outline, 2.4) : style.outline;
  ctx.lineJoin = 'round';
  ctx.lineCap = 'round';
  trace(ctx, style.shape, r);
  ctx.strokeStyle = styleOf('--marker-halo');
  ctx.lineWidth = outline + 2.2;
  ctx.stroke();
  ctx.fillStyle = style.color ?? styleOf('--stale');
  ctx.fill();
  ctx.strokeStyle = styleOf('--marker-line');
  ctx.lineWidth = outline;
  ctx.stroke();
  ctx.lineWidth = Math.max(1.6, r * 0.28);
  ctx.strokeStyle = style.mark ? '#ffffff' : styleOf('--marker-line');
  if (style.mark || style.blank) mark(ctx, style.mark || 'stroke', r);
}

/**
 * A canvas that holds one marker in its middle.
 * @returns {{canvas: HTMLCanvasElement, half: number}} half: CSS pixels to the middle
 */
function stamp(style, { failing = false, scale = 1, stale = false, ratio = pixelRatio() } = {}) {
  const reach = Math.max(style.radius * 1.3, needsRing(stale ? STALE : style, failing) ? ringRadius(style) : 0);
  const half = Math.ceil(reach * scale + 4);
  const canvas = document.createElement('canvas');
  canvas.width = canvas.height = Math.ceil(2 * half * ratio);
  const ctx = canvas.getContext('2d');
  ctx.scale(ratio, ratio);
  ctx.translate(half, half);
  draw(ctx, style, { failing, scale, stale });
  return { canvas, half };
}

/** A marker for the legend or the card. */
export function swatch(style, options) {
  const { canvas, half } = stamp(style, { ratio: 2 * pixelRatio(), ...options });
  canvas.style.width = canvas.style.height = `${2 * half}px`;
  canvas.setAttribute('aria-hidden', 'true');
  const box = el('span', { class: 'swatch' });
  box.append(canvas);
  return box;
}

/**
 * Stamp the markers of sites on a canvas; the picture of each class is made once.
 * @param {CanvasRenderingContext2D} ctx
 * @param {number[]} visible which of the drawn sites
 * @param {Object} drawn sites, px, py and scale
 * @param {Object} look classes of the layer; codes and failing of every site; stale
 */
export function drawMarkers(ctx, visible, { sites, px, py, scale }, { classes, codes, failing, stale }) {
  const stamps = new Map();
  visible.forEach((k) => {
    const i = sites[k];
    const key = codes[i] * 2 + failing[i];
    if (!stamps.has(key)) {
      stamps.set(key, stamp(classes[codes[i]], { failing: Boolean(failing[i]), scale, stale }));
    }
    const { canvas, half } = stamps.get(key);
    ctx.drawImage(canvas, px[k] - half, py[k] - half, 2 * half, 2 * half);
  });
}
