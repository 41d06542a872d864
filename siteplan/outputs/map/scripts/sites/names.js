/* Names at the sites, where there is room: none lies on another, on a marker or on a bearing. */
import { hubsOf } from './beams.js';
import { byId, styleOf } from '../base/core.js';
import { worldX, worldY } from '../base/geo.js';
import { DOUBT } from './strokes.js';

/** A name longer than this is cut: the tip and the card have it whole. */
const LONG = 24;
/** Half a marker, half the height of a line, and the gap between marker and name [CSS pixels]. */
const [MARKER, LINE, GAP] = [9, 8, 14];
/** The plate over a hub, and half of what a letter on it takes [CSS pixels]. */
const HUB = { half: 22, up: 34, down: 12, edge: 8, letter: 4.5 };

/** A name as it is written: on one line, cut where it is long. */
function short(text) {
  const line = text.replace(/[\s\p{C}]+/gu, ' ').trim();
  const letters = [...line];
  return letters.length > LONG ? `${letters.slice(0, LONG - 1).join('')}…` : line;
}

/** Boxes [left, top, right, bottom] that names keep clear of. */
function obstacles({ sites, px, py }, { ends, hubs, plates, doubted }) {
  const boxes = sites.map((_, k) => [px[k] - MARKER, py[k] - MARKER, px[k] + MARKER, py[k] + MARKER]);
  ends.forEach(([x, y], k) => boxes.push([
    Math.min(x, px[k]) - 2, Math.min(y, py[k]) - 2, Math.max(x, px[k]) + 2, Math.max(y, py[k]) + 2,
  ]));
  sites.forEach((i, k) => doubted?.[i] && boxes.push([
    px[k] + DOUBT.x - DOUBT.radius, py[k] + DOUBT.y - DOUBT.radius, px[k] + DOUBT.x + DOUBT.radius, py[k] + DOUBT.y + DOUBT.radius,
  ]));
  hubs.forEach(([x, y, letters]) => {
    const half = Math.max(HUB.half, HUB.edge + HUB.letter * letters);
    boxes.push([x - half, y - HUB.up, x + half, y + HUB.down]);
  });
  return [...boxes, ...plates];
}

/** Where a name may stand: right of its marker, left, below, above. */
const places = (x, y, width) => [
  [x + GAP, y], [x - GAP - width, y], [x - width / 2, y + GAP + LINE], [x - width / 2, y - GAP - LINE],
];

const meet = (a, b) => a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];

/** Whether a box lies whole in sight. */
const isWhole = ([left, top, right, bottom], { width, height, inset }) =>
  left >= inset.x && right <= width - inset.x && top >= inset.y && bottom <= height - inset.y;

/**
 * Where names stand: those of the sites drawn last, the worst, first.
 * @param {Object} drawn sites, px and py, from the bottom of the drawing to its top
 * @param {Object} clear frame; ends: of the bearings, by site drawn; hubs: places of the hubs, letters on their plates; doubted: by site; plates: boxes of all else
 * @param {function(number): string} nameOf the name of a site
 * @param {function(string): number} widthOf the width of a text [CSS pixels]
 * @returns {Array<{text: string, x: number, y: number}>} left end and middle of each
 */
export function placed(drawn, clear, nameOf, widthOf) {
  const taken = obstacles(drawn, clear);
  const found = [];
  for (let k = drawn.sites.length - 1; k >= 0; k--) {
    const text = short(nameOf(drawn.sites[k]));
    const width = widthOf(text);
    for (const [x, y] of text ? places(drawn.px[k], drawn.py[k], width) : []) {
      const box = [x - 2, y - LINE, x + width + 2, y + LINE];
      if (!isWhole(box, clear.frame) || taken.some((other) => meet(box, other))) continue;
      taken.push(box);
      found.push({ text, x, y });
      break;
    }
  }
  return found;
}

/** Where the hubs lie on a canvas, in each copy of the world, and the letters of their plates. */
function placesOf(hubs, frame) {
  const found = [];
  for (let copy = frame.first; copy <= frame.last; copy++) {
    for (const { lat, lon, plate } of hubs) {
      found.push([
        (worldX(lon) + copy) * frame.size - frame.left, worldY(lat) * frame.size - frame.top, plate.length,
      ]);
    }
  }
  return found;
}

/** What names keep clear of on a canvas: the hub, labels that are written there, and what lies over the map. */
export function around(map, model, labels, frame) {
  const { left, top } = map.getContainer().getBoundingClientRect();
  const [dx, dy] = [frame.inset.x - left, frame.inset.y - top];
  const over = ['panel', 'tools'].map((id) => byId(id).getBoundingClientRect())
    .map((box) => [box.left + dx, box.top + dy, box.right + dx, box.bottom + dy]);
  return { hubs: placesOf(hubsOf(model), frame), plates: [...over, ...labels], doubted: model.doubted };
}

/** Write the names: with an edge that parts them from land, sea and contours. */
export function drawNames(ctx, drawn, clear, nameOf) {
  ctx.font = '600 13px system-ui, sans-serif';
  const spots = placed(drawn, clear, nameOf, (text) => ctx.measureText(text).width);
  ctx.textAlign = 'left';
  ctx.textBaseline = 'middle';
  ctx.lineJoin = 'round';
  ctx.lineWidth = 4;
  ctx.strokeStyle = styleOf('--name-halo');
  ctx.fillStyle = styleOf('--text');
  for (const { text, x, y } of spots) {
    ctx.strokeText(text, x, y);
    ctx.fillText(text, x, y);
  }
}
