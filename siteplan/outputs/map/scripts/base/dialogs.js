/* The heading, the list of what was assumed, and the help. */
import { ofMonth } from './data.js';
import { byId, el } from './core.js';
import { spoken, wrapLon } from './geo.js';

const ESTIMATE = 'Estimate';

/** The facts as they stand: under a what-if, the estimate and what it is for come first. */
function factsNow(facts, { target, satellite }, month) {
  if (target === null && satellite === null) return facts;
  const asked = [
    ...(target === null ? [] : [`target ${target} %${month}, kit as planned`]),
    ...(satellite === null ? [] : [`satellite at ${spoken(wrapLon(satellite), 'EW', 1)}, margins need a new plan`]),
  ];
  const changed = { Target: target !== null, Satellite: satellite !== null };
  const others = facts.map(([label, value]) => [changed[label] ? `${label} of the plan` : label, value]);
  return [[ESTIMATE, asked.join('; ')], ...others];
}

export function makeDialogs(model, store) {
  function heading() {
    document.title = model.heading;
    byId('heading').textContent = model.heading;
    showFacts();
  }

  function showFacts() {
    // The space lets the facts break between one another where they run on in a line.
    byId('facts').replaceChildren(...factsNow(model.facts, store.state, ofMonth(model.whatif)).flatMap(([label, value]) => [
      el('div', { class: label === ESTIMATE ? 'estimate' : null }, [
        el('dt', { text: label }),
        el('dd', { text: value, dir: 'auto' }),
      ]), ' ']));
  }

  function assumption({ key, value, unit, meaning }) {
    return el('tr', { title: `Key of the network: ${key}` }, [
      el('th', { scope: 'row', text: meaning, dir: 'auto' }),
      el('td', { text: unit ? `${value} ${unit}` : value, dir: 'auto' }),
    ]);
  }

  function assumed() {
    byId('remarks').textContent = (model.remarks ?? []).join(' ');
    byId('remarks').hidden = !model.remarks?.length;
    if (!model.assumptions.length) {
      byId('assumed-list').replaceChildren(el('p', { text: 'Nothing: every figure was given.' }));
      return;
    }
    const titles = ['Figure', 'Value used'].map((text) => el('th', { scope: 'col', text }));
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
    // A browser would go to the first button, which stands at the foot of a long list.
    byId(`${id}-title`).focus({ preventScroll: true });
    dialog.scrollTop = 0;
  }

  heading();
  assumed();
  for (const id of ['open-assumed', 'view-assumed']) byId(id).addEventListener('click', () => open('assumed'));
  byId('open-help').addEventListener('click', () => open('help'));
  store.on(['target', 'satellite'], showFacts);
  return { open };
}
