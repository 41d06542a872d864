/* How bad flags are, in words: what stops a site, what is to be decided, what is good to know. */

export const SEVERITY = { stop: 'Stop', warn: 'Decide', note: 'Know' };

/** The worst of a site's flags in words, and how many more there are. */
export function worstFlag(model, i) {
  const order = Object.keys(SEVERITY);
  const rank = (code) => order.indexOf(model.flags[code]?.severity ?? 'note');
  const codes = model.codesOf(model.column('flags')(i));
  if (!codes.length) return 'none';
  const worst = codes.reduce((a, b) => (rank(b) < rank(a) ? b : a));
  const more = codes.length > 1 ? `; ${codes.length - 1} more` : '';
  return `${SEVERITY[order[rank(worst)]]}: ${model.flags[worst]?.meaning ?? worst}${more}`;
}
