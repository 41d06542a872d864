/* The heading, the list of what was assumed, and the help. */
SP.makeDialogs = function (model) {
  function heading() {
    document.title = model.heading;
    SP.id('heading').textContent = model.heading;
    // The space lets the facts break between one another where they run on in a line.
    SP.id('facts').replaceChildren(...model.facts.flatMap(([label, value]) => [SP.el('div', {}, [
      SP.el('dt', { text: label }),
      SP.el('dd', { text: value, dir: 'auto' }),
    ]), ' ']));
  }

  function assumption({ key, value, unit, meaning }) {
    return SP.el('tr', {}, [
      SP.el('th', { scope: 'row', text: key }),
      SP.el('td', { text: unit ? `${value} ${unit}` : value, dir: 'auto' }),
      SP.el('td', { text: meaning, dir: 'auto' }),
    ]);
  }

  function assumed() {
    if (!model.assumptions.length) {
      SP.id('assumed-list').replaceChildren(SP.el('p', { text: 'Nothing: every figure was given.' }));
      return;
    }
    const titles = ['Figure', 'Value used', 'Meaning'].map((text) => SP.el('th', { scope: 'col', text }));
    SP.id('assumed-list').replaceChildren(
      SP.el('p', { text: 'Nobody gave these figures; the plan used the values below.' }),
      SP.el('table', {}, [
        SP.el('thead', {}, [SP.el('tr', {}, titles)]),
        SP.el('tbody', {}, model.assumptions.map(assumption)),
      ]),
    );
  }

  /** Open a dialog; a browser without them shows it in place. */
  function open(id) {
    const dialog = SP.id(id);
    if (dialog.open) return;
    if (dialog.showModal) dialog.showModal();
    else dialog.setAttribute('open', '');
  }

  heading();
  assumed();
  for (const id of ['open-assumed', 'view-assumed']) SP.id(id).addEventListener('click', () => open('assumed'));
  SP.id('open-help').addEventListener('click', () => open('help'));
  return { open };
};
