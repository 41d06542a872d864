/* 'Find': search by id or name, and filters by group, flag, mount, antenna and margin. */
SP.makeFinder = function (model, store, filters, choose) {
  const FOUND = 6;
  const words = SP.id('find-words');
  const list = SP.id('find-list');

  /** Distinct texts of a field, the most frequent first. */
  function distinct(field) {
    const counts = new Map();
    const value = model.column(field);
    for (let i = 0; i < model.count; i++) {
      for (const x of field === 'flags' ? model.codesOf(value(i)) : [value(i)]) {
        if (x !== null && x !== '') counts.set(x, (counts.get(x) ?? 0) + 1);
      }
    }
    return [...counts].sort((a, b) => b[1] - a[1]).map(([x]) => x);
  }

  const option = (value, text) => SP.el('option', { value, text });

  function fill(id, entries) {
    const select = SP.id(id);
    select.replaceChildren(option('', 'any'), ...entries.map(([value, text]) => option(value, text)));
    select.closest('.ask').hidden = !entries.length;
    select.addEventListener('change', () => filters.set({ [id.slice(5)]: select.value }));
  }

  function sizes() {
    const found = distinct('antenna_m').sort((a, b) => a - b);
    return [...found.map((m) => [String(m), `${m} m`]), ['none', 'none']];
  }

  function build() {
    fill('find-group', distinct('group').sort().map((x) => [x, x]));
    fill('find-mount', distinct('mount').map((x) => [x, x.replaceAll('_', ' ')]));
    fill('find-antenna', sizes());
    fill('find-flag', [['stop', 'not served as planned'],
      ...distinct('flags').map((c) => [c, model.flags[c]?.meaning ?? c])]);
    for (const id of ['find-least', 'find-most']) {
      SP.id(id).addEventListener('input', () => filters.set({ [id.slice(5)]: number(SP.id(id).value) }));
    }
  }

  const number = (text) => (text.trim() === '' || !Number.isFinite(Number(text)) ? null : Number(text));

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
    list.replaceChildren(...found.map((i) => SP.el('li', {}, [SP.el('button', {
      type: 'button', class: 'found', dir: 'auto', on: { click: () => choose(i, []) },
    }, [
      SP.el('bdi', { class: 'found-name', text: model.label(i) }),
      SP.el('bdi', { class: 'found-id', text: model.text('site_id', i) }),
    ])])));
    SP.id('find-none').hidden = Boolean(found.length) || !words.value.trim();
  }

  /** Show in the fields what is asked for, whoever asked. */
  function mirror() {
    const { wanted } = filters;
    if (document.activeElement !== words) words.value = wanted.words;
    for (const key of ['group', 'mount', 'antenna', 'flag']) SP.id(`find-${key}`).value = wanted[key];
    for (const key of ['least', 'most']) {
      const input = SP.id(`find-${key}`);
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
  SP.id('find-clear').addEventListener('click', () => {
    words.value = '';
    filters.clear();
  });
  store.on(['filtering'], mirror);
};
