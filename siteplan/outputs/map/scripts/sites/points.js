/* The sites: one canvas, recoloured when the layer changes, with a grid for hit testing. */
import { styleOf } from '../base/core.js';
import { LAT_LIMIT, RAD, worldX, worldY } from '../base/geo.js';
import { addCanvas, CanvasLayer, pixelRatio } from '../base/canvas.js';
import { stamp } from './markers.js';

export function makePoints(map, model, store, { filters, live }) {
  const CELL = 32;
  const TICK = 20;
  /** Markers keep this far from the upper and lower end of the world [CSS pixels]. */
  const EDGE = 14;
  /** From so many drawn sites on, one marker stands for those within a dot [CSS pixels]. */
  const MANY = 3000;
  const DOT = 3;
  /** Bearings are drawn once cells of this width [CSS pixels] hold few sites each. */
  const ROOM = 84;
  const FEW = 1.6;

  const lat = model.column('lat');
  const lon = model.column('lon');
  const azimuth = (i) => live.value('azimuth_true_deg', i);
  const selected = store.state.selected;
  const xs = Float64Array.from({ length: model.count }, (_, i) => worldX(lon(i) ?? NaN));
  const ys = Float64Array.from({ length: model.count }, (_, i) => worldY(lat(i) ?? NaN));
  const layer = new CanvasLayer();
  let drawn = { sites: [], px: [], py: [], scale: 1 };
  let grid = null;

  /** Down the canvas; a site beyond the projection's end keeps its marker whole at the edge. */
  const down = (i, frame) => Math.max(EDGE, Math.min(frame.size - EDGE, ys[i] * frame.size)) - frame.top;

  /** Where a site is on a canvas, in the copy of the world nearest to the middle of the view. */
  function pixel(i, frame) {
    const turns = Math.round((map.getCenter().lng - lon(i)) / 360);
    return [(xs[i] + turns) * frame.size - frame.left, down(i, frame)];
  }

  /** Which shown sites lie on the canvas, from the bottom to the top, and where. */
  function place(frame) {
    const found = { sites: [], px: [], py: [], scale: 1 };
    for (const i of live.now.order) {
      if (!filters.shown[i]) continue;
      const py = down(i, frame);
      if (!(py > -20 && py < frame.height + 20)) continue;
      for (let copy = frame.first - 1; copy <= frame.last + 1; copy++) {
        const px = (xs[i] + copy) * frame.size - frame.left;
        if (!(px > -20 && px < frame.width + 20)) continue;
        found.sites.push(i);
        found.px.push(px);
        found.py.push(py);
      }
    }
    return found;
  }

  /** Many sites on little room are drawn smaller. */
  function crowding(count, frame) {
    const room = Math.sqrt((frame.width * frame.height) / Math.max(1, count));
    return Math.max(0.6, Math.min(1, room / 22));
  }

  /** Number of the square cell that holds a pixel of the canvas. */
  const cell = (px, py, width) => Math.floor(px / width) + 4096 * Math.floor(py / width);

  /** Whether a stroke at every site could be told from its neighbours'. */
  function isRoomy(frame) {
    const { sites, px, py } = drawn;
    const room = (frame.width / ROOM + 2) * (frame.height / ROOM + 2);
    if (sites.length > FEW * room) return false;
    return sites.length <= FEW * new Set(sites.map((_, k) => cell(px[k], py[k], ROOM))).size;
  }

  /** Short strokes from the sites towards the satellite (Mercator keeps bearings). */
  function drawTicks(ctx, { sites, px, py }) {
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

  /** Numbers of the drawn sites that can be seen: among thousands, most lie under others. */
  function seen({ sites, px, py }, frame) {
    const all = [...sites.keys()];
    if (sites.length < MANY) return all;
    const across = Math.ceil(frame.width / DOT) + 20;
    const taken = new Uint8Array(across * (Math.ceil(frame.height / DOT) + 20));
    const spot = (k) => Math.floor((px[k] + 24) / DOT) + across * Math.floor((py[k] + 24) / DOT);
    return all.reverse().filter((k) => !taken[spot(k)] && (taken[spot(k)] = 1)).reverse();
  }

  /** A disc behind every selected site. */
  function drawSelected(ctx, visible) {
    if (!store.state.selectedCount) return;
    const { sites, px, py, scale } = drawn;
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

  function drawMarkers(ctx, frame) {
    const { sites, px, py, scale } = drawn;
    const { classes, field } = model.layers[store.state.layer];
    const codes = live.now.codes[store.state.layer];
    const { failing } = live.now;
    const stale = live.isStale(field);
    const stamps = new Map();
    const visible = seen(drawn, frame);
    drawSelected(ctx, visible);
    visible.forEach((k) => {
      const i = sites[k];
      const key = codes[i] * 2 + failing[i];
      if (!stamps.has(key)) {
        const how = { failing: Boolean(failing[i]), scale, stale, ratio: pixelRatio() };
        stamps.set(key, stamp(classes[codes[i]], how));
      }
      const { canvas, half } = stamps.get(key);
      ctx.drawImage(canvas, px[k] - half, py[k] - half, 2 * half, 2 * half);
    });
  }

  layer.draw = (ctx, frame) => {
    drawn = place(frame);
    drawn.scale = crowding(drawn.sites.length, frame);
    grid = null;
    const bearings = !drawn.sites.length ? 'none' : isRoomy(frame) ? 'drawn' : 'crowded';
    store.set({ bearings });
    if (bearings === 'drawn') drawTicks(ctx, drawn);
    drawMarkers(ctx, frame);
  };

  /** Numbers of the drawn sites by the cell they lie in. */
  function cells() {
    const found = new Map();
    for (let k = 0; k < drawn.sites.length; k++) {
      const key = cell(drawn.px[k], drawn.py[k], CELL);
      if (found.has(key)) found.get(key).push(k);
      else found.set(key, [k]);
    }
    return found;
  }

  /**
   * Sites under the pointer, the nearest first and on a par the topmost.
   * @param {L.Point} point in the map's layer pixels
   * @param {number} reach [CSS pixels]
   * @returns {number[]} sites
   */
  function hits(point, reach) {
    grid ??= cells();
    const { x, y } = point.subtract(layer._bounds.min);
    const near = [];
    for (let cx = x - reach; cx < x + reach + CELL; cx += CELL) {
      for (let cy = y - reach; cy < y + reach + CELL; cy += CELL) near.push(...(grid.get(cell(cx, cy, CELL)) ?? []));
    }
    const far = (k) => Math.round(Math.hypot(drawn.px[k] - x, drawn.py[k] - y));
    const under = [...new Set(near)].filter((k) => far(k) <= reach);
    under.sort((a, b) => far(a) - far(b) || b - a);
    return [...new Set(under.map((k) => drawn.sites[k]))];
  }

  /** Shown sites inside the view, the worst first. */
  function inView() {
    const view = map.getPixelBounds();
    const [min, max] = [view.min, view.max].map((p) =>
      p.subtract(map.getPixelOrigin()).subtract(layer._bounds.min));
    const inside = drawn.sites.filter((_, k) =>
      drawn.px[k] >= min.x && drawn.px[k] <= max.x && drawn.py[k] >= min.y && drawn.py[k] <= max.y);
    return [...new Set(inside.reverse())];
  }

  /** Drawn sites whose place on the canvas passes a test of x and y in the map's layer pixels. */
  function within(passes) {
    const { min } = layer._bounds;
    const inside = drawn.sites.filter((_, k) => passes(drawn.px[k] + min.x, drawn.py[k] + min.y));
    return [...new Set(inside)];
  }

  /** Where a site is drawn nearest to the middle of the view. */
  function latLng(i) {
    const turns = Math.round((map.getCenter().lng - lon(i)) / 360);
    return L.latLng(Math.max(-LAT_LIMIT, Math.min(LAT_LIMIT, lat(i))), lon(i) + 360 * turns);
  }

  addCanvas(map, layer, 'sites', 400);
  store.on(['layer', 'filtering', 'live', 'selection'], () => layer.redraw());
  return { layer, hits, inView, within, latLng, pixel, drawnCount: () => drawn.sites.length };
}
