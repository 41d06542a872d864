/* The panel's parts, and how the reader likes the page: bright or dark, coordinates, keys. */
SP.makeSettings = function (model, map, store) {
  const TABS = ['layers', 'find', 'whatif', 'view'];
  const root = document.documentElement;

  function showTab() {
    for (const tab of TABS) {
      const on = store.state.tab === tab;
      SP.id(`tab-${tab}`).setAttribute('aria-expanded', String(on));
      SP.id(`part-${tab}`).hidden = !on;
    }
  }

  function setMode(mode, keep = true) {
    root.dataset.mode = mode;
    SP.id('set-dark').checked = mode === 'dark';
    if (keep) SP.memory.set('mode', mode);
    store.set({ mode });
    map.eachLayer((layer) => layer instanceof SP.CanvasLayer && layer.redraw());
  }

  /** As the reader chose before, else as the device is set. */
  function firstMode() {
    const kept = SP.memory.get('mode');
    if (kept) return kept;
    return window.matchMedia('(prefers-color-scheme: dark)').matches ? 'dark' : 'bright';
  }

  function checkbox(id, key, memory) {
    const input = SP.id(id);
    const kept = SP.memory.get(memory);
    if (kept) store.set({ [key]: kept === 'yes' });
    const mirror = () => { input.checked = store.state[key]; };
    input.addEventListener('change', () => {
      SP.memory.set(memory, input.checked ? 'yes' : 'no');
      store.set({ [key]: input.checked });
    });
    store.on([key], mirror);
    mirror();
  }

  for (const tab of TABS) {
    SP.id(`tab-${tab}`).addEventListener('click', () =>
      store.set({ tab: store.state.tab === tab ? '' : tab }));
  }
  store.on(['tab'], showTab);
  showTab();
  checkbox('set-dms', 'dms', 'dms');
  checkbox('set-keys', 'shortcuts', 'keys');
  SP.id('set-dark').addEventListener('change', (event) => setMode(event.target.checked ? 'dark' : 'bright'));
  setMode(firstMode(), false);
  return { setMode };
};
