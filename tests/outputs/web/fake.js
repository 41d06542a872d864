/* A page without a browser: elements that remember what they are given, and a canvas that notes what is asked of it. */

/** An element; its children, attributes and listeners can be read. */
class Element {
  constructor(tag) {
    Object.assign(this, { tag, children: [], attributes: {}, listeners: {}, style: {}, dataset: {}, hidden: false, value: '' });
    this.classes = new Set();
    this.classList = {
      add: (...names) => names.forEach((name) => this.classes.add(name)),
      contains: (name) => this.classes.has(name),
      remove: (...names) => names.forEach((name) => this.classes.delete(name)),
      toggle: (name, on) => (on ? this.classes.add(name) : this.classes.delete(name)),
    };
  }

  get tagName() { return this.tag.toUpperCase(); }

  setAttribute(name, value) {
    this.attributes[name] = String(value);
    if (name.startsWith('data-')) this.dataset[name.slice(5)] = String(value);
  }

  append(...nodes) {
    nodes.forEach((node) => { if (node instanceof Element) node.parentElement = this; });
    this.children.push(...nodes);
  }

  prepend(...nodes) { this.children.unshift(...nodes); }

  replaceChildren(...nodes) {
    this.children = [];
    this.append(...nodes);
  }

  addEventListener(name, fn) { (this.listeners[name] ??= []).push(fn); }

  /** Do as if an event came. */
  fire(name, event = {}) {
    const whole = { target: this, key: '', preventDefault() { this.defaultPrevented = true; }, ...event };
    (this.listeners[name] ?? []).forEach((fn) => fn(whole));
    return whole;
  }

  closest() { return (this.asked ??= new Element('div')); }

  contains(node) { return node === this || this.children.some((child) => child instanceof Element && child.contains(node)); }

  /** All elements inside, this one first. */
  all() { return [this, ...this.children.filter((node) => node instanceof Element).flatMap((node) => node.all())]; }

  insertBefore(node) { this.append(node); }

  get nextElementSibling() { return this.parentElement.children[this.parentElement.children.indexOf(this) + 1]; }

  querySelector(by) {
    const [, name, value] = /\[([\w-]+)="(.*?)"\]/.exec(by) ?? [];
    return this.all().find((node) => (name ? node.attributes[name] === value : node.className === by.slice(1))) ?? null;
  }

  querySelectorAll(by = 'button') { return this.all().filter(({ tag }) => tag === by); }

  after(node) { this.parentElement?.append(node); }

  cloneNode() { return new Element(this.tag); }

  getBoundingClientRect() { return { left: 0, top: 0, right: 0, bottom: 0, width: 0, height: 0 }; }

  focus() { globalThis.document.activeElement = this; }

  select() { this.selected = true; }

  remove() { this.removed = true; }

  click() { this.fire('click'); }

  getContext() { return (this.context ??= recorder()); }
}

/** A drawing context that writes down each call and each value it is given. */
export function recorder({ within = () => true } = {}) {
  const notes = [];
  const round = (x) => (typeof x === 'number' ? Number(x.toFixed(2)) + 0 : x instanceof Element ? `<${x.tag}>` : x);
  return new Proxy({ notes }, {
    get: (_, name) => {
      if (name === 'notes') return notes;
      return (...given) => {
        notes.push(`${name} ${given.map(round).join(' ')}`.trim());
        if (name === 'measureText') return { width: 7 * given[0].length };
        return name === 'isPointInPath' ? within(given[0], given[1]) : undefined;
      };
    },
    set: (_, name, value) => {
      notes.push(`${name} = ${round(value)}`);
      return true;
    },
  });
}

/** What was drawn on the canvases inside an element, or an element as lines of text. */
export function told(node, depth = 0) {
  const indent = '  '.repeat(depth);
  if (!(node instanceof Element)) return [`${indent}${JSON.stringify(String(node))}`];
  const named = { ...(node.className ? { class: node.className } : {}), ...node.attributes };
  const attributes = Object.entries(named).map(([name, value]) => ` ${name}="${value.replace(/\d+\.\d+/g, (x) => Number(x).toFixed(1))}"`);
  const text = node.textContent === undefined ? '' : ` ${JSON.stringify(node.textContent)}`;
  const more = [
    ...(node.hidden ? ['hidden'] : []), ...(node.disabled ? ['disabled'] : []), ...(node.checked ? ['checked'] : []),
    ...(node.value === '' ? [] : [`value ${node.value}`]), ...Object.keys(node.listeners).map((name) => `hears ${name}`),
    ...Object.entries(node.style).map(([name, value]) => `${name}: ${value}`),
    ...(node.context ? [`width ${node.width}`, `height ${node.height}`, ...node.context.notes] : []),
  ].map((line) => `${indent}  | ${line}`);
  return [`${indent}${node.tag}${attributes.join('')}${text}`, ...more, ...node.children.flatMap((child) => told(child, depth + 1))];
}

