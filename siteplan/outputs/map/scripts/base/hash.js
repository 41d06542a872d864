/* The view as a link: everything after the # brings it back. */
import { reachOf } from './data.js';
import { byId } from './core.js';
import { wrapLon } from './geo.js';

const ASKED = ['words', 'group', 'flag', 'mount', 'survey', 'antenna', 'buc', 'least', 'most', 'ranges'];

/** A number of a link, or null where there is none in the range. */
export function numberIn(value, low, high) {
  const x = value === null || value.trim() === '' ? NaN : Number(value);
  return Number.isFinite(x) && x >= low && x <= high ? x : null;
}

/** Everything that is shown, as it stands behind the # of the link. */
function textOf(map, model, state, filters) {
  const { lat, lng } = map.getCenter();
  const { layer, chosen, coverage, target, satellite, kit, sortBy, sortDown, table } = state;
  const entries = [
    ['at', `${lat.toFixed(5)},${wrapLon(lng).toFixed(5)},${map.getZoom()}`],
    ['layer', model.layers[layer].field],
    ['site', chosen >= 0 ? model.text('site_id', chosen) : ''],
    ['hide', filters.hiddenText()],
    ['behind', coverage ?? ''],
    ...ASKED.map((key) => [key, filters.wanted[key] ?? '']),
    ['target', target ?? ''],
    ['satellite', satellite ?? ''],
    ['kit', Number.isInteger(kit) ? model.pairs.text(kit) : ''],
    ['sort', sortBy ? `${sortDown ? '-' : ''}${sortBy}` : ''],
    ['table', table ? '1' : ''],
  ];
  return new URLSearchParams(entries.filter(([, value]) => value !== '').map(([k, v]) => [k, String(v)])).toString();
}

function restoreView(map, at) {
  const [lat, lon, zoom] = (at ?? '').split(',').map(Number);
  if (!(Math.abs(lat) <= 90 && Math.abs(lon) <= 360 && zoom >= 1 && zoom <= 18)) return;
  map.setView([lat, lon], zoom, { animate: false });
}

function restoreWhatif(model, store, asked) {
  const target = model.whatif ? numberIn(asked.get('target'), ...reachOf(model.whatif)) : null;
  const satellite = numberIn(asked.get('satellite'), -360, 360);
  const k = model.pairs && target === null && satellite === null ? model.pairs.find(asked.get('kit') ?? '') : -1;
  store.set({ target, satellite, kit: k < 0 ? null : k });
}

function restoreSort(model, store, sort) {
  const [, down, sortBy] = /^(-?)(\w*)$/.exec(sort ?? '') ?? [];
  store.set({ sortBy: model.has(sortBy) ? sortBy : '', sortDown: down === '-' });
}

/** The site of an id: as it is written, else with the plus signs that links read as blanks, else in any case. */
function siteOf(model, id) {
  const name = model.column('site_id');
  const ids = Array.from({ length: model.count }, (_, i) => String(name(i)));
  const ways = [(x) => x === id, (x) => x === id.replaceAll(' ', '+'), (x) => x.toLowerCase() === id.toLowerCase()];
  return ways.reduce((found, isIt) => (found < 0 ? ids.findIndex(isIt) : found), -1);
}

/** Choose the site that a link names; a link that tells no view goes there. */
function restoreSite(model, store, id, goTo) {
  const i = id === null ? -1 : siteOf(model, id);
  byId('view-note').hidden = id === null || i >= 0;
  byId('view-note').textContent = `No site ${id} on this map.`;
  if (i >= 0 && goTo) goTo(i);
  else store.set({ chosen: i, under: [], ...(i >= 0 ? { cursor: i } : {}) });
}

function restoreFilters(filters, asked) {
  filters.set({
    ...Object.fromEntries(ASKED.map((key) => [key, asked.get(key) ?? ''])),
    least: numberIn(asked.get('least'), -999, 999),
    most: numberIn(asked.get('most'), -999, 999),
  });
}

async function copy(link) {
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

/** What a link may tell. */
const KNOWN = ['at', 'layer', 'site', 'hide', 'behind', 'target', 'satellite', 'sort', 'table', ...ASKED];

/** How near a link goes to a site that it names alone. */
const NEAR = 8;

export function makeHash(map, model, store, { filters, legend, goTo }) {
  let restoring = false;
  let written = '';
  let waiting = 0;

  const text = () => textOf(map, model, store.state, filters);

  /** Bring back what a link asks for; what it asks wrongly is left as it is. */
  function restore() {
    const given = window.location.hash.slice(1);
    if (!given || given === written) return;
    const asked = new URLSearchParams(given);
    if (!KNOWN.some((key) => asked.has(key))) return;
    restoring = true;
    restoreWhatif(model, store, asked);
    legend.showField(asked.get('layer') ?? '');
    filters.setHidden(asked.get('hide') ?? '');
    if (asked.has('behind')) store.set({ coverage: asked.get('behind') });
    restoreFilters(filters, asked);
    restoreSort(model, store, asked.get('sort'));
    store.set({ table: asked.get('table') === '1' });
    restoreSite(model, store, asked.get('site'), asked.has('at') ? null : (i) => goTo(i, NEAR));
    restoreView(map, asked.get('at'));
    restoring = false;
  }

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

  store.on(['chosen'], ({ chosen }) => { byId('view-note').hidden ||= chosen >= 0; });
  restore();
  window.addEventListener('hashchange', restore);
  map.on('moveend', write);
  store.on(['layer', 'chosen', 'filtering', 'target', 'satellite', 'kit', 'sortBy', 'sortDown', 'table', 'coverage'], write);
  byId('copy-link').addEventListener('click', () => copy(`${window.location.href.split('#')[0]}#${text()}`));
  return { text, restore };
}
