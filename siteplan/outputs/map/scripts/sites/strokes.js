/* Around the markers: the bearing to the satellite, and the disc of what is selected. */
import { styleOf } from '../base/core.js';
import { RAD } from '../base/geo.js';

/** Length of the strokes [CSS pixels]. */
const TICK = 20;

/** Short strokes from the sites towards the satellite (Mercator keeps bearings). */
export function drawTicks(ctx, { sites, px, py }, azimuth) {
  ctx.beginPath();
  sites.forEach((i, k) => {
    const bearing = azimuth(i);
    if (bearing === null) return;
    const [dx, dy] = [Math.sin(bearing * RAD), -Math.cos(bearing * RAD)];
    ctx.moveTo(px[k] + dx * 8, py[k] + dy * 8);
    ctx.lineTo(px[k] + dx * (8 + TICK), py[k] + dy * (8 + TICK));
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
