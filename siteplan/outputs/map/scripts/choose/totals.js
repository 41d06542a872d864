/* What the selection adds up to, and the selection as a file. */
import { byId, el } from '../base/core.js';
import { download } from '../base/csv.js';

export function makeTotals(model, store, { filters, selection }) {
  /** "8 × 1.2 m, 3 × 1.8 m" of one field over some sites; of those that are open, how many. */
  function tally(field, sites, isOpen = () => false) {
    const counts = new Map();
    const open = new Map();
    for (const i of sites) {
      const text = model.text(field, i).replaceAll('_', ' ') || 'none';
      counts.set(text, (counts.get(text) ?? 0) + 1);
      if (isOpen(i)) open.set(text, (open.get(text) ?? 0) + 1);
    }
    return [...counts].sort((a, b) => a[0].localeCompare(b[0], undefined, { numeric: true }))
      .map(([text, count]) => `${count} × ${text}${open.has(text) ? ` (${open.get(text)} to be surveyed)` : ''}`)
      .join(', ');
  }

  const isProvisional = (i) => model.text('mount_certainty', i) === 'provisional';

  const part = (label, text) => el('div', {}, [el('dt', { text: label }), el('dd', { text, dir: 'auto' })]);

  function show() {
    const sites = selection.sites();
    const failing = sites.filter((i) => model.failing[i]).length;
    byId('selected-count').textContent = sites.length
      ? `${sites.length} selected${failing ? `, ${failing} of them not served as planned` : ''}`
      : 'Nothing selected';
    byId('totals').replaceChildren(...(sites.length ? [
      part('Antennas', tally('antenna_m', sites)),
      part('BUCs', tally('buc_w', sites)),
      part('Mounts', tally('mount', sites, isProvisional)),
    ] : []));
    byId('picked-text').textContent = sites.length
      ? `${byId('selected-count').textContent}. Antennas: ${tally('antenna_m', sites)}`
      : '';
    showPicked();
    byId('clear-selection').disabled = !sites.length;
    byId('export-csv').textContent = sites.length ? 'Save the selected as CSV' : 'Save all shown as CSV';
  }

  /** The count stands on the map where the table is not open to tell it. */
  function showPicked() {
    const { selectedCount, table, tool } = store.state;
    byId('picked').hidden = !selectedCount || table || Boolean(tool);
  }

  /** The fields of some sites as rows: names as in sites.csv, numbers as written there. */
  function rowsOf(sites) {
    const names = model.names.filter((name) => model.fields[name]);
    const numberOf = (name, i) => {
      const value = model.column(name)(i);
      const { decimals } = model.fields[name];
      return typeof value === 'number' && decimals !== null ? (value + 0).toFixed(decimals).replace(/^-(0\.?0*)$/, '$1') : value;
    };
    return [
      [...names, ...model.extra.map(({ label }) => label)],
      ...sites.map((i) => [...names.map((name) => numberOf(name, i)), ...model.extra.map(({ value }) => value(i))]),
    ];
  }

  function save() {
    const chosen = selection.sites();
    const sites = chosen.length ? chosen : filters.sites();
    download('sites_selected.csv', rowsOf(sites));
  }

  byId('export-csv').addEventListener('click', save);
  byId('select-shown').addEventListener('click', () =>
    selection.add(filters.sites()));
  byId('clear-selection').addEventListener('click', selection.clear);
  // The button that was pressed goes: the focus goes on to where the work does.
  byId('picked-table').addEventListener('click', () => {
    store.set({ table: true });
    byId('table-frame').focus();
  });
  byId('picked-clear').addEventListener('click', () => {
    selection.clear();
    byId('map').focus({ preventScroll: true });
  });
  store.on(['selection'], show);
  store.on(['table', 'tool'], showPicked);
  show();
  return { rowsOf, tally };
}
