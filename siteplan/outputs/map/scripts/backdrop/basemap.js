/* Land, coast and borders behind the sites. */
import { addCanvas, CanvasLayer } from '../base/canvas.js';
import { attempt, styleOf } from '../base/core.js';
import { block } from '../base/unpack.js';
import { drawGraticule } from './graticule.js';
import { arcOf, boxed, traceAll } from './lines.js';

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

function read() {
  const raw = block('siteplan-basemap');
  const arcs = raw.arcs.map((text) => arcOf(text, raw.step_deg));
  return {
    land: raw.land.map((ring) => ringOf(ring, arcs)),
    coast: raw.coast.map((k) => boxed(arcs[k])),
    border: raw.border.map((k) => boxed(arcs[k])),
  };
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
