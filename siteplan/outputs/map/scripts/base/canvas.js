/* A layer of Leaflet's that is one canvas, drawn anew whenever the map comes to rest. */
import { el, nextFrame, pixelRatio } from './core.js';

export const CanvasLayer = L.Renderer.extend({
  options: { padding: 0.15 },

  _initContainer() {
    this._container = el('canvas', { 'aria-hidden': 'true' });
    this._ctx = this._container.getContext('2d');
    this._later = nextFrame(() => this._map && this._update());
  },

  _destroyContainer() {
    this._container.remove();
    delete this._ctx;
    delete this._container;
  },

  _update() {
    if (this._map._animatingZoom && this._bounds) return;
    L.Renderer.prototype._update.call(this);
    this._fitContainer();
    this._ctx.clearRect(0, 0, this._bounds.getSize().x, this._bounds.getSize().y);
    this.draw(this._ctx, this._frame());
  },

  _fitContainer() {
    const ratio = pixelRatio();
    const size = this._bounds.getSize();
    L.DomUtil.setPosition(this._container, this._bounds.min);
    this._container.width = Math.round(size.x * ratio);
    this._container.height = Math.round(size.y * ratio);
    this._container.style.width = `${size.x}px`;
    this._container.style.height = `${size.y}px`;
    this._ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
  },

  /**
   * How the unit square lies on this canvas: px = x * size - left, py = y * size - top.
   * first and last are the copies of the world that are in sight.
   */
  _frame() {
    const origin = this._map.getPixelOrigin().add(this._bounds.min);
    const { x: width, y: height } = this._bounds.getSize();
    const size = 256 * 2 ** this._map.getZoom();
    const copies = {
      first: Math.floor(origin.x / size),
      last: Math.floor((origin.x + width) / size),
    };
    const inset = this._map.getSize().multiplyBy(this.options.padding).round();
    return { size, left: origin.x, top: origin.y, width, height, inset, ...copies };
  },

  /** Draw again soon, or at once. */
  redraw(atOnce = false) {
    if (!this._map) return;
    if (atOnce) this._update();
    else this._later();
  },

  /** For those who extend this layer. */
  draw() {},
});

/** Make a pane of its own for a canvas layer, which lets the pointer through. */
export function addCanvas(map, layer, name, zIndex) {
  const pane = map.createPane(name);
  pane.style.zIndex = zIndex;
  pane.style.pointerEvents = 'none';
  layer.options.pane = name;
  return layer.addTo(map);
}
