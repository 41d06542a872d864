/* The table beside the map: the shown sites, sorted, in step with the map. Only rows in sight exist. */
import { byId, el, isWide, nextFrame, styleOf } from '../base/core.js';

export function makeTable(map, model, store, { filters, live, points, selection, choose }) {
  const FIELDS = ['site_id', 'name', 'margin_db', 'limiting_direction', 'elevation_deg', 'antenna_m', 'buc_w', 'mount', 'flags'];
  const SPARE = 6;
  const dock = byId('dock');
  const frame = byId('table-frame');
  const collator = new Intl.Collator(undefined, { numeric: true });
  let rows = [];
  const rowHeight = () => Number.parseFloat(styleOf('--row')) || 36;

  /** The columns: the usual ones, and the layer's field. */
  function columns() {
    const { field } = model.layers[store.state.layer];
    const usual = FIELDS.filter((name) => model.has(name));
    return usual.includes(field) ? usual : [...usual, field];
  }

  /** Place of every site in order of need: the worst first. */
  function rank() {
    const place = new Uint32Array(model.count);
    live.now.order.forEach((i, k) => { place[i] = model.count - k; });
    return place;
  }

  function compare(a, b) {
    if (typeof a === 'number' && typeof b === 'number') return a - b;
    return collator.compare(String(a), String(b));
  }

  function sorted(sites) {
    const { sortBy, sortDown } = store.state;
    if (!sortBy || !model.has(sortBy)) {
      const place = rank();
      return sites.sort((a, b) => place[a] - place[b]);
    }
    const value = Array.from(sites, (i) => live.value(sortBy, i));
    const order = [...sites.keys()].sort((a, b) => {
      const [x, y] = [value[a], value[b]];
      const [none, other] = [x === null || x === '', y === null || y === ''];
      if (none || other) return none - other;
      return compare(x, y) * (sortDown ? -1 : 1);
    });
    return order.map((k) => sites[k]);
  }

  function listed() {
    const sites = byId('only-view').checked
      ? points.inView()
      : [...filters.shown.keys()].filter((i) => filters.shown[i]);
    return sorted(sites);
  }

  function headCell(field) {
    const { sortBy, sortDown } = store.state;
    const on = sortBy === field;
    const { label, unit } = model.fields[field];
    const button = el('button', {
      type: 'button', text: (unit ? `${label} [${unit}]` : label) + (on ? (sortDown ? ' ▼' : ' ▲') : ''),
      on: { click: () => sortOn(field) },
    });
    const th = el('th', { scope: 'col', 'data-field': field }, [button]);
    if (on) th.setAttribute('aria-sort', sortDown ? 'descending' : 'ascending');
    return th;
  }

  /** Up, then down, then back to the worst first. */
  function sortOn(field) {
    const { sortBy, sortDown } = store.state;
    if (sortBy !== field) store.set({ sortBy: field, sortDown: false });
    else if (!sortDown) store.set({ sortDown: true });
    else store.set({ sortBy: '', sortDown: false });
    byId('table-head').querySelector(`[data-field="${field}"] button`)?.focus();
  }

  function head() {
    const select = el('th', { scope: 'col', class: 'narrow' }, [el('span', { class: 'unseen', text: 'Selected' })]);
    byId('table-head').replaceChildren(el('tr', {}, [select, ...columns().map(headCell)]));
  }

  function text(field, i) {
    const found = live.text(field, i);
    if (field === 'mount' || field === 'cable_class') return found.replaceAll('_', ' ');
    if (field === 'flags') return found.replaceAll(';', ', ').replaceAll('_', ' ');
    return found;
  }

  function cell(field, i) {
    const has = { dir: 'auto', class: live.isStale(field) ? 'stale' : null };
    const shown = text(field, i);
    if (field !== 'site_id') return el('td', { ...has, text: shown, title: shown.length > 24 ? shown : null });
    return el('th', { ...has, scope: 'row' }, [el('button', {
      type: 'button', class: 'goto', text: shown, on: { click: () => open(i) },
    })]);
  }

  /** Choose a site; on a narrow screen the table lies over its card, and closes. */
  function open(i) {
    if (!isWide()) store.set({ table: false });
    choose(i, []);
  }

  function row(i, k, fields) {
    const box = el('input', { type: 'checkbox', 'aria-label': `Select ${model.text('site_id', i)}` });
    box.checked = Boolean(store.state.selected[i]);
    box.addEventListener('change', () => selection.toggle(i));
    const failing = live.now.failing[i] ? 'failing' : '';
    return el('tr', {
      class: `${failing} ${store.state.chosen === i ? 'chosen' : ''}`.trim() || null,
      'aria-rowindex': String(k + 2),
      'data-site': String(i),
      'aria-current': store.state.chosen === i ? 'true' : null,
    }, [el('td', { class: 'narrow' }, [el('label', { class: 'tick' }, [box])]), ...fields.map((f) => cell(f, i))]);
  }

  const gap = (height) => (height > 0
    ? [el('tr', { class: 'gap', 'aria-hidden': 'true' }, [el('td', { style: `height:${height}px;padding:0` })])]
    : []);

  /** What has the focus, so that it keeps it when rows are made anew. */
  function focused() {
    const node = document.activeElement;
    const site = byId('table-body').contains(node) ? node.closest('tr')?.dataset.site : undefined;
    return site === undefined ? null : { site, kind: node.tagName };
  }

  function draw() {
    if (dock.hidden) return;
    const height = rowHeight();
    const top = Math.min(frame.scrollTop, Math.max(0, rows.length * height - frame.clientHeight));
    const first = Math.max(0, Math.floor(top / height) - SPARE);
    const last = Math.min(rows.length, Math.ceil((frame.scrollTop + frame.clientHeight) / height) + SPARE);
    const fields = columns();
    const kept = focused();
    byId('table-body').replaceChildren(
      ...gap(first * height),
      ...rows.slice(first, last).map((i, k) => row(i, first + k, fields)),
      ...gap((rows.length - last) * height),
    );
    byId('table').setAttribute('aria-rowcount', String(rows.length + 1));
    if (kept) byId('table-body').querySelector(`[data-site="${kept.site}"] ${kept.kind}`)?.focus({ preventScroll: true });
  }

  function build() {
    if (dock.hidden) return;
    rows = listed();
    const lowest = rows.length * rowHeight() - frame.clientHeight / 2;
    if (frame.scrollTop > lowest) frame.scrollTop = Math.max(0, lowest);
    head();
    draw();
  }

  /** Bring a site's row in sight. */
  function reveal(i) {
    const k = rows.indexOf(i);
    if (dock.hidden || k < 0) return;
    const height = rowHeight();
    const head_ = byId('table-head').offsetHeight;
    const top = k * height;
    if (top < frame.scrollTop) frame.scrollTop = top;
    else if (top + height + head_ > frame.scrollTop + frame.clientHeight) frame.scrollTop = top + height + head_ - frame.clientHeight;
  }

  /** Arrow keys go from row to row. */
  function arrows(event) {
    const by = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    const kept = focused();
    if (!by || !kept) return;
    event.preventDefault();
    const next = rows[rows.indexOf(Number(kept.site)) + by];
    if (next === undefined) return;
    reveal(next);
    draw();
    byId('table-body').querySelector(`[data-site="${next}"] ${kept.kind}`)?.focus({ preventScroll: true });
  }

  function toggle(shown) {
    dock.hidden = !shown;
    byId('open-table').setAttribute('aria-expanded', String(shown));
    map.invalidateSize({ animate: false });
    build();
    reveal(store.state.chosen);
  }

  const soon = nextFrame(draw);
  frame.addEventListener('scroll', soon);
  byId('table-body').addEventListener('keydown', arrows);
  byId('only-view').addEventListener('change', build);
  map.on('moveend', () => byId('only-view').checked && build());
  byId('open-table').addEventListener('click', () => store.set({ table: !store.state.table }));
  byId('close-table').addEventListener('click', () => {
    store.set({ table: false });
    byId('open-table').focus();
  });
  store.on(['table'], ({ table }) => toggle(table));
  store.on(['filtering', 'live', 'sortBy', 'sortDown', 'layer'], build);
  store.on(['selection'], draw);
  store.on(['chosen'], ({ chosen }) => {
    reveal(chosen);
    draw();
  });
  return { rows: () => rows };
}
