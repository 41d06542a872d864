/* Around the markers: the bearing to the satellite, the disc of what is selected, the mark of doubt. */
import { styleOf } from '../base/core.js';
import { RAD } from '../base/geo.js';

/** Length of the strokes [CSS pixels]. */
const TICK = 20;

/** Where the stroke of each drawn site ends (Mercator keeps bearings); at the site where it has none. */
export const tickEnds = ({ sites, px, py }, azimuth) => sites.map((i, k) => {
  const bearing = azimuth(i);
  if (bearing === null) return [px[k], py[k]];
  return [px[k] + Math.sin(bearing * RAD) * (8 + TICK), py[k] - Math.cos(bearing * RAD) * (8 + TICK)];
});

/** Short strokes from the sites towards the satellite, that end where they are told. */
export function drawTicks(ctx, { sites, px, py }, ends) {
  ctx.beginPath();
  sites.forEach((_, k) => {
    const [dx, dy] = [ends[k][0] - px[k], ends[k][1] - py[k]];
    if (!dx && !dy) return;
    ctx.moveTo(px[k] + (dx * 8) / (8 + TICK), py[k] + (dy * 8) / (8 + TICK));
    ctx.lineTo(...ends[k]);
  });
  ctx.lineCap = 'round';
  for (const [color, width] of [['--marker-halo', 4], ['--tick', 1.8]]) {
    ctx.strokeStyle = styleOf(color);
    ctx.lineWidth = width;
    ctx.stroke();
  }
}

/** A disc behind every selected site. */
export function drawSelected(ctx, visible, { sites, px, py, scale }, selected) {
  ctx.beginPath();
  for (const k of visible) {
    if (!selected[sites[k]]) continue;
    ctx.moveTo(px[k] + 14 * scale, py[k]);
    ctx.arc(px[k], py[k], 14 * scale, 0, 2 * Math.PI);
  }
  ctx.fillStyle = styleOf('--selected');
  ctx.fill();
  ctx.strokeStyle = styleOf('--chosen');
  ctx.lineWidth = 1.6;
  ctx.stroke();
}

/** Where the mark of doubt stands beside a marker, and how large it is [CSS pixels]. */
export const DOUBT = { x: 14, y: -14, radius: 8 };

/** A question mark on a plate beside every site whose coordinates are in doubt, clear of the ring of the chosen one. */
export function drawDoubts(ctx, { sites, px, py }, doubted) {
  ctx.font = '700 12px system-ui, sans-serif';
  ctx.textAlign = 'center';
  ctx.textBaseline = 'middle';
  sites.forEach((i, k) => {
    if (!doubted[i]) return;
    const [x, y] = [px[k] + DOUBT.x, py[k] + DOUBT.y];
    ctx.beginPath();
    ctx.arc(x, y, DOUBT.radius, 0, 2 * Math.PI);
    ctx.fillStyle = '#ffffff';
    ctx.fill();
    ctx.strokeStyle = '#16191c';
    ctx.lineWidth = 1.4;
    ctx.stroke();
    ctx.fillStyle = '#16191c';
    ctx.fillText('?', x, y + 0.5);
  });
}
