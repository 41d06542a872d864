/* Around the sites: the hub and the line to it below them, the ring of the chosen one above. */
import { beamOf, hubsOf } from './beams.js';
import { addCanvas, CanvasLayer } from '../base/canvas.js';
import { styleOf } from '../base/core.js';
import { greatCircle, worldX, worldY } from '../base/geo.js';

export function makeOverlay(map, model, store, points) {
  const below = new CanvasLayer();
  const above = new CanvasLayer();
  const hubs = hubsOf(model);
  const lat = model.column('lat');
  const lon = model.column('lon');

  /** Stroke the current path twice: light and wide, then dark and narrow. */
  function twice(ctx, color, width) {
    ctx.lineCap = 'round';
    ctx.lineJoin = 'round';
    for (const [c, w] of [['--marker-halo', width + 3], [color, width]]) {
      ctx.strokeStyle = styleOf(c);
      ctx.lineWidth = w;
      ctx.stroke();
    }
  }

  function drawRing(ctx, frame, i) {
    const [px, py] = points.pixel(i, frame);
    ctx.beginPath();
    ctx.arc(px, py, 15, 0, 2 * Math.PI);
    twice(ctx, '--chosen', 3);
  }

  /** A hub: a dot in a ring under its plate, in every copy of the world. */
  function drawHub(ctx, frame, hub) {
    for (let copy = frame.first; copy <= frame.last; copy++) {
      const px = (worldX(hub.lon) + copy) * frame.size - frame.left;
      const py = worldY(hub.lat) * frame.size - frame.top;
      ctx.beginPath();
      ctx.arc(px, py, 9, 0, 2 * Math.PI);
      twice(ctx, '--hub', 2.4);
      ctx.beginPath();
      ctx.arc(px, py, 4.5, 0, 2 * Math.PI);
      ctx.fillStyle = styleOf('--hub');
      ctx.fill();
      plate(ctx, hub.plate, px, py - 24);
    }
  }

  /** White text on a dark plate around px, py. */
  function plate(ctx, text, px, py) {
    ctx.font = '700 12px system-ui, sans-serif';
    const width = ctx.measureText(text).width + 12;
    ctx.fillStyle = styleOf('--hub');
    ctx.fillRect(px - width / 2, py - 9, width, 18);
    ctx.fillStyle = '#ffffff';
    ctx.textBaseline = 'middle';
    ctx.textAlign = 'center';
    ctx.fillText(text, px, py + 0.5);
  }

  /** The great circle from the chosen site to the hub. */
  function drawHubLine(ctx, frame, i) {
    const turn = points.latLng(i).lng - lon(i);
    const { hub } = beamOf(model, i);
    if (!hub) return;
    const circle = greatCircle([lat(i), lon(i)], [hub.lat, hub.lon], 96);
    ctx.beginPath();
    for (const [north, east] of circle) {
      ctx.lineTo(worldX(east + turn) * frame.size - frame.left, worldY(north) * frame.size - frame.top);
    }
    twice(ctx, '--hub', 2.2);
  }

  below.draw = (ctx, frame) => {
    const { chosen, hubLine } = store.state;
    if (hubLine && chosen >= 0) drawHubLine(ctx, frame, chosen);
    hubs.forEach((hub) => drawHub(ctx, frame, hub));
  };

  above.draw = (ctx, frame) => {
    const { chosen, cursor } = store.state;
    [...new Set([cursor, chosen])].filter((i) => i >= 0).forEach((i) => drawRing(ctx, frame, i));
  };

  addCanvas(map, below, 'links', 350);
  addCanvas(map, above, 'chosen', 450);
  store.on(['chosen', 'cursor'], () => above.redraw());
  store.on(['chosen', 'hubLine'], () => below.redraw());
  return { lineShown: () => Boolean(hubs.length && store.state.hubLine && store.state.chosen >= 0) };
}
