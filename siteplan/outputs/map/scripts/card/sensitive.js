/* What would change the kit of a site: figures that may be off, folded under it. */
import { el } from '../base/core.js';
import { isWhatIf, ofPlan, saidOfPlan } from './ofplan.js';

/** A step is parted into so many. */
const PARTS = 8;

const share = (part) => (part === PARTS ? 'the whole step' : `from ${part}/${PARTS} of it`);

/** The steps that change the site's pair: what each is, the pair then, and from which part of it. */
export function changesOf(model, i) {
  const { steps, pairs } = model.sensitive ?? {};
  return (model.sensitiveOf(i) || '').split(' ').filter(Boolean).map((text) => {
    const [step, part, pair] = text.split('.').map(Number);
    return { step: steps[step], pair: pairs[pair] || 'nothing fits', part };
  });
}

/** The list, folded; nothing where no step changes the pair. */
export function sensitive(model, { now }, i) {
  const found = changesOf(model, i);
  if (!found.length) return [];
  return [el('details', { class: ofPlan(now, 'sensitive') }, [
    el('summary', { text: `What would change its kit${isWhatIf(now) ? ', by the plan' : ''}: ${found.length}` }),
    ...saidOfPlan(now),
    el('ul', {}, found.map(({ step, pair, part }) => el('li', { text: `${step}: ${pair} (${share(part)})` }))),
  ])];
}
