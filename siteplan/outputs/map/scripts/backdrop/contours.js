/* What is filled behind the sites: the classes of one quantity, and the relief. */
import { styleOf } from '../base/core.js';
import { worldX, worldY } from '../base/geo.js';
import { traceAll } from './lines.js';

/** Spacing of the slanting lines [CSS pixels]. */
const HATCH = 12;

/** Draw a picture of the relief into its frame: south, west, north, east. */
export function drawRelief(ctx, frame, picture, [south, west, north, east]) {
  const [x0, x1] = [worldX(west), worldX(east)];
  const [y0, y1] = [worldY(north), worldY(south)];
  for (let copy = frame.first - 1; copy <= frame.last + 1; copy++) {
    ctx.drawImage(
      picture,
      (x0 + copy) * frame.size - frame.left,
      y0 * frame.size - frame.top,
      (x1 - x0) * frame.size,
      (y1 - y0) * frame.size,
    );
  }
}

/** Slanting lines over the current path: a second cue for what cannot be served. */
export function hatch(ctx, frame) {
  ctx.save();
  ctx.clip('evenodd');
  ctx.beginPath();
  // Tied to the ground, so that the lines do not swim while the map moves.
  const start = -frame.height - ((frame.left + frame.top) % HATCH) - HATCH;
  for (let x = start; x < frame.width; x += HATCH) {
    ctx.moveTo(x, 0);
    ctx.lineTo(x + frame.height, frame.height);
  }
  ctx.strokeStyle = styleOf('--contour');
  ctx.globalAlpha = 0.55;
  ctx.lineWidth = 0.8;
  ctx.stroke();
  ctx.restore();
}

/** How much of the land shows through the classes. */
export const opacity = () => Number.parseFloat(styleOf('--contour-fill'));

/** Fill one class. */
export function drawBand(ctx, band, frame) {
  traceAll(ctx, band.lines, frame);
  ctx.fillStyle = band.color;
  ctx.globalAlpha = opacity();
  ctx.fill('evenodd');
  ctx.globalAlpha = 1;
  ctx.strokeStyle = styleOf('--contour');
  ctx.lineWidth = 0.9;
  ctx.stroke();
  if (band.care) hatch(ctx, frame);
}
