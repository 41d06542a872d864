/* The heading, the list of what was assumed, and the help. */
import { byId, el } from './core.js';

export function makeDialogs(model) {
  function heading() {
    document.title = model.heading;
    byId('heading').textContent = model.heading;
    // The space lets the facts break between one another where they run on in a line.
    byId('facts').replaceChildren(...model.facts.flatMap(([label, value]) => [el('div', {}, [
      el('dt', { text: label }),
      el('dd', { text: value, dir: 'auto' }),
    ]), ' ']));
  }

  function assumption({ key, value, unit, meaning }) {
    return el('tr', {}, [
      el('th', { scope: 'row', text: key }),
      el('td', { text: unit ? `${value} ${unit}` : value, dir: 'auto' }),
      el('td', { text: meaning, dir: 'auto' }),
    ]);
  }

  function assumed() {
    if (!model.assumptions.length) {
      byId('assumed-list').replaceChildren(el('p', { text: 'Nothing: every figure was given.' }));
      return;
    }
    const titles = ['Figure', 'Value used', 'Meaning'].map((text) => el('th', { scope: 'col', text }));
    byId('assumed-list').replaceChildren(
      el('p', { text: 'Nobody gave these figures; the plan used the values below.' }),
      el('table', {}, [
        el('thead', {}, [el('tr', {}, titles)]),
        el('tbody', {}, model.assumptions.map(assumption)),
      ]),
    );
  }

  /** Open a dialog; a browser without them shows it in place. */
  function open(id) {
    const dialog = byId(id);
    if (dialog.open) return;
    if (dialog.showModal) dialog.showModal();
    else dialog.setAttribute('open', '');
  }

  heading();
  assumed();
  for (const id of ['open-assumed', 'view-assumed']) byId(id).addEventListener('click', () => open('assumed'));
  byId('open-help').addEventListener('click', () => open('help'));
  return { open };
}
