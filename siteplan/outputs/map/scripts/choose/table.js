/* The table beside the map: the shown sites, sorted, in step with the map. Only rows in sight exist. */
import { byId, isWide, nextFrame, styleOf } from '../base/core.js';
import { columns, gap, headRow, siteRow } from './rows.js';
import { nextSort, selectedFirst, sorted } from './sorting.js';

/** Rows made above and below those in sight. */
const SPARE = 6;

/** A row and the line below it [CSS pixels]. */
const rowHeight = () => (Number.parseFloat(styleOf('--row')) || 36) + 1;

/** What has the focus, so that it keeps it when rows are made anew. */
function focused() {
  const node = document.activeElement;
  const site = byId('table-body').contains(node) ? node.closest('tr')?.dataset.site : undefined;
  return site === undefined ? null : { site, kind: node.tagName };
}

const focusOn = ({ site, kind }) =>
  byId('table-body').querySelector(`[data-site="${site}"] ${kind}`)?.focus({ preventScroll: true });

/** The first row that is made, and the one after the last. */
function inSight(frame, count, height) {
  const top = Math.min(frame.scrollTop, Math.max(0, count * height - frame.clientHeight));
  const last = Math.ceil((frame.scrollTop + frame.clientHeight) / height) + SPARE;
  return [Math.max(0, Math.floor(top / height) - SPARE), Math.min(count, last)];
}

/** Scroll as little as brings the k-th row in sight, with a whole row below the headings. */
function scrollTo(frame, k, height) {
  const top = k * height;
  const room = frame.clientHeight - byId('table-head').offsetHeight - height;
  if (top < frame.scrollTop) frame.scrollTop = top;
  else if (top > frame.scrollTop + room) frame.scrollTop = Math.min(top, Math.ceil((top - room) / height) * height);
}

/** Ticks rows of the table, and tells while it does: a row that is ticked stays under the reader's hand. */
function ticker(selection) {
  let busy = false;
  return {
    busy: () => busy,
    toggle(i) {
      busy = true;
      selection.toggle(i);
      busy = false;
    },
  };
}

export function makeTable(map, model, store, { filters, live, points, selection, choose }) {
  const dock = byId('dock');
  const frame = byId('table-frame');
  let rows = [];

  const inOrder = () =>
    sorted(byId('only-view').checked ? points.inView() : filters.sites(), model, live, store.state);
  const listed = () =>
    (byId('selected-first').checked ? selectedFirst(inOrder(), store.state.selected) : inOrder());

  function sortOn(field) {
    store.set(nextSort(store.state, field));
    byId('table-head').querySelector(`[data-field="${field}"] button`)?.focus();
  }

  /** Choose a site; on a narrow screen the table lies over its card, and closes. */
  function open(i) {
    if (!isWide()) store.set({ table: false });
    choose(i, []);
  }

  const ticks = ticker(selection);
  /** What a row takes. */
  const parts = { model, state: store.state, live, open, toggle: ticks.toggle };

  function draw() {
    if (dock.hidden) return;
    const height = rowHeight();
    const [first, last] = inSight(frame, rows.length, height);
    const fields = columns(model, store.state.layer);
    const kept = focused();
    byId('table-body').replaceChildren(
      ...gap(first * height),
      ...rows.slice(first, last).map((i, k) => siteRow(i, first + k, fields, parts)),
      ...gap((rows.length - last) * height),
    );
    byId('table').setAttribute('aria-rowcount', String(rows.length + 1));
    if (kept) focusOn(kept);
  }

  function build() {
    if (dock.hidden) return;
    rows = listed();
    const lowest = rows.length * rowHeight() - frame.clientHeight / 2;
    if (frame.scrollTop > lowest) frame.scrollTop = Math.max(0, lowest);
    byId('table-head').replaceChildren(headRow(model, store.state, { sortOn, live }));
    draw();
  }

  /** Bring a site's row in sight. */
  function reveal(i) {
    const k = rows.indexOf(i);
    if (!dock.hidden && k >= 0) scrollTo(frame, k, rowHeight());
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
    focusOn({ site: next, kind: kept.kind });
  }

  function toggle(shown) {
    dock.hidden = !shown;
    byId('open-table').setAttribute('aria-expanded', String(shown));
    map.invalidateSize({ animate: false });
    build();
    reveal(store.state.chosen);
  }

  frame.addEventListener('scroll', nextFrame(draw));
  byId('table-body').addEventListener('keydown', arrows);
  for (const id of ['only-view', 'selected-first']) byId(id).addEventListener('change', build);
  map.on('moveend', () => byId('only-view').checked && build());
  byId('open-table').addEventListener('click', () => store.set({ table: !store.state.table }));
  byId('close-table').addEventListener('click', () => {
    store.set({ table: false });
    byId('open-table').focus();
  });
  store.on(['table'], ({ table }) => toggle(table));
  store.on(['filtering', 'live', 'sortBy', 'sortDown', 'layer'], build);
  store.on(['selection'], () => (byId('selected-first').checked && !ticks.busy() ? build() : draw()));
  store.on(['chosen'], ({ chosen }) => {
    reveal(chosen);
    draw();
  });
  return { rows: () => rows };
}
