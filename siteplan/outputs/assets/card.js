/* The card of the chosen site. */
SP.makeCard = function (model, store, { focusMap, showSite }) {
  const box = SP.id('card');
  const SEVERITY = { stop: 'Stop', warn: 'Check', note: 'Note' };

  const name = (i) => model.text('name', i) || model.text('site_id', i);

  function term(label, value, meaning) {
    return [
      SP.el('dt', { text: label, title: meaning || null }),
      SP.el('dd', { text: value, dir: 'auto' }),
    ];
  }

  /** The rows of one group, without the fields that this site has no value for. */
  function group({ heading, fields }, i) {
    const rows = fields
      .filter((field) => model.text(field, i) !== '')
      .flatMap((field) => term(model.fields[field].label, shown(field, i), model.fields[field].meaning));
    return section(heading, rows);
  }

  /** Codes of the plan (non_penetrating) read as words. */
  function shown(field, i) {
    const text = model.text(field, i);
    return ['mount', 'structure', 'kit_source'].includes(field) ? text.replaceAll('_', ' ') : text;
  }

  function section(heading, rows) {
    if (!rows.length) return [];
    return [SP.el('section', {}, [SP.el('h3', { text: heading }), SP.el('dl', {}, rows)])];
  }

  function extras(i) {
    const rows = model.extra
      .map(({ label, value }) => ({ label, text: String(value(i) ?? '') }))
      .filter(({ text }) => text !== '')
      .flatMap(({ label, text }) => term(label, text));
    return section('From the sites table', rows);
  }

  function flagItem(code) {
    const flag = model.flags[code] ?? { severity: 'note', meaning: code };
    return SP.el('li', { class: `flag-${flag.severity}`, 'data-flag': code }, [
      SP.el('strong', { text: `${SEVERITY[flag.severity] ?? 'Note'}: ` }),
      SP.el('span', { text: flag.meaning }),
    ]);
  }

  function flags(i) {
    const codes = model.codesOf(model.column('flags')(i));
    const notes = model.text('flag_notes', i);
    if (!codes.length && !notes) return [];
    const list = SP.el('ul', { class: 'flags' }, codes.map(flagItem));
    const rest = notes ? [SP.el('p', { class: 'notes', dir: 'auto', text: notes })] : [];
    return [SP.el('section', {}, [SP.el('h3', { text: 'Flags' }), list, ...rest])];
  }

  /** The verdict at the head: the marker, the margin and what it means. */
  function verdict(i) {
    const layer = model.layers.find(({ kind }) => kind === 'verdict');
    if (!layer) return [];
    const style = layer.classes[layer.codes[i]];
    const margin = model.text('margin_db', i);
    const limit = model.text('limiting_direction', i);
    const text = margin ? `Margin ${margin}${limit ? `, limited by ${limit}` : ''}` : style.label;
    return [SP.el('p', { class: model.failing[i] ? 'verdict failing' : 'verdict' }, [
      SP.markers.swatch(style),
      SP.el('span', { text: model.failing[i] ? `${text}. Not served as planned.` : text }),
    ])];
  }

  function coordinates(i) {
    const [lat, lon] = [model.column('lat')(i), model.column('lon')(i)];
    const beyond = Math.abs(lat) > SP.geo.LIMIT
      ? [SP.el('p', { class: 'notes', text: 'Drawn at the edge: this map ends at 85° of latitude.' })]
      : [];
    return [
      SP.el('p', { class: 'coordinates', text: `${lat.toFixed(6)}, ${lon.toFixed(6)}` }),
      ...beyond,
    ];
  }

  function head(i) {
    const close = SP.el('button', {
      type: 'button', class: 'card-close', 'aria-label': 'Close the card', text: '×',
      on: { click: shut },
    });
    const title = SP.el('h2', { id: 'card-title', tabindex: '-1', dir: 'auto', text: name(i) });
    const id = SP.el('p', { class: 'card-id', dir: 'auto', text: model.text('site_id', i) });
    return SP.el('div', { class: 'card-head' }, [SP.el('div', {}, [title, id]), close]);
  }

  function hubButton() {
    if (!model.hub) return [];
    return [SP.el('button', {
      type: 'button', id: 'hub-line', text: 'Line to the hub',
      'aria-pressed': String(store.state.hubLine),
      on: { click: () => store.set({ hubLine: !store.state.hubLine }) },
    })];
  }

  /** Other sites under the same pointer, such as two ids at one place. */
  function neighbours() {
    const others = store.state.under.filter((j) => j !== store.state.chosen).slice(0, 8);
    if (!others.length) return [];
    const buttons = others.map((j) => SP.el('button', {
      type: 'button', class: 'also', dir: 'auto', text: name(j), on: { click: () => showSite(j) },
    }));
    return [SP.el('section', { class: 'also-list' }, [SP.el('h3', { text: 'Also here' }), ...buttons])];
  }

  function build(i) {
    const body = SP.el('div', { class: 'card-body', tabindex: '0', role: 'group', 'aria-label': 'Details' }, [
      ...verdict(i),
      ...coordinates(i),
      ...hubButton(),
      ...neighbours(),
      ...flags(i),
      ...model.card.flatMap((part) => group(part, i)),
      ...extras(i),
      SP.el('p', { class: 'notes', text: 'Skew as seen from behind the dish, facing the satellite: '
        + 'clockwise is positive.' }),
    ]);
    box.replaceChildren(head(i), body);
  }

  function show() {
    const i = store.state.chosen;
    box.hidden = i < 0;
    document.body.classList.toggle('has-card', i >= 0);
    if (i < 0) return;
    build(i);
    SP.id('card-title').focus({ preventScroll: true });
  }

  /** Close the card and give the focus back to the map. */
  function shut() {
    store.set({ chosen: -1, under: [] });
    focusMap();
  }

  store.on(['chosen', 'under'], show);
  store.on(['hubLine'], () => {
    SP.id('hub-line')?.setAttribute('aria-pressed', String(store.state.hubLine));
  });
  return { shut, name };
};
