/* Which sites are shown: the legend's hidden classes and what is asked for in 'Find' add up. */
export function makeFilters(model, store, live) {
  const hidden = model.layers.map(() => new Set());
  const shown = new Uint8Array(model.count).fill(1);
  const NOTHING = { words: '', group: '', flag: '', mount: '', antenna: '', least: null, most: null };
  const wanted = { ...NOTHING };
  const texts = { group: model.column('group'), mount: model.column('mount') };
  const antenna = model.column('antenna_m');
  const flags = model.column('flags');
  let searched = null;

  /** Ids and names as they are searched: small letters, once. */
  const haystack = () => (searched ??= Array.from({ length: model.count }, (_, i) =>
    `${model.text('site_id', i)}\n${model.text('name', i)}`.toLowerCase()));

  /** Tests of what is asked for; each says whether site i passes. */
  function tests() {
    const found = [];
    const { words, group, flag, mount, antenna: size, least, most } = wanted;
    if (words) {
      const hay = haystack();
      const parts = words.toLowerCase().split(/\s+/).filter(Boolean);
      found.push((i) => parts.every((part) => hay[i].includes(part)));
    }
    if (group) found.push((i) => texts.group(i) === group);
    if (mount) found.push((i) => texts.mount(i) === mount);
    if (flag === 'stop') found.push((i) => live.now.failing[i] === 1);
    else if (flag) found.push((i) => model.codesOf(flags(i)).includes(flag));
    if (size === 'none') found.push((i) => antenna(i) === null);
    else if (size) found.push((i) => antenna(i) === Number(size));
    if (least !== null || most !== null) {
      found.push((i) => inRange(live.value('margin_db', i), least, most));
    }
    return found;
  }

  const inRange = (m, least, most) =>
    m !== null && (least === null || m >= least) && (most === null || m <= most);

  function refresh() {
    shown.fill(1);
    model.layers.forEach((_, k) => {
      if (!hidden[k]?.size) return;
      const codes = live.now.codes[k];
      for (let i = 0; i < shown.length; i++) if (hidden[k].has(codes[i])) shown[i] = 0;
    });
    for (const passes of tests()) {
      for (let i = 0; i < shown.length; i++) if (shown[i] && !passes(i)) shown[i] = 0;
    }
    store.set({ filtering: store.state.filtering + 1 });
  }

  /** Hide or show one class of one layer. */
  function toggle(k, code) {
    hidden[k] ??= new Set();
    if (!hidden[k].delete(code)) hidden[k].add(code);
    refresh();
  }

  /** Ask for something else: any of words, group, flag, mount, antenna, least, most. */
  function set(patch) {
    Object.assign(wanted, patch);
    refresh();
  }

  /** Show everything again. */
  function clear() {
    hidden.forEach((set_) => set_.clear());
    set(NOTHING);
  }

  /** Sites of each class of a layer, and how many of them are shown or hidden by this layer only. */
  function counts(k) {
    const { classes } = model.layers[k];
    const codes = live.now.codes[k];
    const total = new Uint32Array(classes.length);
    const left = new Uint32Array(classes.length);
    const others = hidden.map((set_, j) => (j !== k && set_?.size ? j : -1)).filter((j) => j >= 0);
    const passes = tests();
    for (let i = 0; i < codes.length; i++) {
      total[codes[i]] += 1;
      if (others.every((j) => !hidden[j].has(live.now.codes[j][i])) && passes.every((p) => p(i))) left[codes[i]] += 1;
    }
    return { total, left };
  }

  /** The hidden classes as text, for the link that restores the view; and back. */
  const hiddenText = () => hidden
    .map((set_, k) => [model.layers[k]?.field, [...(set_ ?? [])]])
    .filter(([field, codes]) => field && codes.length)
    .map(([field, codes]) => `${field}:${codes.join('.')}`)
    .join(',');

  function setHidden(text) {
    hidden.forEach((set_) => set_.clear());
    for (const part of text.split(',')) {
      const [field, codes = ''] = part.split(':');
      const k = model.layers.findIndex((layer) => layer.field === field);
      const valid = codes.split('.').map(Number).filter((c) => c < model.layers[k]?.classes.length);
      if (k >= 0 && codes) hidden[k] = new Set(valid);
    }
  }

  store.on(['live'], refresh);
  return {
    shown,
    toggle,
    set,
    clear,
    counts,
    wanted,
    NOTHING,
    hiddenText,
    setHidden,
    refresh,
    isHidden: (k, code) => Boolean(hidden[k]?.has(code)),
    isAsked: () => Object.keys(NOTHING).some((key) => wanted[key] !== NOTHING[key]),
    any: () => hidden.some((set_) => set_?.size) || Object.keys(NOTHING).some((key) => wanted[key] !== NOTHING[key]),
    shownCount: () => shown.reduce((sum, one) => sum + one, 0),
  };
}
