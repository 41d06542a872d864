/* Labels inside the contours, clear of the sites where they can be. */
import { pixelRatio, styleOf } from '../base/core.js';
import { eachCopy, worldX, worldY } from '../base/geo.js';
import { traceAll } from './lines.js';

/** Spacing of the places tried, and of the labels of one class [CSS pixels]. */
const [TRY_X, TRY_Y, APART] = [64, 22, 330];
const CELL = 20;

/** Whether a box of this half width lies whole inside the current path. */
function holds(ctx, [px, py], half) {
  const ratio = pixelRatio();
  return [[0, 0], [-half, -9], [half, -9], [-half, 9], [half, 9]].every(
    ([dx, dy]) => ctx.isPointInPath((px + dx) * ratio, (py + dy) * ratio, 'evenodd'));
}

/** Places for labels, in rows that are set off against one another. */
function places(frame) {
  const found = [];
  let row = 0;
  for (let py = frame.inset.y + 30; py < frame.height - frame.inset.y - 20; py += TRY_Y, row++) {
    const first = frame.inset.x + 60 + (row % 2) * (TRY_X / 2);
    for (let px = first; px < frame.width - frame.inset.x - 50; px += TRY_X) found.push([px, py]);
  }
  return found;
}

/** Which cells of the canvas hold a site, so that labels keep clear of the markers. */
function cellsOfSites(frame, model) {
  const [latOf, lonOf] = [model.column('lat'), model.column('lon')];
  const cells = new Set();
  for (let i = 0; i < model.count; i++) {
    const py = worldY(latOf(i)) * frame.size - frame.top;
    if (!(py > 0 && py < frame.height)) continue;
    eachCopy(frame, (dx) => cells.add(cellOf(worldX(lonOf(i)) * frame.size + dx, py)));
  }
  return cells;
}

const cellOf = (px, py) => Math.floor(px / CELL) + 4096 * Math.floor(py / CELL);

function isClear(cells, [px, py], half) {
  for (let x = px - half - CELL / 2; x < px + half + CELL; x += CELL / 2) {
    for (const y of [py - 16, py, py + 16]) if (cells.has(cellOf(x, y))) return false;
  }
  return true;
}

/** The labels of a class: where its area has room for the text, clear of sites if it can be. */
function spotsOf(ctx, band, frame, cells) {
  const half = ctx.measureText(band.label).width / 2 + 5;
  traceAll(ctx, band.lines, frame);
  const free = places(frame).filter((place) => isClear(cells, place, half));
  const kept = apart(free, (place) => holds(ctx, place, half));
  return kept.length ? kept : apart(places(frame), (place) => holds(ctx, place, half));
}

/** Those of the places that are good and far enough from one another. */
function apart(spots, isGood) {
  const kept = [];
  for (const spot of spots) {
    const near = kept.some(([px, py]) => Math.hypot(px - spot[0], py - spot[1]) < APART);
    if (!near && isGood(spot)) kept.push(spot);
  }
  return kept;
}

/** Write the labels of every class of a layer; return the boxes that they take. */
export function writeLabels(ctx, layer, frame, model) {
  const boxes = [];
  const cells = cellsOfSites(frame, model);
  ctx.font = '600 13px system-ui, sans-serif';
  ctx.textAlign = 'center';
  ctx.textBaseline = 'middle';
  for (const band of layer.bands) {
    const half = ctx.measureText(band.label).width / 2 + 3;
    for (const [px, py] of spotsOf(ctx, band, frame, cells)) {
      outlined(ctx, band.label, px, py);
      boxes.push([px - half, py - 9, px + half, py + 9]);
    }
  }
  return boxes;
}

/** Dark text with a light edge, or the other way round on a dark map. */
export function outlined(ctx, text, px, py) {
  ctx.lineJoin = 'round';
  ctx.lineWidth = 3.5;
  ctx.strokeStyle = styleOf('--contour-halo');
  ctx.strokeText(text, px, py);
  ctx.fillStyle = styleOf('--contour-text');
  ctx.fillText(text, px, py);
}
