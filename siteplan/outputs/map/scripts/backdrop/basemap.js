/* Land, coast, borders and the graticule behind the sites. */
import { attempt, styleOf } from '../base/core.js';
import { RAD, spoken, worldX, worldY, wrapLon } from '../base/geo.js';
import { block } from '../base/unpack.js';
import { addCanvas, CanvasLayer } from '../base/canvas.js';

/** Lines closer than this [CSS pixels] are not told apart. */
const SKIP = 0.6;
const STEPS = [30, 10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01];

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

/** Join arcs into one ring whose x runs on without a jump. */
function ringOf(parts, arcs) {
  const points = [];
  for (const part of parts) {
    const arc = part >= 0 ? arcs[part] : backwards(arcs[~part]);
    const shift = points.length ? Math.round(points[points.length - 2] - arc[0]) : 0;
    for (let k = 0; k < arc.length; k += 2) points.push(arc[k] + shift, arc[k + 1]);
  }
  return boxed(Float64Array.from(points));
}

function backwards(arc) {
  const turned = new Float64Array(arc.length);
  for (let k = 0; k < arc.length; k += 2) {
    turned[k] = arc[arc.length - 2 - k];
    turned[k + 1] = arc[arc.length - 1 - k];
  }
  return turned;
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

function read() {
  const raw = block('siteplan-basemap');
  const arcs = raw.arcs.map((text) => arcOf(text, raw.step_deg));
  return {
    land: raw.land.map((ring) => ringOf(ring, arcs)),
    coast: raw.coast.map((k) => boxed(arcs[k])),
    border: raw.border.map((k) => boxed(arcs[k])),
  };
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

function stroke(ctx, lines, frame, color, width) {
  traceAll(ctx, lines, frame);
  ctx.strokeStyle = styleOf(color);
  ctx.lineWidth = width;
  ctx.lineJoin = 'round';
  ctx.stroke();
}

function drawWorld(ctx, world, frame) {
  ctx.fillStyle = styleOf('--sea');
  ctx.fillRect(0, 0, frame.width, frame.height);
  traceAll(ctx, world.land, frame);
  ctx.fillStyle = styleOf('--land');
  ctx.fill('evenodd');
  stroke(ctx, world.border, frame, '--border', 0.8);
  stroke(ctx, world.coast, frame, '--coast', 1.3);
}

/** Spacing of the graticule [degree], for lines some 130 pixels apart. */
const spacing = (frame) => STEPS.find((s, k) => (s * frame.size) / 360 < 200 || !STEPS[k + 1]);

const latitude = (y) => (Math.atan(Math.sinh(Math.PI * (1 - 2 * y))) / RAD);

/** Meridians and parallels in sight, as [degrees, pixel]. */
function graticule(frame) {
  const step = spacing(frame);
  const lonAt = (px) => ((px + frame.left) / frame.size - 0.5) * 360;
  const latAt = (py) => latitude(Math.max(0, Math.min(1, (py + frame.top) / frame.size)));
  const every = (low, high) => {
    const list = [];
    for (let k = Math.ceil(low / step); k * step <= high; k++) list.push(k * step);
    return list;
  };
  return {
    decimals: step < 0.1 ? 2 : step < 1 ? 1 : 0,
    meridians: every(lonAt(0), lonAt(frame.width)).map((lon) => [
      lon,
      worldX(lon) * frame.size - frame.left,
    ]),
    parallels: every(latAt(frame.height), latAt(0)).map((lat) => [
      lat,
      worldY(lat) * frame.size - frame.top,
    ]),
  };
}

function drawGraticule(ctx, frame) {
  const { decimals, meridians, parallels } = graticule(frame);
  ctx.beginPath();
  for (const [, px] of meridians) {
    ctx.moveTo(Math.round(px) + 0.5, 0);
    ctx.lineTo(Math.round(px) + 0.5, frame.height);
  }
  for (const [, py] of parallels) {
    ctx.moveTo(0, Math.round(py) + 0.5);
    ctx.lineTo(frame.width, Math.round(py) + 0.5);
  }
  ctx.strokeStyle = styleOf('--graticule');
  ctx.lineWidth = 1;
  ctx.stroke();
  labelGraticule(ctx, frame, { decimals, meridians, parallels });
}

function labelGraticule(ctx, frame, { decimals, meridians, parallels }) {
  ctx.font = '12px system-ui, sans-serif';
  const write = (text, px, py) => {
    ctx.lineWidth = 3;
    ctx.strokeStyle = styleOf('--land');
    ctx.strokeText(text, px, py);
    ctx.fillStyle = styleOf('--graticule-text');
    ctx.fillText(text, px, py);
  };
  ctx.textBaseline = 'top';
  ctx.textAlign = 'left';
  for (const [lon, px] of meridians) {
    write(spoken(wrapLon(lon), 'EW', decimals), px + 4, frame.inset.y + 4);
  }
  ctx.textBaseline = 'bottom';
  ctx.textAlign = 'right';
  for (const [lat, py] of parallels) {
    write(spoken(lat, 'NS', decimals), frame.width - frame.inset.x - 8, py - 3);
  }
}

/** Add the basemap to the map. */
export function addBasemap(map, store) {
  const world = attempt('the basemap', read) ?? { land: [], coast: [], border: [] };
  const layer = new CanvasLayer();
  const lines = new CanvasLayer();
  layer.draw = (ctx, frame) => drawWorld(ctx, world, frame);
  lines.draw = (ctx, frame) => store.state.graticule && drawGraticule(ctx, frame);
  addCanvas(map, layer, 'basemap', 200);
  addCanvas(map, lines, 'graticule', 300);
  store.on(['graticule'], () => lines.redraw());
}
