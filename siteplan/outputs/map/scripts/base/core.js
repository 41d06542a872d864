/* Small helpers that every other part uses. */

/**
 * Make an element. Text goes in as text, never as markup.
 * @param {string} tag
 * @param {Object} [has] class, text, and any attribute; on: event handlers by name
 * @param {Array<Node>} [children]
 * @returns {HTMLElement}
 */
export function el(tag, has = {}, children = []) {
  const node = document.createElement(tag);
  for (const [key, value] of Object.entries(has)) {
    if (key === 'text') node.textContent = value;
    else if (key === 'class') node.className = value ?? '';
    else if (key === 'on') Object.entries(value).forEach(([name, fn]) => node.addEventListener(name, fn));
    else if (value !== false && value !== null) node.setAttribute(key, value === true ? '' : value);
  }
  node.append(...children);
  return node;
}

/**
 * Make an element of a drawing.
 * @param {string} tag
 * @param {Object} [has] attributes; text
 * @param {Array<Node>} [children]
 * @returns {SVGElement}
 */
export function svg(tag, has = {}, children = []) {
  // The page's own seed of a drawing knows the namespace.
  const node = document.createElementNS(byId('seed').namespaceURI, tag);
  for (const [key, value] of Object.entries(has)) {
    if (key === 'text') node.textContent = value;
    else node.setAttribute(key, value);
  }
  node.append(...children);
  return node;
}

/** What the browser keeps for this page; where it keeps nothing, until the page is closed. */
export const memory = (function () {
  const fallback = new Map();
  let store = null;
  try {
    store = window.localStorage;
    store.setItem('siteplan:probe', '1');
    store.removeItem('siteplan:probe');
  } catch {
    store = null;
  }
  return {
    lasting: () => Boolean(store),
    get(key) {
      return store ? store.getItem(`siteplan:${key}`) : (fallback.get(key) ?? null);
    },
    /** Keep a text, or drop it where it is empty. */
    set(key, text) {
      fallback.set(key, text);
      try {
        if (!store) return false;
        if (text) store.setItem(`siteplan:${key}`, text);
        else store.removeItem(`siteplan:${key}`);
        return true;
      } catch {
        return false;
      }
    },
  };
}());

/** The element with this id. */
export const byId = (id) => document.getElementById(id);

/**
 * Run one part of the page; where the browser lacks something, the rest goes on.
 * @param {string} part what the reader would miss
 * @param {Function} run
 */
export function attempt(part, run) {
  try {
    return run();
  } catch (error) {
    console.warn(`siteplan: ${part} is not available here`, error);
    return undefined;
  }
}

/** Whether the panel and the card fit beside the map. */
export const isWide = () => window.matchMedia('(min-width: 760px)').matches;

/** Device pixels in a CSS pixel. */
export const pixelRatio = () => window.devicePixelRatio || 1;

/** A value of the style sheet, by the name of its custom property. */
export const styleOf = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

/**
 * What the page shows, with listeners.
 * @param {Object} initial
 */
export function makeStore(initial) {
  const state = { ...initial };
  const listeners = [];
  return {
    state,
    /** Change some of the state and tell those who listen to it. */
    set(patch) {
      const changed = Object.keys(patch).filter((key) => state[key] !== patch[key]);
      Object.assign(state, patch);
      listeners
        .filter((l) => l.keys.some((key) => changed.includes(key)))
        .forEach((l) => l.fn(state));
    },
    /** Call fn whenever one of the keys has changed. */
    on(keys, fn) {
      listeners.push({ keys, fn });
    },
  };
}

/** Put work off to the next frame, once however often it is asked for. */
export function nextFrame(fn) {
  let waiting = false;
  return () => {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => {
      waiting = false;
      fn();
    });
  };
}
