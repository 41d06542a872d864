/* What it would take: the changes that help an unserved or tight site, folded under its verdict. */
import { el } from '../base/core.js';
import { isWhatIf, ofPlan, saidOfPlan } from './ofplan.js';

const HEADING = 'What it would take';

/** A line where nothing helps, else the changes as a list, the best first. */
export function takes(model, { now }, i) {
  const lines = (model.takes(i) ?? '').split('\n').filter(Boolean);
  if (!lines.length) return [];
  const heading = isWhatIf(now) ? `${HEADING}, by the plan` : HEADING;
  if (lines.length === 1) return [el('p', { class: ofPlan(now, 'notes takes'), text: `${heading}: ${lines[0]}` })];
  return [el('details', { class: ofPlan(now, 'takes') }, [
    el('summary', { text: `${heading}: ${lines.length} changes help` }),
    ...saidOfPlan(now),
    el('ol', {}, lines.map((text) => el('li', { text }))),
  ])];
}
