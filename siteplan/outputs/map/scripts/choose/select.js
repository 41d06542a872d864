/* Selecting sites on the map: a box by dragging or by two taps, a polygon corner by corner. */
import { byId, styleOf } from '../base/core.js';
import { inside } from '../base/geo.js';
import { addCanvas, CanvasLayer } from '../base/canvas.js';

/** The set of selected sites. */
export function makeSelection(model, store) {
  const { selected } = store.state;

  function changed() {
    store.set({
      selectedCount: selected.reduce((sum, one) => sum + one, 0),
      selection: store.state.selection + 1,
    });
  }

  return {
    add(sites) {
      for (const i of sites) selected[i] = 1;
      changed();
    },
    toggle(i) {
      selected[i] = selected[i] ? 0 : 1;
      changed();
    },
    clear() {
      selected.fill(0);
      changed();
    },
    sites: () => [...selected.keys()].filter((i) => selected[i]),
  };
}

export function makeSelectTools(map, store, points, selection) {
  /** A pointer that moved less than this was a tap [CSS pixels]. */
  const TAP = 6;
  const layer = new CanvasLayer();
  const box = map.getContainer();
  let corners = [];
  let pointer = null;
  let pressed = null;

  const toLayer = (latlng) => map.latLngToLayerPoint(latlng);
  const at = (event) => map.mouseEventToLatLng(event);

  /** Corners of the shape as it stands, in layer pixels. */
  function shape() {
    const all = [...corners, ...(pointer ? [pointer] : [])].map(toLayer);
    if (store.state.tool !== 'box' || all.length < 2) return all;
    const [a, b] = [all[0], all.at(-1)];
    return [a, L.point(b.x, a.y), b, L.point(a.x, b.y)];
  }

  layer.draw = (ctx) => {
    const all = shape().map((p) => p.subtract(layer._bounds.min));
    if (!store.state.tool || !all.length) return;
    ctx.beginPath();
    all.forEach((p) => ctx.lineTo(p.x, p.y));
    ctx.closePath();
    ctx.fillStyle = styleOf('--selected');
    ctx.fill();
    ctx.strokeStyle = styleOf('--chosen');
    ctx.lineWidth = 2;
    ctx.stroke();
    for (const p of all) ctx.strokeRect(p.x - 3, p.y - 3, 6, 6);
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

  function only(handler) {
    return (event) => {
      if (!store.state.tool || event.target.closest?.('.leaflet-control')) return;
      event.stopPropagation();
      handler(event);
    };
  }

  function switched() {
    const on = Boolean(store.state.tool);
    reset();
    map.dragging[on ? 'disable' : 'enable']();
    map.doubleClickZoom[on ? 'disable' : 'enable']();
    box.classList.toggle('selecting', on);
    byId('tool-hint').hidden = !on;
    byId('tool-text').textContent = store.state.tool === 'box'
      ? 'Drag a box over the sites, or tap two opposite corners.'
      : 'Tap the corners; tap the first again, or press Done.';
    byId('tool-done').hidden = store.state.tool !== 'polygon';
    for (const tool of ['box', 'polygon']) {
      byId(`tool-${tool}`).setAttribute('aria-pressed', String(store.state.tool === tool));
    }
  }

  addCanvas(map, layer, 'selecting', 460);
  box.addEventListener('pointerdown', only(down), true);
  box.addEventListener('pointermove', only(move), true);
  box.addEventListener('pointerup', only(up), true);
  byId('tool-done').addEventListener('click', finish);
  byId('tool-cancel').addEventListener('click', () => store.set({ tool: '' }));
  for (const tool of ['box', 'polygon']) {
    byId(`tool-${tool}`).addEventListener('click', () =>
      store.set({ tool: store.state.tool === tool ? '' : tool }));
  }
  store.on(['tool'], switched);
  return { finish };
}
