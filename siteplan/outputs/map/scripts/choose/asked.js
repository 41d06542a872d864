/* What is asked for in 'Find' and of the histogram, as tests of a site. */
import { parsed } from './ranges.js';

/** Nothing is asked for. */
export const NOTHING = {
  words: '', group: '', flag: '', mount: '', survey: '', antenna: '', buc: '', least: null, most: null, ranges: '',
};

const inRange = (m, least, most) =>
  m !== null && (least === null || m >= least) && (most === null || m <= most);

/**
 * A function that makes tests of what is asked for; each says whether site i passes.
 * @param {Object} model
 * @param {Object} live the values as they stand now
 * @returns {function(Object): Array<function(number): boolean>}
 */
export function makeTests(model, live) {
  const texts = { group: model.column('group'), mount: model.column('mount'), survey: model.column('mount_certainty') };
  const [antenna, power] = ['antenna_m', 'buc_w'].map(model.column);
  const flags = model.column('flags');
  let searched = null;

  /** Ids and names as they are searched: small letters, once. */
  const haystack = () => (searched ??= Array.from({ length: model.count }, (_, i) =>
    `${model.text('site_id', i)}\n${model.text('name', i)}`.toLowerCase()));

  return ({ words, group, flag, mount, survey, antenna: size, buc, least, most, ranges }) => {
    const found = [];
    if (words) {
      const hay = haystack();
      const parts = words.toLowerCase().split(/\s+/).filter(Boolean);
      found.push((i) => parts.every((part) => hay[i].includes(part)));
    }
    if (group) found.push((i) => texts.group(i) === group);
    if (mount) found.push((i) => texts.mount(i) === mount);
    if (survey) found.push((i) => texts.survey(i) === survey);
    if (flag === 'stop') found.push((i) => live.now.failing[i] === 1);
    else if (flag === 'served') found.push((i) => live.now.failing[i] === 0);
    else if (flag === 'served_short') found.push((i) => live.now.failing[i] === 0 && model.codesOf(flags(i)).includes('margin_short'));
    else if (flag) found.push((i) => model.codesOf(flags(i)).includes(flag));
    if (size === 'none') found.push((i) => antenna(i) === null);
    else if (size) found.push((i) => antenna(i) === Number(size));
    if (buc) found.push((i) => power(i) === Number(buc));
    if (least !== null || most !== null) {
      found.push((i) => inRange(live.value('margin_db', i), least, most));
    }
    for (const [field, ends] of parsed(ranges)) {
      if (model.has(field)) found.push((i) => inRange(live.value(field, i), ...ends));
    }
    return found;
  };
}
