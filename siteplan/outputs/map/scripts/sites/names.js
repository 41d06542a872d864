/* Names at the sites, where there is room: none lies on another, on a marker or on a bearing. */
import { styleOf } from '../base/core.js';

/** A name longer than this is cut: the tip and the card have it whole. */
const LONG = 24;
/** Half a marker, half the height of a line, and the gap between marker and name [CSS pixels]. */
const [MARKER, LINE, GAP] = [9, 8, 14];
/** The plate over the hub [CSS pixels]. */
const HUB = { half: 22, up: 34, down: 12 };

/** A name as it is written: on one line, cut where it is long. */
function short(text) {
  const line = text.replace(/[\s\p{C}]+/gu, ' ').trim();
  const letters = [...line];
  return letters.length > LONG ? `${letters.slice(0, LONG - 1).join('')}…` : line;
}

/** Boxes [left, top, right, bottom] that names keep clear of. */
function obstacles({ sites, px, py }, { ends, hubs, plates }) {
  const boxes = sites.map((_, k) => [px[k] - MARKER, py[k] - MARKER, px[k] + MARKER, py[k] + MARKER]);
  ends.forEach(([x, y], k) => boxes.push([
    Math.min(x, px[k]) - 2, Math.min(y, py[k]) - 2, Math.max(x, px[k]) + 2, Math.max(y, py[k]) + 2,
  ]));
  hubs.forEach(([x, y]) => boxes.push([x - HUB.half, y - HUB.up, x + HUB.half, y + HUB.down]));
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
 * @param {Object} around frame; ends: of the bearings, by site drawn; hubs: places of the hub; plates: boxes of all else
 * @param {function(number): string} nameOf the name of a site
 * @param {function(string): number} widthOf the width of a text [CSS pixels]
 * @returns {Array<{text: string, x: number, y: number}>} left end and middle of each
 */
export function placed(drawn, around, nameOf, widthOf) {
  const taken = obstacles(drawn, around);
  const found = [];
  for (let k = drawn.sites.length - 1; k >= 0; k--) {
    const text = short(nameOf(drawn.sites[k]));
    const width = widthOf(text);
    for (const [x, y] of text ? places(drawn.px[k], drawn.py[k], width) : []) {
      const box = [x - 2, y - LINE, x + width + 2, y + LINE];
      if (!isWhole(box, around.frame) || taken.some((other) => meet(box, other))) continue;
      taken.push(box);
      found.push({ text, x, y });
      break;
    }
  }
  return found;
}

/** Write the names: with an edge that parts them from land, sea and contours. */
export function drawNames(ctx, drawn, around, nameOf) {
  ctx.font = '600 13px system-ui, sans-serif';
  const spots = placed(drawn, around, nameOf, (text) => ctx.measureText(text).width);
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
