/* What it would take: the changes that help an unserved or tight site, folded under its verdict. */
import { el } from '../base/core.js';

const HEADING = 'What it would take';

/** A line where nothing helps, else the changes as a list, the best first. */
export function takes(model, { now }, i) {
  const lines = (model.takes(i) ?? '').split('\n').filter(Boolean);
  if (!lines.length) return [];
  if (lines.length === 1) return [el('p', { class: 'notes takes', text: `${HEADING}: ${lines[0]}` })];
  const asPlanned = now.estimate || now.angles
    ? [el('p', { class: 'notes', text: 'For the site as it is planned, not for this what-if.' })] : [];
  return [el('details', { class: 'takes' }, [
    el('summary', { text: `${HEADING}: ${lines.length} changes help` }),
    ...asPlanned,
    el('ol', {}, lines.map((text) => el('li', { text }))),
  ])];
}
