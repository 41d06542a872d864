/* Which sites are shown. Each layer has its own set of hidden classes, and they add up. */
SP.makeFilters = function (model, store) {
  const hidden = model.layers.map(() => new Set());
  const shown = new Uint8Array(model.count).fill(1);

  function refresh() {
    shown.fill(1);
    model.layers.forEach((layer, k) => {
      if (!hidden[k].size) return;
      for (let i = 0; i < shown.length; i++) if (hidden[k].has(layer.codes[i])) shown[i] = 0;
    });
    store.set({ filtering: store.state.filtering + 1 });
  }

  /** Hide or show one class of one layer. */
  function toggle(k, code) {
    if (!hidden[k].delete(code)) hidden[k].add(code);
    refresh();
  }

  /** Show everything again. */
  function clear() {
    hidden.forEach((set) => set.clear());
    refresh();
  }

  /** Sites of each class of a layer, and how many of them the other layers' filters leave. */
  function counts(k) {
    const { classes, codes } = model.layers[k];
    const total = new Uint32Array(classes.length);
    const left = new Uint32Array(classes.length);
    const others = hidden.map((set, j) => (j !== k && set.size ? j : -1)).filter((j) => j >= 0);
    for (let i = 0; i < codes.length; i++) {
      total[codes[i]] += 1;
      if (others.every((j) => !hidden[j].has(model.layers[j].codes[i]))) left[codes[i]] += 1;
    }
    return { total, left };
  }

  return {
    shown,
    toggle,
    clear,
    counts,
    isHidden: (k, code) => hidden[k].has(code),
    any: () => hidden.some((set) => set.size),
    shownCount: () => shown.reduce((sum, one) => sum + one, 0),
  };
};
