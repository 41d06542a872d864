/* What holds for a pair that was tried at a site and not given to it. */

/** Whether a site gets a pair: an antenna and a BUC. */
export const hasKit = (model, i) =>
  model.column('antenna_m')(i) !== null && model.column('buc_w')(i) !== null;

/** The pair that a site's margins hold for, where none is given to it; empty elsewhere. */
export function triedPair(model, i) {
  if (hasKit(model, i)) return '';
  const pair = ['tried_antenna_m', 'tried_buc_w'].map((name) => model.text(name, i));
  return pair.every(Boolean) ? pair.join(' and ') : '';
}

/** The pair that must head a field's value at a site: empty where it is the site's own. */
export const pairOf = (model, field, i) => (model.fields[field]?.tried ? triedPair(model, i) : '');
