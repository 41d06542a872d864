/* The plan in short, under the heading: each count is a button that shows its sites, and all again. */
import { byId, el, isWide } from '../base/core.js';

/** Whether all that an item asks for is asked for. */
export const isAsked = (wanted, asks) => Object.entries(asks).every(([key, value]) => wanted[key] === value);

/** What a press of an item asks for: its sites, or no longer those. */
export const pressed = (wanted, asks, nothing) => (isAsked(wanted, asks)
  ? Object.fromEntries(Object.keys(asks).map((key) => [key, nothing[key]]))
  : asks);

/** One line for a narrow screen: what is shown where something is asked for, else who is served. */
export function inShort(lines, wanted) {
  const shown = lines.flatMap(({ items }) => items).filter(({ asks }) => Object.keys(asks).length && isAsked(wanted, asks));
  if (shown.length) return `✓ ${shown.map(({ text }) => text).join(', ')}`;
  return lines.filter(({ code }) => ['served', 'unserved'].includes(code))
    .map(({ label, items }) => `${label} ${items[0].text.replace(/ \(.*/s, '')}`).join(' · ');
}

export function makeStrip(model, store, { filters, live }) {
  const { verdict } = model;
  const opener = byId('strip-open');
  const lines = byId('strip-lines');
  const buttons = [];

  let isOpen = false;

  /** Unfold on a narrow screen; a wide one shows all lines always. */
  function unfold(open) {
    isOpen = open;
    opener.setAttribute('aria-expanded', String(open));
    byId('strip').classList.toggle('open', open);
  }

  /** Show an item's sites, or all again; on a narrow screen the lines make room for the map. */
  function press(asks) {
    filters.set(pressed(filters.wanted, asks, filters.NOTHING));
    if (isWide()) return;
    unfold(false);
    opener.focus();
  }

  function item({ text, asks, detail }) {
    if (!Object.keys(asks).length) return el('span', { class: 'strip-none', text });
    const button = el('button', {
      type: 'button', class: 'strip-item', 'aria-pressed': 'false', text, dir: 'auto', title: detail ?? null,
      on: { click: () => press(asks) },
    });
    buttons.push([button, asks]);
    return button;
  }

  const line = ({ code, label, items }) => el('div', {
    class: `strip-line strip-${code}`, role: 'group', 'aria-labelledby': `strip-${code}`,
  }, [el('span', { id: `strip-${code}`, class: 'strip-label', text: label }), ...items.map(item)]);

  /** Say where the map shows other sites, or another state, than is counted. */
  function note() {
    const { sites } = verdict;
    const some = sites > model.count ? [`Counted over all ${sites} sites of the plan; the map shows ${model.count} of them.`] : [];
    const other = [live.now.estimate, live.now.angles, live.now.kit].some((state) => (state ?? null) !== null);
    const moved = other ? ['Counts are the plan’s; the map shows a what-if.'] : [];
    byId('strip-note').textContent = [...some, ...moved].join(' ');
  }

  function mirror() {
    for (const [button, asks] of buttons) button.setAttribute('aria-pressed', String(isAsked(filters.wanted, asks)));
    byId('strip-short').textContent = inShort(verdict.lines, filters.wanted);
  }

  if (!verdict) return;
  byId('strip').hidden = false;
  lines.replaceChildren(...verdict.lines.map(line));
  opener.addEventListener('click', () => unfold(!isOpen));
  store.on(['filtering'], mirror);
  store.on(['live'], note);
  note();
  mirror();
}
