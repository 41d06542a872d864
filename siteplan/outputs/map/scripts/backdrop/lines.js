/* Lines as the page holds them, in the unit square of the map's projection, and their paths. */
import { worldX, worldY } from '../base/geo.js';

/** Lines closer than this [CSS pixels] are not told apart. */
const SKIP = 0.6;

/** Whole numbers from a text in the encoded polyline format. */
function decoded(text) {
  const numbers = [];
  let [value, shift] = [0, 0];
  for (let k = 0; k < text.length; k++) {
    const bits = text.charCodeAt(k) - 63;
    value |= (bits & 0x1f) << shift;
    shift += 5;
    if (bits >= 0x20) continue;
    numbers.push(value & 1 ? ~(value >> 1) : value >> 1);
    [value, shift] = [0, 0];
  }
  return numbers;
}

/** One arc as x, y, x, y in the unit square. */
export function arcOf(text, step) {
  const deltas = decoded(text);
  const line = new Float64Array(deltas.length);
  let [lon, lat] = [0, 0];
  for (let k = 0; k < deltas.length; k += 2) {
    lon += deltas[k];
    lat += deltas[k + 1];
    line[k] = worldX(lon * step);
    line[k + 1] = worldY(lat * step);
  }
  return line;
}

/** A line with the box around it: west, north, east, south. */
export function boxed(line) {
  const box = [Infinity, Infinity, -Infinity, -Infinity];
  for (let k = 0; k < line.length; k += 2) {
    box[0] = Math.min(box[0], line[k]);
    box[1] = Math.min(box[1], line[k + 1]);
    box[2] = Math.max(box[2], line[k]);
    box[3] = Math.max(box[3], line[k + 1]);
  }
  return { line, box };
}

/** Add one line to the path, leaving out points that fall on the same pixel. */
function trace(ctx, line, frame, dx) {
  let [lastX, lastY] = [Infinity, Infinity];
  for (let k = 0; k < line.length; k += 2) {
    const px = line[k] * frame.size + dx;
    const py = line[k + 1] * frame.size - frame.top;
    const near = Math.abs(px - lastX) < SKIP && Math.abs(py - lastY) < SKIP;
    if (near && k + 2 < line.length) continue;
    if (k === 0) ctx.moveTo(px, py);
    else ctx.lineTo(px, py);
    [lastX, lastY] = [px, py];
  }
}

/** Add those of the lines that can be seen, in every copy of the world, to one path. */
export function traceAll(ctx, lines, frame) {
  ctx.beginPath();
  const [north, south] = [frame.top / frame.size, (frame.top + frame.height) / frame.size];
  for (let copy = frame.first - 1; copy <= frame.last + 1; copy++) {
    const west = frame.left / frame.size - copy;
    const east = west + frame.width / frame.size;
    for (const { line, box } of lines) {
      if (box[2] < west || box[0] > east || box[3] < north || box[1] > south) continue;
      trace(ctx, line, frame, copy * frame.size - frame.left);
    }
  }
}
