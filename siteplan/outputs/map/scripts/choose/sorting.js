/* The order of the table's rows. */

const collator = new Intl.Collator(undefined, { numeric: true });

/** Numbers by size, all else as people sort it: S2 before S10. */
function compare(a, b) {
  if (typeof a === 'number' && typeof b === 'number') return a - b;
  return collator.compare(String(a), String(b));
}

/** Place of every site in order of need: the worst first. */
function rank(order, count) {
  const place = new Uint32Array(count);
  order.forEach((i, k) => { place[i] = count - k; });
  return place;
}

/** Sites in order of a field, those without a value last; without a field in order of need. */
export function sorted(sites, model, live, { sortBy, sortDown }) {
  if (!sortBy || !model.has(sortBy)) {
    const place = rank(live.now.order, model.count);
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

/** What a click on a heading asks for: up, then down, then back to the worst first. */
export function nextSort({ sortBy, sortDown }, field) {
  if (sortBy !== field) return { sortBy: field, sortDown: false };
  return sortDown ? { sortBy: '', sortDown: false } : { sortDown: true };
}

/** The same order, the selected sites before the others. */
export const selectedFirst = (sites, selected) =>
  [...sites.filter((i) => selected[i]), ...sites.filter((i) => !selected[i])];
