/* The heading, the list of what was assumed, the help, and printing. */
SP.makeDialogs = function (model, map) {
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

  /**
   * On paper the map keeps its pixels and is scaled to the sheet: browsers may lose what is
   * drawn on a canvas after printing has begun.
   */
  function printing(on) {
    const box = map.getContainer();
    const size = map.getSize();
    document.body.classList.toggle('printing', on);
    document.body.classList.toggle('printing-narrow', on && size.x < 760);
    if (!on) {
      ['inset', 'width', 'height', 'transform', 'transformOrigin'].forEach((k) => { box.style[k] = ''; });
      return;
    }
    const paper = box.parentElement.getBoundingClientRect();
    const scale = 0.98 * Math.min(paper.width / size.x, paper.height / size.y);
    Object.assign(box.style, {
      inset: 'auto', width: `${size.x}px`, height: `${size.y}px`,
      transform: `scale(${scale})`, transformOrigin: '0 0',
    });
  }

  function watchPrinting() {
    window.addEventListener('beforeprint', () => printing(true));
    window.addEventListener('afterprint', () => printing(false));
    SP.id('print').addEventListener('click', () => window.print());
  }

  heading();
  assumed();
  SP.id('open-assumed').addEventListener('click', () => open('assumed'));
  SP.id('open-help').addEventListener('click', () => open('help'));
  SP.attempt('printing', watchPrinting);
  return { open };
};
