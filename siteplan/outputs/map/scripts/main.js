/* Puts the parts together. */
SP.start = function (id, options) {
  const begin = (raw) => SP.build(id, options, SP.data.read(raw));
  const fail = (error) => {
    SP.id('heading').textContent = 'The map cannot be shown';
    SP.id('facts').replaceChildren(SP.el('div', { role: 'alert', text: error.message }));
    SP.ready = 'failed';
  };
  try {
    const raw = SP.unpack.dataset('siteplan-data');
    if (raw instanceof Promise) raw.then(begin).catch(fail);
    else begin(raw);
  } catch (error) {
    fail(error);
  }
};

/** What the page shows at the start. */
SP.firstState = (model) => ({
  layer: 0, filtering: 0, live: 0, selection: 0, selectedCount: 0, selected: new Uint8Array(model.count),
  chosen: -1, cursor: -1, under: [], hubLine: false, bearings: 'none', graticule: true,
  target: null, satellite: null, tool: '', table: false, sortBy: '', sortDown: false,
  tab: SP.isWide() ? 'layers' : '', mode: 'bright', dms: false, shortcuts: true,
});

SP.isWide = () => window.matchMedia('(min-width: 760px)').matches;

SP.build = function (id, options, model) {
  const EDGE = SP.geo.LIMIT;
  const store = SP.makeStore(SP.firstState(model));
  const map = L.map(id, { ...options, maxBounds: [[-EDGE, -72000], [EDGE, 72000]] });
  map.attributionControl.setPrefix(false).addAttribution('Land and borders: Natural Earth, good to about 2 km');
  L.control.zoom({ position: 'topright' }).addTo(map);
  const settings = SP.makeSettings(model, map, store);

  /** Show all sites, clear of the panel that lies over the map's left side. */
  function fit() {
    const [south, west, north, east] = model.view;
    map.invalidateSize({ animate: false, pan: false });
    const left = SP.isWide() ? SP.id('panel').offsetWidth + 24 : 24;
    map.fitBounds([[south, west], [north, east]], {
      paddingTopLeft: [left, 34], paddingBottomRight: [SP.isWide() ? 64 : 30, 34], maxZoom: 11, animate: false,
    });
  }

  fit();
  const live = SP.makeLive(model, store);
  SP.basemap.add(map, store);
  const backdrop = SP.makeBackdrop(map, model, store);
  const coverage = SP.attempt('coverage', () => SP.makeCoverage(map, model, { store, backdrop }));
  const filters = SP.makeFilters(model, store, live);
  const points = SP.makePoints(map, model, store, { filters, live });
  const overlay = SP.makeOverlay(map, model, store, points);
  const legend = SP.makeLegend(model, store, { filters, live });
  fit();

  const moves = SP.makeMoves(map, model, store, { points, live, filters });
  const selection = SP.makeSelection(model, store);
  const parts = { filters, live, points, selection, choose: moves.choose };
  const budget = SP.makeBudget(model);
  const card = SP.makeCard(model, store, {
    live, budget, notes: SP.makeNotes(model), focusMap: moves.focusMap, showSite: moves.choose,
  });
  const dialogs = SP.makeDialogs(model);
  SP.attempt('search and filters', () => SP.makeFinder(model, store, filters, moves.choose));
  const table = SP.attempt('the table', () => SP.makeTable(map, model, store, parts));
  const totals = SP.attempt('totals of the selection', () => SP.makeTotals(model, store, parts));
  SP.attempt('what-if', () => SP.makeSliders(model, store, live));
  SP.attempt('selecting on the map', () => SP.makeSelectTools(map, store, points, selection));
  SP.attempt('the pointer', () => SP.makePointer(map, model, store, parts));
  SP.attempt('printing', () => SP.makePrinting(map, store, settings));

  SP.attempt('the keyboard', () => SP.makeKeys(model, store, {
    ...moves,
    shut: () => (store.state.tool ? store.set({ tool: '' }) : card.shut()),
    toggleSelected: () => store.state.cursor >= 0 && selection.toggle(store.state.cursor),
    find: () => {
      store.set({ tab: 'find' });
      SP.id('find-words').focus();
    },
    tool: (tool) => store.set({ tool: store.state.tool === tool ? '' : tool }),
    mode: () => settings.setMode(store.state.mode === 'dark' ? 'bright' : 'dark'),
    fit,
    showAll: filters.clear,
    help: () => dialogs.open('help'),
  }));
  SP.attempt('the scale bar', () => L.control.scale({ imperial: false, position: 'bottomright' }).addTo(map));
  SP.attempt('following the size of the window', () => {
    new ResizeObserver(() => map.invalidateSize({ animate: false })).observe(map.getContainer());
  });
  const hash = SP.attempt('the link', () => SP.makeHash(map, model, store, { filters, legend }));
  SP.id('fit').addEventListener('click', fit);
  SP.id('worst').addEventListener('click', moves.nextWorst);
  map.getContainer().setAttribute('aria-label', 'Map of the sites. Press N for the next site, Enter for its card.');
  Object.assign(SP, {
    map, model, store, filters, points, overlay, live, legend, selection, table, totals, hash, backdrop, coverage,
    budgetSteps: budget.steps, ready: true,
  });
  SP.attempt('timing', () => performance.mark('siteplan-ready'));
};
