/* The view as a link: everything after the # brings it back. */
import { byId } from './core.js';
import { wrapLon } from './geo.js';

export function makeHash(map, model, store, { filters, legend }) {
  const ASKED = ['words', 'group', 'flag', 'mount', 'antenna', 'least', 'most'];
  let restoring = false;
  let written = '';

  function text() {
    const { lat, lng } = map.getCenter();
    const { layer, chosen, target, satellite, sortBy, sortDown, table } = store.state;
    const entries = [
      ['at', `${lat.toFixed(5)},${wrapLon(lng).toFixed(5)},${map.getZoom()}`],
      ['layer', model.layers[layer].field],
      ['site', chosen >= 0 ? model.text('site_id', chosen) : ''],
      ['hide', filters.hiddenText()],
      ['behind', store.state.coverage ?? ''],
      ...ASKED.map((key) => [key, filters.wanted[key] ?? '']),
      ['target', target ?? ''],
      ['satellite', satellite ?? ''],
      ['sort', sortBy ? `${sortDown ? '-' : ''}${sortBy}` : ''],
      ['table', table ? '1' : ''],
    ];
    return new URLSearchParams(entries.filter(([, value]) => value !== '').map(([k, v]) => [k, String(v)])).toString();
  }

  const number = (value, low, high) => {
    const x = value === null || value.trim() === '' ? NaN : Number(value);
    return Number.isFinite(x) && x >= low && x <= high ? x : null;
  };

  function restoreView(at) {
    const [lat, lon, zoom] = (at ?? '').split(',').map(Number);
    if (!(Math.abs(lat) <= 90 && Math.abs(lon) <= 360 && zoom >= 1 && zoom <= 18)) return;
    map.setView([lat, lon], zoom, { animate: false });
  }

  function restoreWhatif(asked) {
    const outages = model.whatif?.outages_pct;
    const target = outages ? number(asked.get('target'), 100 - outages.at(-1), 100 - outages[0]) : null;
    store.set({ target, satellite: number(asked.get('satellite'), -360, 360) });
  }

  function restoreSort(sort) {
    const [, down, sortBy] = /^(-?)(\w*)$/.exec(sort ?? '') ?? [];
    store.set({ sortBy: model.has(sortBy) ? sortBy : '', sortDown: down === '-' });
  }

  function restoreSite(id) {
    if (id === null) return store.set({ chosen: -1, under: [] });
    const name = model.column('site_id');
    for (let i = 0; i < model.count; i++) {
      if (name(i) === id) return store.set({ chosen: i, cursor: i, under: [] });
    }
    return undefined;
  }

  /** Bring back what a link asks for; what it asks wrongly is left as it is. */
  function restore() {
    const given = window.location.hash.slice(1);
    if (!given || given === written) return;
    const asked = new URLSearchParams(given);
    if (!asked.has('at')) return;
    restoring = true;
    restoreWhatif(asked);
    legend.showField(asked.get('layer') ?? '');
    filters.setHidden(asked.get('hide') ?? '');
    if (asked.has('behind')) store.set({ coverage: asked.get('behind') });
    const wanted = ASKED.map((key) => [key, asked.get(key) ?? '']);
    filters.set({
      ...Object.fromEntries(wanted), least: number(asked.get('least'), -999, 999), most: number(asked.get('most'), -999, 999),
    });
    restoreSort(asked.get('sort'));
    store.set({ table: asked.get('table') === '1' });
    restoreSite(asked.get('site'));
    restoreView(asked.get('at'));
    restoring = false;
  }

  let waiting = 0;
  function write() {
    if (restoring) return;
    clearTimeout(waiting);
    waiting = setTimeout(() => {
      written = text();
      try {
        window.history.replaceState(null, '', `#${written}`);
      } catch {
        // Some browsers forbid this for files: the button still gives the link.
      }
    }, 250);
  }

  async function copy() {
    const link = `${window.location.href.split('#')[0]}#${text()}`;
    const field = byId('link-text');
    field.hidden = false;
    field.value = link;
    field.select();
    try {
      await navigator.clipboard.writeText(link);
      byId('link-said').textContent = 'Copied.';
    } catch {
      byId('link-said').textContent = 'Copy the link from the field.';
    }
  }

  restore();
  window.addEventListener('hashchange', restore);
  map.on('moveend', write);
  store.on(['layer', 'chosen', 'filtering', 'target', 'satellite', 'sortBy', 'sortDown', 'table', 'coverage'], write);
  byId('copy-link').addEventListener('click', copy);
  return { text, restore };
}
