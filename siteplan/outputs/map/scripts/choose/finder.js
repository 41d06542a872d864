/* 'Find': search by id or name, and filters by group, flag, mount, antenna, BUC and margin. */
import { byId, el } from '../base/core.js';

/** So many sites are listed at most. */
const FOUND = 6;

/** Distinct texts of a field, the most frequent first. */
function distinct(model, field) {
  const counts = new Map();
  const value = model.column(field);
  for (let i = 0; i < model.count; i++) {
    for (const x of field === 'flags' ? model.codesOf(value(i)) : [value(i)]) {
      if (x !== null && x !== '') counts.set(x, (counts.get(x) ?? 0) + 1);
    }
  }
  return [...counts].sort((a, b) => b[1] - a[1]).map(([x]) => x);
}

/** Sizes of the antennas as choices, the smallest first. */
function sizes(model) {
  const found = distinct(model, 'antenna_m').sort((a, b) => a - b);
  return [...found.map((m) => [String(m), `${m} m`]), ['none', 'none']];
}

/** What stands of a mount: to be surveyed, or decided. */
const surveys = (model) => distinct(model, 'mount_certainty').sort().reverse()
  .map((x) => [x, x === 'provisional' ? 'to be surveyed' : x]);

const option = (value, text) => el('option', { value, text });

const number = (text) => (text.trim() === '' || !Number.isFinite(Number(text)) ? null : Number(text));

export function makeFinder(model, store, filters, choose) {
  const words = byId('find-words');
  const list = byId('find-list');

  function fill(id, entries) {
    const select = byId(id);
    select.replaceChildren(option('', 'any'), ...entries.map(([value, text]) => option(value, text)));
    select.closest('.ask').hidden = !entries.length;
    select.addEventListener('change', () => filters.set({ [id.slice(5)]: select.value }));
  }

  function build() {
    fill('find-group', distinct(model, 'group').sort().map((x) => [x, x]));
    fill('find-mount', distinct(model, 'mount').map((x) => [x, x.replaceAll('_', ' ')]));
    fill('find-antenna', sizes(model));
    fill('find-survey', surveys(model));
    fill('find-buc', distinct(model, 'buc_w').sort((a, b) => a - b).map((w) => [String(w), `${w} W`]));
    fill('find-flag', [['stop', 'not served as planned'], ['served', 'served as planned'], ['served_short', 'served, under the reserve'],
      ...distinct(model, 'flags').map((c) => [c, model.flags[c]?.meaning ?? c])]);
    for (const id of ['find-least', 'find-most']) {
      byId(id).addEventListener('input', () => filters.set({ [id.slice(5)]: number(byId(id).value) }));
    }
  }

  /** Sites that match, exact ids first, then in order of need. */
  function matches() {
    const asked = words.value.trim().toLowerCase();
    if (!asked) return [];
    const found = [];
    for (let i = 0; i < model.count; i++) if (filters.shown[i]) found.push(i);
    const exact = (i) => (model.text('site_id', i).toLowerCase() === asked ? 0 : 1);
    return found.sort((a, b) => exact(a) - exact(b)).slice(0, FOUND);
  }

  function showMatches() {
    const found = matches();
    list.replaceChildren(...found.map((i) => el('li', {}, [el('button', {
      type: 'button', class: 'found', dir: 'auto', on: { click: () => choose(i, []) },
    }, [
      el('bdi', { class: 'found-name', text: model.label(i) }),
      el('bdi', { class: 'found-id', text: model.text('site_id', i) }),
    ])])));
    byId('find-none').hidden = Boolean(found.length) || !words.value.trim();
  }

  /** Show in the fields what is asked for, whoever asked. */
  function mirror() {
    const { wanted } = filters;
    if (document.activeElement !== words) words.value = wanted.words;
    for (const key of ['group', 'mount', 'survey', 'antenna', 'buc', 'flag']) byId(`find-${key}`).value = wanted[key];
    for (const key of ['least', 'most']) {
      const input = byId(`find-${key}`);
      if (document.activeElement !== input) input.value = wanted[key] ?? '';
    }
    showMatches();
  }

  build();
  words.addEventListener('input', () => filters.set({ words: words.value.trim() }));
  words.addEventListener('keydown', (event) => {
    if (event.key !== 'Enter') return;
    const [first] = matches();
    if (first !== undefined) choose(first, []);
  });
  byId('find-clear').addEventListener('click', () => {
    words.value = '';
    filters.clear();
  });
  store.on(['filtering'], mirror);
}
