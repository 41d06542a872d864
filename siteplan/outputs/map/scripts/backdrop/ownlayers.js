/* The user's own layers: areas, lines and points, and their names. */
import { styleOf } from '../base/core.js';
import { eachCopy, worldX, worldY } from '../base/geo.js';
import { outlined } from './labels.js';
import { traceAll } from './lines.js';

/** The colour of a layer on the page as it is lit: `bright` or `dark`. */
export const colorOf = (layer, mode) => layer.colors[mode];

/** Draw one layer. */
export function drawOverlay(ctx, layer, frame, mode) {
  const color = colorOf(layer, mode);
  if (layer.fills.length) {
    traceAll(ctx, layer.fills, frame);
    ctx.globalAlpha = 0.1;
    ctx.fillStyle = color;
    ctx.fill('evenodd');
    ctx.globalAlpha = 1;
  }
  traceAll(ctx, layer.strokes, frame);
  twice(ctx, color, 2);
  drawSpots(ctx, layer, frame, color);
}

function twice(ctx, color, width) {
  ctx.lineJoin = 'round';
  for (const [c, w] of [[styleOf('--contour-halo'), width + 2], [color, width]]) {
    ctx.strokeStyle = c;
    ctx.lineWidth = w;
    ctx.stroke();
  }
}

/** Points as small crosses: no marker of a site looks like that. */
function drawSpots(ctx, layer, frame, color) {
  ctx.beginPath();
  eachCopy(frame, (dx) => {
    for (let k = 0; k < layer.spots.length; k += 2) {
      const px = layer.spots[k] * frame.size + dx;
      const py = layer.spots[k + 1] * frame.size - frame.top;
      ctx.moveTo(px - 5, py);
      ctx.lineTo(px + 5, py);
      ctx.moveTo(px, py - 5);
      ctx.lineTo(px, py + 5);
    }
  });
  twice(ctx, color, 2);
}

/** Names of the user's shapes, as far as they do not lie on one another. */
export function nameShapes(ctx, frame, overlays) {
  const taken = [];
  ctx.font = 'italic 12px system-ui, sans-serif';
  ctx.textAlign = 'left';
  ctx.textBaseline = 'middle';
  overlays.forEach((layer) => {
    for (const [lon, lat, text] of layer.labels) {
      eachCopy(frame, (dx) => {
        const px = worldX(lon) * frame.size + dx + 8;
        const py = worldY(lat) * frame.size - frame.top;
        if (px < 0 || px > frame.width || py < 0 || py > frame.height) return;
        const short = text.length > 40 ? `${text.slice(0, 39)}…` : text;
        const box = [px, py, px + ctx.measureText(short).width, py];
        const clash = ([l, t, r]) => l < box[2] && r > box[0] && Math.abs(t - py) < 15;
        if (taken.some(clash)) return;
        taken.push(box);
        outlined(ctx, short, px, py);
      });
    }
  });
}
