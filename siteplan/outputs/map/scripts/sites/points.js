/* The sites: one canvas, recoloured when the layer changes, with a grid for hit testing. */
import { addCanvas, CanvasLayer } from '../base/canvas.js';
import { LAT_LIMIT, worldX, worldY } from '../base/geo.js';
import { cells, crowding, isRoomy, seen, sitesNear } from './crowd.js';
import { drawMarkers } from './markers.js';
import { around, drawNames } from './names.js';
import { drawDoubts, drawSelected, drawTicks, tickEnds } from './strokes.js';

/** Markers keep this far from the upper and lower end of the world [CSS pixels]. */
const EDGE = 14;

export function makePoints(map, model, store, { filters, live }) {
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

  /** Turns of the world to a site's copy that is nearest to the middle of the view. */
  const turns = (i) => Math.round((map.getCenter().lng - lon(i)) / 360);

  /** Where that copy is on a canvas. */
  const pixel = (i, frame) => [(xs[i] + turns(i)) * frame.size - frame.left, down(i, frame)];

  /** Where that copy is on the map. */
  const latLng = (i) =>
    L.latLng(Math.max(-LAT_LIMIT, Math.min(LAT_LIMIT, lat(i))), lon(i) + 360 * turns(i));

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

  /** How the sites look in the layer that is shown. */
  function lookNow() {
    const { classes, field } = model.layers[store.state.layer];
    const codes = live.now.codes[store.state.layer];
    return { classes, codes, failing: live.now.failing, stale: live.isStale(field) };
  }

  layer.draw = (ctx, frame) => {
    drawn = place(frame);
    drawn.scale = crowding(drawn.sites.length, frame);
    grid = null;
    const bearings = !drawn.sites.length ? 'none' : isRoomy(drawn, frame) ? 'drawn' : 'crowded';
    store.set({ bearings });
    const ends = bearings === 'drawn' ? tickEnds(drawn, azimuth) : [];
    if (bearings === 'drawn') drawTicks(ctx, drawn, ends);
    const visible = seen(drawn, frame);
    if (store.state.selectedCount) drawSelected(ctx, visible, drawn, selected);
    drawMarkers(ctx, visible, drawn, lookNow());
    drawDoubts(ctx, drawn, model.doubted);
    if (bearings === 'drawn' && store.state.names) {
      drawNames(ctx, drawn, { frame, ends, ...around(map, model, store.state.labels, frame) }, model.label);
    }
  };

  /** Sites under a point of the map's layer, the nearest first and on a par the topmost. */
  function hits(point, reach) {
    grid ??= cells(drawn);
    return sitesNear(grid, drawn, point.subtract(layer._bounds.min), reach);
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

  addCanvas(map, layer, 'sites', 400);
  store.on(['layer', 'filtering', 'live', 'selection', 'names', 'coverage'], () => layer.redraw());
  return { layer, hits, inView, within, latLng, pixel, drawnCount: () => drawn.sites.length };
}
