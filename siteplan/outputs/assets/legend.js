/* The panel: which layer colours the sites, and the legend whose rows filter them. */
SP.makeLegend = function (model, store, filters) {
  const BEARINGS = {
    drawn: 'Stroke at a site: bearing to the satellite.',
    crowded: 'Zoom in for bearings to the satellite.',
    none: 'No site in view.',
  };
  const titleOf = (layer) => model.fields[layer.field].label;
  const withUnit = (layer) => {
    const { label, unit } = model.fields[layer.field];
    return unit ? `${label} [${unit}]` : label;
  };

  function layerButton(layer, k) {
    const key = k < 9 ? SP.el('kbd', { text: String(k + 1), 'aria-hidden': 'true' }) : '';
    const name = SP.el('span', { text: titleOf(layer) });
    return SP.el('button', {
      type: 'button',
      'data-layer': layer.field,
      on: { click: () => store.set({ layer: k, panelOpen: false }) },
    }, [name, key]);
  }

  function buildLayers() {
    SP.id('layer-list').replaceChildren(...model.layers.map(layerButton));
  }

  function markLayer() {
    [...SP.id('layer-list').children].forEach((button, k) => {
      button.setAttribute('aria-pressed', String(k === store.state.layer));
    });
  }

  /** "12", or "5 of 12" where a filter of another layer hides some. */
  const countText = (left, total) => (left === total ? String(total) : `${left} of ${total}`);

  function row(k, code, style, { left, total }) {
    const hidden = filters.isHidden(k, code);
    const count = countText(left, total);
    return SP.el('button', {
      type: 'button',
      class: 'row',
      'data-code': String(code),
      'aria-pressed': String(!hidden),
      'aria-label': `${style.label}: ${count} sites, ${hidden ? 'hidden' : 'shown'}`,
      title: hidden ? 'Show these sites' : 'Hide these sites',
      on: { click: () => filters.toggle(k, code) },
    }, [
      SP.markers.swatch(style),
      SP.el('span', { class: 'row-label', text: style.label }),
      SP.el('span', { class: 'row-count', text: count }),
    ]);
  }

  /** Build the rows anew, and leave the focus on the row that had it. */
  function buildRows() {
    const k = store.state.layer;
    const layer = model.layers[k];
    const focused = SP.id('legend').contains(document.activeElement)
      ? document.activeElement.dataset.code
      : null;
    const { total, left } = filters.counts(k);
    const rows = layer.classes
      .map((style, code) => ({ style, code }))
      .filter(({ style, code }) => !style.blank || total[code])
      .map(({ style, code }) => row(k, code, style, { left: left[code], total: total[code] }));
    SP.id('legend').replaceChildren(...rows);
    if (focused !== null) SP.id('legend').querySelector(`[data-code="${focused}"]`)?.focus();
  }

  /** What the markers say beside their class. */
  function keyText() {
    const parts = [];
    if (model.layers[store.state.layer].kind !== 'verdict' && model.failing.includes(1)) {
      parts.push('Heavy outline: not served as planned.');
    }
    parts.push(BEARINGS[store.state.bearings]);
    return parts.join(' ');
  }

  function showTexts() {
    const layer = model.layers[store.state.layer];
    SP.id('legend-title').textContent = withUnit(layer);
    SP.id('legend-meaning').textContent = model.fields[layer.field].meaning;
    SP.id('legend-key').textContent = keyText();
    showToggle(layer);
  }

  function showToggle(layer) {
    const open = store.state.panelOpen;
    const button = SP.id('panel-toggle');
    button.textContent = open ? 'Close the list of layers' : `Layer: ${titleOf(layer)}`;
    button.setAttribute('aria-expanded', String(open));
    SP.id('panel').classList.toggle('open', open);
  }

  function showCount() {
    const count = filters.shownCount();
    const noun = model.count === 1 ? 'site' : 'sites';
    SP.id('shown').textContent = `${countText(count, model.count)} ${noun} shown`;
    SP.id('show-all').hidden = !filters.any();
  }

  function all() {
    markLayer();
    showTexts();
    buildRows();
    showCount();
  }

  buildLayers();
  all();
  SP.id('panel-toggle').addEventListener('click', () =>
    store.set({ panelOpen: !store.state.panelOpen }));
  SP.id('show-all').addEventListener('click', filters.clear);
  store.on(['layer', 'filtering'], all);
  store.on(['panelOpen', 'bearings'], showTexts);
};
