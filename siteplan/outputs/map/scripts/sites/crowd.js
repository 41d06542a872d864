/* Many sites on little room: what is drawn smaller, left out, or found again under the pointer. */

/** From so many drawn sites on, one marker stands for those within a dot [CSS pixels]. */
const MANY = 3000;
const DOT = 3;
/** Bearings are drawn once cells of this width [CSS pixels] hold few sites each. */
const ROOM = 84;
const FEW = 1.6;
/** Width of the grid's cells for hit testing [CSS pixels]. */
const CELL = 32;

/** Many sites on little room are drawn smaller. */
export function crowding(count, frame) {
  const room = Math.sqrt((frame.width * frame.height) / Math.max(1, count));
  return Math.max(0.6, Math.min(1, room / 22));
}

/** Number of the square cell that holds a pixel of the canvas. */
const cell = (px, py, width) => Math.floor(px / width) + 4096 * Math.floor(py / width);

/** Whether a stroke at every site could be told from its neighbours'. */
export function isRoomy({ sites, px, py }, frame) {
  const room = (frame.width / ROOM + 2) * (frame.height / ROOM + 2);
  if (sites.length > FEW * room) return false;
  return sites.length <= FEW * new Set(sites.map((_, k) => cell(px[k], py[k], ROOM))).size;
}

/** Numbers of the drawn sites that can be seen: among thousands, most lie under others. */
export function seen({ sites, px, py }, frame) {
  const all = [...sites.keys()];
  if (sites.length < MANY) return all;
  const across = Math.ceil(frame.width / DOT) + 20;
  const taken = new Uint8Array(across * (Math.ceil(frame.height / DOT) + 20));
  const spot = (k) => Math.floor((px[k] + 24) / DOT) + across * Math.floor((py[k] + 24) / DOT);
  return all.reverse().filter((k) => !taken[spot(k)] && (taken[spot(k)] = 1)).reverse();
}

/** Numbers of the drawn sites by the cell they lie in. */
export function cells(drawn) {
  const found = new Map();
  for (let k = 0; k < drawn.sites.length; k++) {
    const key = cell(drawn.px[k], drawn.py[k], CELL);
    if (found.has(key)) found.get(key).push(k);
    else found.set(key, [k]);
  }
  return found;
}

/**
 * Sites near a point of the canvas, the nearest first and on a par the topmost.
 * @param {Map} grid the drawn sites by cell
 * @param {Object} drawn the drawn sites and where they are
 * @param {{x: number, y: number}} point
 * @param {number} reach [CSS pixels]
 * @returns {number[]} sites
 */
export function sitesNear(grid, drawn, { x, y }, reach) {
  const near = [];
  for (let cx = x - reach; cx < x + reach + CELL; cx += CELL) {
    for (let cy = y - reach; cy < y + reach + CELL; cy += CELL) near.push(...(grid.get(cell(cx, cy, CELL)) ?? []));
  }
  const far = (k) => Math.round(Math.hypot(drawn.px[k] - x, drawn.py[k] - y));
  const under = [...new Set(near)].filter((k) => far(k) <= reach);
  under.sort((a, b) => far(a) - far(b) || b - a);
  return [...new Set(under.map((k) => drawn.sites[k]))];
}
