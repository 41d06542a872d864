/* Selecting sites on the map: a box by dragging or by two taps, a polygon corner by corner. */
import { addCanvas, CanvasLayer } from '../base/canvas.js';
import { byId, styleOf } from '../base/core.js';
import { inside } from '../base/geo.js';

/** A pointer that moved less than this was a tap [CSS pixels]. */
const TAP = 6;
const TOOLS = ['box', 'polygon'];

/** Corners of the tool's shape: of a box, two of them are given. */
function outline(given, tool) {
  if (tool !== 'box' || given.length < 2) return given;
  const [a, b] = [given[0], given.at(-1)];
  return [a, L.point(b.x, a.y), b, L.point(a.x, b.y)];
}

/** The shape as it stands, with its corners. */
function drawShape(ctx, corners) {
  ctx.beginPath();
  corners.forEach((p) => ctx.lineTo(p.x, p.y));
  ctx.closePath();
  ctx.fillStyle = styleOf('--selected');
  ctx.fill();
  ctx.strokeStyle = styleOf('--chosen');
  ctx.lineWidth = 2;
  ctx.stroke();
  for (const p of corners) ctx.strokeRect(p.x - 3, p.y - 3, 6, 6);
}

/** Show which tool is in hand, and what to do with it. */
function showTool(tool) {
  byId('tool-hint').hidden = !tool;
  byId('tool-text').textContent = tool === 'box'
    ? 'Drag a box over the sites, or tap two opposite corners.'
    : 'Tap the corners; tap the first again, or press Enter or Done.';
  byId('tool-done').hidden = tool !== 'polygon';
  for (const one of TOOLS) byId(`tool-${one}`).setAttribute('aria-pressed', String(tool === one));
}

/** Take a tool in hand, or put it away. */
const take = (store, tool) => store.set({ tool: store.state.tool === tool ? '' : tool });

export function makeSelectTools(map, store, points, selection) {
  const layer = new CanvasLayer();
  const box = map.getContainer();
  let corners = [];
  let pointer = null;
  let pressed = null;

  const toLayer = (latlng) => map.latLngToLayerPoint(latlng);
  const at = (event) => map.mouseEventToLatLng(event);

  /** Corners of the shape as it stands, in layer pixels. */
  const shape = () => outline([...corners, ...(pointer ? [pointer] : [])].map(toLayer), store.state.tool);

  /** Handle an event of the tool in hand, and let nobody else do so. */
  const only = (handler) => (event) => {
    if (!store.state.tool || event.target.closest?.('.leaflet-control')) return;
    event.stopPropagation();
    handler(event);
  };

  layer.draw = (ctx) => {
    const all = shape().map((p) => p.subtract(layer._bounds.min));
    if (store.state.tool && all.length) drawShape(ctx, all);
  };

  function reset() {
    [corners, pointer, pressed] = [[], null, null];
    layer.redraw();
  }

  /** Take the sites inside the shape in, and put the tool away. */
  function finish() {
    pointer = null;
    const area = shape();
    if (area.length > 2) selection.add(points.within((x, y) => inside(x, y, area)));
    store.set({ tool: '' });
  }

  function down(event) {
    if (!event.isPrimary || event.target.closest('.leaflet-control')) return;
    pressed = { x: event.clientX, y: event.clientY };
    if (store.state.tool === 'box' && !corners.length) corners.push(at(event));
  }

  function move(event) {
    if (!corners.length) return;
    pointer = at(event);
    layer.redraw();
  }

  function up(event) {
    if (!pressed) return;
    const far = Math.hypot(event.clientX - pressed.x, event.clientY - pressed.y);
    pressed = null;
    if (store.state.tool === 'box') {
      pointer = at(event);
      const size = toLayer(corners[0]).distanceTo(toLayer(pointer));
      if (size < TAP) return;
      corners.push(pointer);
      finish();
    } else if (far < TAP) addCorner(at(event));
  }

  /** One more corner; at the first one, the polygon is closed. */
  function addCorner(latlng) {
    const first = corners.length > 2 && toLayer(corners[0]).distanceTo(toLayer(latlng)) < 14;
    if (first) return finish();
    corners.push(latlng);
    pointer = null;
    return layer.redraw();
  }

  function switched() {
    const on = Boolean(store.state.tool);
    reset();
    map.dragging[on ? 'disable' : 'enable']();
    map.doubleClickZoom[on ? 'disable' : 'enable']();
    box.classList.toggle('selecting', on);
    showTool(store.state.tool);
    // Enter and Escape are the tool's now, not those of the button that took it in hand.
    if (on) box.focus({ preventScroll: true });
  }

  /** Enter closes a polygon of three corners or more. */
  const enter = () => store.state.tool === 'polygon' && corners.length > 2 && finish();

  addCanvas(map, layer, 'selecting', 460);
  box.addEventListener('pointerdown', only(down), true);
  box.addEventListener('pointermove', only(move), true);
  box.addEventListener('pointerup', only(up), true);
  byId('tool-done').addEventListener('click', finish);
  byId('tool-cancel').addEventListener('click', () => store.set({ tool: '' }));
  for (const tool of TOOLS) byId(`tool-${tool}`).addEventListener('click', () => take(store, tool));
  store.on(['tool'], switched);
  return { enter };
}
