/* Puts the parts together. */
import { makeBackdrop } from './backdrop/backdrop.js';
import { addBasemap } from './backdrop/basemap.js';
import { makeCoverage } from './backdrop/coverage.js';
import { attempt, byId, el, isWide, makeStore } from './base/core.js';
import { handed } from './base/csv.js';
import { readModel } from './base/data.js';
import { makeDialogs } from './base/dialogs.js';
import { greatCircle, LAT_LIMIT } from './base/geo.js';
import { makeHash } from './base/hash.js';
import { makeKeys } from './base/keys.js';
import { sunTrack } from './base/look.js';
import { makePrinting } from './base/print.js';
import { makeSettings } from './base/settings.js';
import { dataset } from './base/unpack.js';
import { budgetSteps } from './card/budget.js';
import { makeCard } from './card/card.js';
import { makeNotes } from './card/notes.js';
import { makeSliders } from './card/sliders.js';
import { makeLive } from './card/whatif.js';
import { makeFilters } from './choose/filters.js';
import { makeFinder } from './choose/finder.js';
import { makeHistogram } from './choose/histogram.js';
import { makeOneKit } from './choose/onekit.js';
import { makeSelectTools } from './choose/select.js';
import { makeSelection } from './choose/selection.js';
import { makeStrip } from './choose/strip.js';
import { makeTable } from './choose/table.js';
import { makeTotals } from './choose/totals.js';
import { makeFar, makeHome } from './sites/home.js';
import { makeLegend } from './sites/legend.js';
import { makeMoves } from './sites/moves.js';
import { makeOverlay } from './sites/overlay.js';
import { makePointer } from './sites/pointer.js';
import { makePoints } from './sites/points.js';

/** What the page starts, and what it made: the only name that it leaves behind. */
export const siteplan = { start, ready: false, handed, greatCircle, sunTrack };

function start(id, options) {
  const begin = (raw) => build(id, options, readModel(raw));
  const fail = (error) => {
    byId('heading').textContent = 'The map cannot be shown';
    byId('facts').replaceChildren(el('div', { role: 'alert', text: error.message }));
    siteplan.ready = 'failed';
  };
  try {
    const raw = dataset('siteplan-data');
    if (raw instanceof Promise) raw.then(begin).catch(fail);
    else begin(raw);
  } catch (error) {
    fail(error);
  }
}

/** What the page shows at the start. */
const firstState = (model) => ({
  layer: Math.max(0, model.layers.findIndex(({ field }) => field === model.opens_on)), filtering: 0, live: 0, selection: 0, selectedCount: 0, selected: new Uint8Array(model.count),
  chosen: -1, cursor: -1, under: [], hubLine: false, bearings: 'none', graticule: true, names: true, labels: [],
  target: null, satellite: null, kit: null, tool: '', table: false, sortBy: '', sortDown: false,
  tab: isWide() ? 'layers' : '', mode: 'bright', dms: false, shortcuts: true,
});

function build(id, options, model) {
  const EDGE = LAT_LIMIT;
  const store = makeStore(firstState(model));
  const map = L.map(id, { ...options, maxBounds: [[-EDGE, -72000], [EDGE, 72000]] });
  map.attributionControl.setPrefix(false).addAttribution('Land and borders: Natural Earth, good to about 2 km');
  L.control.zoom({ position: 'topright' }).addTo(map);
  const settings = makeSettings(map, store);
  const home = makeHome(map, model);
  home.fit();
  const live = makeLive(model, store);
  addBasemap(map, store);
  const backdrop = makeBackdrop(map, model, store);
  const coverage = attempt('coverage', () => makeCoverage(map, model, { store, backdrop }));
  const filters = makeFilters(model, store, live);
  attempt('the plan in short', () => makeStrip(model, store, { filters, live }));
  const points = makePoints(map, model, store, { filters, live });
  const overlay = makeOverlay(map, model, store, points);
  const legend = makeLegend(model, store, { filters, live });
  home.fit();

  const moves = makeMoves(map, model, store, { points, live, filters });
  const selection = makeSelection(store);
  const parts = { filters, live, points, selection, choose: moves.choose };
  const card = makeCard(model, store, {
    live, notes: makeNotes(model), focusMap: moves.focusMap, showSite: moves.choose,
  });
  const dialogs = makeDialogs(model, store);
  attempt('the way to sites far away', () => makeFar(model, store, moves.goTo));
  attempt('search and filters', () => makeFinder(model, store, filters, moves.choose));
  const table = attempt('the table', () => makeTable(map, model, store, parts));
  const totals = attempt('totals of the selection', () => makeTotals(model, store, parts));
  attempt('what-if', () => makeSliders(model, store, live));
  attempt('the histogram', () => makeHistogram(model, store, { filters, live }));
  attempt('one kit everywhere', () => makeOneKit(model, store, live));
  const tools = attempt('selecting on the map', () => makeSelectTools(map, store, points, selection));
  attempt('the pointer', () => makePointer(map, model, store, parts));
  attempt('printing', () => makePrinting(map, store, settings));

  attempt('the keyboard', () => makeKeys(model, store, {
    ...moves,
    enter: () => (store.state.tool ? tools.enter() : moves.openCursor()),
    shut: () => (store.state.tool ? store.set({ tool: '' }) : card.shut()),
    toggleSelected: () => store.state.cursor >= 0 && selection.toggle(store.state.cursor),
    find: () => {
      store.set({ tab: 'find' });
      byId('find-words').focus();
    },
    tool: (tool) => store.set({ tool: store.state.tool === tool ? '' : tool }),
    mode: () => settings.setMode(store.state.mode === 'dark' ? 'bright' : 'dark'),
    fit: home.fit,
    showAll: filters.clear,
    help: () => dialogs.open('help'),
  }));
  attempt('the scale bar', () => L.control.scale({ imperial: false, position: 'bottomright' }).addTo(map));
  attempt('following the size of the window', () => {
    new ResizeObserver(home.resized).observe(map.getContainer());
  });
  const hash = attempt('the link', () => makeHash(map, model, store, { filters, legend, goTo: moves.goTo }));
  byId('fit').addEventListener('click', home.fit);
  byId('worst').addEventListener('click', moves.nextWorst);
  map.getContainer().setAttribute('aria-label', 'Map of the sites. Press N for the next site, Enter for its card.');
  Object.assign(siteplan, {
    map, model, store, filters, points, overlay, live, legend, selection, table, totals, hash, backdrop, coverage,
    budgetSteps: (i, way) => budgetSteps(model, i, way), ready: true,
  });
  attempt('timing', () => performance.mark('siteplan-ready'));
}
