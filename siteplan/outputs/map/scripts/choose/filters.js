/* Which sites are shown: the legend's hidden classes and what is asked for in 'Find' add up. */
import { makeTests, NOTHING } from './asked.js';

/** The hidden classes as text, for the link that restores the view. */
const textOf = (hidden, layers) => hidden
  .map((codes, k) => [layers[k]?.field, [...(codes ?? [])]])
  .filter(([field, codes]) => field && codes.length)
  .map(([field, codes]) => `${field}:${codes.join('.')}`)
  .join(',');

export function makeFilters(model, store, live) {
  const hidden = model.layers.map(() => new Set());
  const shown = new Uint8Array(model.count).fill(1);
  const wanted = { ...NOTHING };
  const tests = makeTests(model, live);

  function refresh() {
    shown.fill(1);
    model.layers.forEach((_, k) => {
      if (!hidden[k]?.size) return;
      const codes = live.now.codes[k];
      for (let i = 0; i < shown.length; i++) if (hidden[k].has(codes[i])) shown[i] = 0;
    });
    for (const passes of tests(wanted)) {
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

  /** Ask for something else: any of words, group, flag, mount, survey, antenna, buc, least, most, ranges. */
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
    const passes = tests(wanted);
    for (let i = 0; i < codes.length; i++) {
      total[codes[i]] += 1;
      if (others.every((j) => !hidden[j].has(live.now.codes[j][i])) && passes.every((p) => p(i))) left[codes[i]] += 1;
    }
    return { total, left };
  }

  /** Hide the classes that such a text names, and no others. */
  function setHidden(text) {
    hidden.forEach((set_) => set_.clear());
    for (const part of text.split(',')) {
      const [field, codes = ''] = part.split(':');
      const k = model.layers.findIndex((layer) => layer.field === field);
      const valid = codes.split('.').map(Number).filter((c) => c < model.layers[k]?.classes.length);
      if (k >= 0 && codes) hidden[k] = new Set(valid);
    }
  }

  const isAsked = () => Object.keys(NOTHING).some((key) => wanted[key] !== NOTHING[key]);

  store.on(['live'], refresh);
  return {
    shown,
    toggle,
    set,
    clear,
    counts,
    wanted,
    NOTHING,
    hiddenText: () => textOf(hidden, model.layers),
    setHidden,
    refresh,
    isHidden: (k, code) => Boolean(hidden[k]?.has(code)),
    isAsked,
    any: () => hidden.some((set_) => set_?.size) || isAsked(),
    /** The sites that are shown. */
    sites: () => [...shown.keys()].filter((i) => shown[i]),
    shownCount: () => shown.reduce((sum, one) => sum + one, 0),
  };
}