/** A place in pixels. */
export class Point {
  constructor(x, y) { Object.assign(this, { x, y }); }

  subtract({ x, y }) { return new Point(this.x - x, this.y - y); }

  distanceTo({ x, y }) { return Math.hypot(this.x - x, this.y - y); }
}

/** A layer that is one canvas: it notes that it was asked to draw again. */
const layerOf = (members) => class {
  constructor() {
    Object.assign(this, members, { options: { ...members.options }, redrawn: 0, _bounds: { min: new Point(-60, -40) } });
    this.redraw = () => { this.redrawn += 1; };
  }

  addTo(map) {
    map.layers[this.options.pane] = this;
    return this;
  }

  /** What drawing in a frame asks of a canvas. */
  drawnIn(frame, options) {
    const ctx = recorder(options);
    this.draw(ctx, frame);
    return ctx.notes;
  }
};

/** A map of 600 by 400 pixels around 40 N 20 E: a degree is two pixels. */
export function makeMap() {
  const notes = [];
  const handlers = [];
  const layers = {};
  const note = (name) => (...given) => { notes.push(`${name} ${JSON.stringify(given)}`); };
  const switched = (name) => ({ enable: note(`${name} on`), disable: note(`${name} off`) });
  const container = new Element('div');
  Object.assign(container, { getBoundingClientRect: () => ({ bottom: 700, top: 20 }), offsetWidth: 600 });
  return {
    notes, container, layers, controls: [], panes: {}, dragging: switched('dragging'), doubleClickZoom: switched('double click'),
    createPane(name) { return (this.panes[name] = { style: {} }); },
    on: (names, fn) => handlers.push([names.split(' '), fn]),
    fire: (name, event) => handlers.filter(([names]) => names.includes(name)).forEach(([, fn]) => fn(event)),
    getContainer: () => container, getCenter: () => ({ lat: 40, lng: 20 }), getZoom: () => 4, getSize: () => new Point(600, 400),
    getPixelBounds: () => ({ min: new Point(1000, 500), max: new Point(1600, 900) }), getPixelOrigin: () => new Point(1000, 500),
    latLngToLayerPoint: ({ lat, lng }) => new Point(300 + 2 * (lng - 20), 200 - 2 * (lat - 40)),
    mouseEventToLatLng: ({ clientX, clientY }) => ({ lat: 40 - (clientY - 200) / 2, lng: 20 + (clientX - 300) / 2 }),
    panInside: note('pan inside'), setView: note('set view'), fitBounds: note('fit'), invalidateSize: note('resized'),
    containerPointToLatLng: ([x, y]) => ({ lat: 40 - (y - 200) / 2, lng: 20 + (x - 300) / 2 }), eachLayer: (fn) => Object.values(layers).forEach(fn),
  };
}

/** Put the page in place, as the scripts look for it. */
export function makePage({ wide = true, ratio = 1 } = {}) {
  const found = new Map();
  const made = (tag) => new Element(tag);
  const listening = new Element('document');
  const byId = (id) => {
    if (!found.has(id)) found.set(id, made('div'));
    return found.get(id);
  };
  globalThis.document = Object.assign(listening, {
    createElement: made, createElementNS: (_, tag) => made(tag), getElementById: byId,
    documentElement: made('html'), body: made('body'), activeElement: null, querySelector: () => null,
    querySelectorAll: () => [...found.values()].flatMap((node) => node.all()).filter(({ tag }) => tag === 'button'),
  });
  const kept = new Map();
  globalThis.window = Object.assign(new Element('window'), {
    matchMedia: () => ({ matches: wide }), devicePixelRatio: ratio,
    localStorage: {
      setItem: (key, value) => kept.set(key, value), getItem: (key) => kept.get(key) ?? null, removeItem: (key) => kept.delete(key),
    },
  });
  globalThis.getComputedStyle = () => ({ getPropertyValue: (name) => (name === '--contour-fill' ? '0.4' : name) });
  globalThis.requestAnimationFrame = (fn) => fn();
  globalThis.L = {
    Renderer: { extend: (members) => layerOf(members) },
    point: (x, y) => new Point(x, y), latLng: (lat, lng) => ({ lat, lng }),
    control: () => ({ addTo(map) { map.controls.push(this.onAdd()); } }),
    tileLayer: (url, options) => ({
      url, options, addTo(map) { map.notes.push(`tiles ${url} ${JSON.stringify(options)}`); }, remove: () => {},
    }),
  };
  globalThis.Image = class extends Element { constructor() { super('img'); this.complete = true; } };
  return { byId, kept, found };
}
