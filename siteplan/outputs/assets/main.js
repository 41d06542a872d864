/* Puts the parts together. */
SP.start = function (id, options) {
  const EDGE = SP.geo.LIMIT;
  const model = SP.data.read();
  const store = SP.makeStore({
    layer: 0, filtering: 0, chosen: -1, cursor: -1, under: [],
    hubLine: false, bearings: 'none', panelOpen: false,
  });
  const map = L.map(id, { ...options, maxBounds: [[-EDGE, -72000], [EDGE, 72000]] });
  map.attributionControl.setPrefix(false).addAttribution('Land and borders: Natural Earth, good to about 2 km');
  L.control.zoom({ position: 'topright' }).addTo(map);
  const isWide = () => window.matchMedia('(min-width: 760px)').matches;

  /** Show all sites, clear of the panel that lies over the map's left side. */
  function fit() {
    const [south, west, north, east] = model.view;
    map.invalidateSize({ animate: false, pan: false });
    const left = isWide() ? SP.id('panel').offsetWidth + 24 : 24;
    map.fitBounds([[south, west], [north, east]], {
      paddingTopLeft: [left, 34], paddingBottomRight: [isWide() ? 64 : 30, 34], maxZoom: 11, animate: false,
    });
  }

  fit();
  SP.basemap.add(map);
  const coverage = SP.attempt('coverage', () => SP.makeCoverage(map, model));
  const filters = SP.makeFilters(model, store);
  const points = SP.makePoints(map, model, store, filters);
  const overlay = SP.makeOverlay(map, model, store, points);
  SP.makeLegend(model, store, filters);
  fit();

  const focusMap = () => map.getContainer().focus({ preventScroll: true });
  const card = SP.makeCard(model, store, { focusMap, showSite: choose });
  const dialogs = SP.makeDialogs(model, map);

  /** Choose a site: its card opens, and the map moves where the card would cover it. */
  function choose(i, under = store.state.under) {
    store.set({ chosen: i, cursor: i, under });
    requestAnimationFrame(() => reveal(i));
  }

  function reveal(i) {
    if (i < 0) return;
    const wide = isWide();
    map.panInside(points.latLng(i), {
      paddingTopLeft: [wide ? SP.id('panel').offsetWidth + 40 : 40, 40],
      paddingBottomRight: wide ? [SP.id('card').offsetWidth + 40, 40] : [40, cover() + 40],
    });
  }

  /** How much of the map's foot the card covers on a narrow screen [CSS pixels]. */
  function cover() {
    const foot = map.getContainer().getBoundingClientRect().bottom;
    return Math.max(0, foot - SP.id('card').getBoundingClientRect().top);
  }

  /** Step through the sites in view with the keyboard. */
  function step(by) {
    const sites = points.inView();
    if (!sites.length) return;
    const { cursor, chosen } = store.state;
    const at = sites.indexOf(cursor);
    const next = sites[(at < 0 ? (by > 0 ? 0 : sites.length - 1) : at + by + sites.length) % sites.length];
    if (chosen >= 0) choose(next, []);
    else {
      store.set({ cursor: next });
      focusMap();
    }
    const margin = model.text('margin_db', next);
    SP.id('said').textContent = `${card.name(next)}, ${margin ? `margin ${margin}` : 'no margin'}`;
  }

  SP.attempt('the pointer', () => SP.makePointer(map, model, store, points, choose));
  SP.attempt('the keyboard', () => SP.makeKeys(model, store, {
    step,
    openCursor: () => store.state.cursor >= 0 && choose(store.state.cursor, []),
    shut: card.shut,
    fit,
    showAll: filters.clear,
    help: () => dialogs.open('help'),
  }));
  SP.attempt('the scale bar', () => L.control.scale({ imperial: false, position: 'bottomright' }).addTo(map));
  SP.attempt('following the size of the window', () => {
    new ResizeObserver(() => map.invalidateSize({ animate: false })).observe(map.getContainer());
  });
  SP.id('fit').addEventListener('click', fit);
  map.getContainer().setAttribute('aria-label', 'Map of the sites. Press N for the next site, Enter for its card.');
  Object.assign(SP, { map, model, store, filters, points, overlay, coverage });
};
