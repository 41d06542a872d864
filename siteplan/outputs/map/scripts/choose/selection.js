/* Which sites are selected. */

/** The set of selected sites. */
export function makeSelection(store) {
  const { selected } = store.state;

  function changed() {
    store.set({
      selectedCount: selected.reduce((sum, one) => sum + one, 0),
      selection: store.state.selection + 1,
    });
  }

  return {
    add(sites) {
      for (const i of sites) selected[i] = 1;
      changed();
    },
    toggle(i) {
      selected[i] = selected[i] ? 0 : 1;
      changed();
    },
    clear() {
      selected.fill(0);
      changed();
    },
    sites: () => [...selected.keys()].filter((i) => selected[i]),
  };
}
