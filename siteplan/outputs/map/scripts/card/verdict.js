/* What the card says first: the margin, what a what-if does to it, and the flags. */
import { el } from '../base/core.js';
import { ofMonth } from '../base/data.js';
import { heldBy, isOneKit } from '../base/pairs.js';
import { SEVERITY } from '../base/severity.js';
import { hasKit, triedPair } from '../base/tried.js';
import { swatch } from '../sites/markers.js';
import { isFlagStale, isWhatIf, ofPlan } from './ofplan.js';

/** The kit in a line: antenna, BUC and mount; what is missing is said. */
export function kitText(model, i) {
  const sizes = ['antenna_m', 'buc_w'].map((field) => {
    const value = model.column(field)(i);
    return value === null ? '' : `${value} ${model.fields[field].unit}`;
  });
  if (!sizes.every(Boolean)) return 'No kit planned';
  const mount = model.text('mount', i).replaceAll('_', ' ') || 'no mount';
  const open = model.text('mount_certainty', i) === 'provisional' ? ' (to be surveyed)' : '';
  const there = model.text('kit_source', i) === 'installed' ? ['installed'] : [];
  return [...sizes, `${mount}${open}`, ...there].join(', ');
}

/** The verdict at the head: the marker, the margin and what it means. */
export function verdict(model, state, live, i) {
  const k = model.layers.findIndex(({ kind }) => kind === 'verdict');
  if (k < 0) return [];
  const failing = Boolean(live.now.failing[i]);
  const style = model.layers[k].classes[live.now.codes[k][i]];
  const margin = live.text('margin_db', i);
  const after = live.text('margin_after_reserve_db', i);
  const limit = model.text('limiting_direction', i);
  const stale = live.isStale('margin_db');
  const oneKit = heldBy(model, live, 'margin_db');
  const pair = oneKit ? '' : triedPair(model, i);
  const held = oneKit ? ` with ${oneKit} (not the plan)` : pair ? ` with ${pair} (tried, not planned)` : '';
  const both = `${after ? `${margin}, ${after} after reserve` : margin}${held}`;
  const known = margin ? `Margin ${both}${limit && !oneKit ? `, limited by ${limit}` : ''}` : style.label;
  const text = stale ? `Margin: needs a new plan (was ${margin ? both : 'none'})` : known;
  return [
    el('p', { class: failing ? 'verdict failing' : 'verdict' }, [
      swatch(style, { failing, stale }),
      el('span', { text: failing ? failText(live, model, i, text) : text }),
    ]),
    ...whatif(model, state, live, pair),
  ];
}

/** What fails now; as planned, what stands over the site's sheet comes first. */
function failText({ now }, model, i, text) {
  if (now.angles) return `${text}. Too low, or out of sight, from here.`;
  if (isOneKit(now)) return `${text}. Not served with this kit.`;
  if (now.estimate) return `${text}. ${hasKit(model, i) ? 'Not served at this target' : 'Not served: no kit is planned here'}.`;
  if (!hasKit(model, i)) return `DO NOT INSTALL: no kit is planned here. ${text}.`;
  const margin = model.column('margin_db')(i);
  return margin < 0 || Object.is(margin, -0) ? `MISSES THE TARGET. ${text}.` : `${text}. Not served as planned.`;
}

/** What is not the plan's own here. */
function whatif(model, { target, satellite }, live, pair) {
  const oneKit = heldBy(model, live, 'margin_db');
  const texts = [
    ...(oneKit ? [`Not the plan: margin with ${oneKit}, as at every site. All below is of the plan.`] : []),
    ...(live.now.estimate && !oneKit ? [`Estimate for a target of ${target} %${ofMonth(model.whatif)} with ${pair ? `${pair}, tried and not planned` : 'the kit as planned'}.`] : []),
    ...(satellite !== null ? ['The satellite was moved: angles are new, all that rests on the link (grey) needs a new plan.'] : []),
  ];
  return texts.map((text) => el('p', { class: 'whatif-note', text }));
}

function flagItem(code, stale, flag = { severity: 'note', meaning: code }) {
  return el('li', { class: `flag-${flag.severity}${stale ? ' stale' : ''}`, 'data-flag': code }, [
    el('strong', { text: `${SEVERITY[flag.severity] ?? 'Know'}: ` }),
    el('span', { text: flag.meaning }),
  ]);
}

/** The flags with their meaning, and the sentences with this site's numbers: the plan's, whatever is shown. */
export function flags(model, { now }, i) {
  const codes = model.codesOf(model.column('flags')(i));
  const sentences = model.text('flag_notes', i);
  if (!codes.length && !sentences) return [];
  const list = el('ul', { class: 'flags' }, codes.map((code) => flagItem(code, isFlagStale(now, code), model.flags[code])));
  const rest = sentences ? [el('p', { class: 'notes', dir: 'auto', text: sentences })] : [];
  const heading = isWhatIf(now) ? 'Flags of the plan' : 'Flags';
  return [el('section', { class: ofPlan(now) }, [el('h3', { text: heading }), list, ...rest])];
}
