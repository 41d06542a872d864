/* The panel's parts, and how the reader likes the page: bright or dark, coordinates, keys. */
import { CanvasLayer } from './canvas.js';
import { byId, memory } from './core.js';

export function makeSettings(map, store) {
  const TABS = ['layers', 'find', 'whatif', 'view'];
  const root = document.documentElement;

  function showTab() {
    for (const tab of TABS) {
      const on = store.state.tab === tab;
      byId(`tab-${tab}`).setAttribute('aria-expanded', String(on));
      byId(`part-${tab}`).hidden = !on;
    }
  }

  function setMode(mode, keep = true) {
    root.dataset.mode = mode;
    byId('set-dark').checked = mode === 'dark';
    if (keep) memory.set('mode', mode);
    store.set({ mode });
    map.eachLayer((layer) => layer instanceof CanvasLayer && layer.redraw());
  }

  /** As the reader chose before, else as the device is set. */
  function firstMode() {
    const kept = memory.get('mode');
    if (kept) return kept;
    return window.matchMedia('(prefers-color-scheme: dark)').matches ? 'dark' : 'bright';
  }

  function checkbox(id, key, kind) {
    const input = byId(id);
    const kept = memory.get(kind);
    if (kept) store.set({ [key]: kept === 'yes' });
    const mirror = () => { input.checked = store.state[key]; };
    input.addEventListener('change', () => {
      memory.set(kind, input.checked ? 'yes' : 'no');
      store.set({ [key]: input.checked });
    });
    store.on([key], mirror);
    mirror();
  }

  for (const tab of TABS) {
    byId(`tab-${tab}`).addEventListener('click', () =>
      store.set({ tab: store.state.tab === tab ? '' : tab }));
  }
  store.on(['tab'], showTab);
  showTab();
  checkbox('set-dms', 'dms', 'dms');
  checkbox('set-keys', 'shortcuts', 'keys');
  byId('set-dark').addEventListener('change', (event) => setMode(event.target.checked ? 'dark' : 'bright'));
  setMode(firstMode(), false);
  return { setMode };
}
