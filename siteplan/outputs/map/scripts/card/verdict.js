/* What the card says first: the margin, what a what-if does to it, and the flags. */
import { el } from '../base/core.js';
import { swatch } from '../sites/markers.js';

const SEVERITY = { stop: 'Stop', warn: 'Check', note: 'Note' };

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
  const both = after ? `${margin}, ${after} after reserve` : margin;
  const known = margin ? `Margin ${both}${limit ? `, limited by ${limit}` : ''}` : style.label;
  const text = stale ? `Margin: needs a new plan (was ${both || 'none'})` : known;
  return [
    el('p', { class: failing ? 'verdict failing' : 'verdict' }, [
      swatch(style, { failing, stale }),
      el('span', { text: failing ? `${text}. ${failText(live)}` : text }),
    ]),
    ...whatif(state, live),
  ];
}

const failText = (live) => (live.now.angles ? 'Too low, or out of sight, from here.'
  : live.now.estimate ? 'Not served at this target.' : 'Not served as planned.');

/** What is not the plan's own here. */
function whatif({ target, satellite }, live) {
  const texts = [
    ...(live.now.estimate ? [`Estimate for a target of ${target} % with the kit as planned.`] : []),
    ...(satellite !== null ? ['The satellite was moved: angles are new, all that rests on the link (grey) needs a new plan.'] : []),
  ];
  return texts.map((text) => el('p', { class: 'whatif-note', text }));
}

function flagItem(code, flag = { severity: 'note', meaning: code }) {
  return el('li', { class: `flag-${flag.severity}`, 'data-flag': code }, [
    el('strong', { text: `${SEVERITY[flag.severity] ?? 'Note'}: ` }),
    el('span', { text: flag.meaning }),
  ]);
}

/** The flags with their meaning, and the sentences with this site's numbers. */
export function flags(model, i) {
  const codes = model.codesOf(model.column('flags')(i));
  const sentences = model.text('flag_notes', i);
  if (!codes.length && !sentences) return [];
  const list = el('ul', { class: 'flags' }, codes.map((code) => flagItem(code, model.flags[code])));
  const rest = sentences ? [el('p', { class: 'notes', dir: 'auto', text: sentences })] : [];
  return [el('section', {}, [el('h3', { text: 'Flags' }), list, ...rest])];
}
