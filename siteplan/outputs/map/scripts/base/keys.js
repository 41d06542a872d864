/* The keyboard: everything that the pointer can do. */
import { byId, el } from './core.js';

export function makeKeys(model, store, acts) {
  const layerKeys = model.layers.slice(0, 9).map((layer, k) => [
    String(k + 1), `Colour by ${model.fields[layer.field].label}`, () => store.set({ layer: k }),
  ]);
  const keys = [
    ...layerKeys,
    ['w', 'Next worst site, wherever it is', acts.nextWorst],
    ['n', 'Next site in view, the worst first', () => acts.step(1)],
    ['p', 'Previous site in view', () => acts.step(-1)],
    ['Enter', 'Open the card of the ringed site; close the polygon', acts.enter],
    ['Escape', 'Put the tool away, or close the card', acts.shut],
    ['x', 'Select or unselect the ringed site', acts.toggleSelected],
    ['t', 'Table of the sites', () => store.set({ table: !store.state.table })],
    ['f', 'Find a site', acts.find],
    ['b', 'Select by box', () => acts.tool('box')],
    ['g', 'Select by polygon', () => acts.tool('polygon')],
    ['c', 'Coordinates as decimals or in minutes and seconds', () => store.set({ dms: !store.state.dms })],
    ['d', 'Dark or bright', acts.mode],
    ['h', 'Line from the chosen site to the hub', () => store.set({ hubLine: !store.state.hubLine })],
    ['a', 'All sites in view', acts.fit],
    ['s', 'Show the sites that the legend hides', acts.showAll],
    ['?', 'This help', acts.help],
  ];
  const byKey = new Map(keys.map(([key, , act]) => [key, act]));

  function list() {
    const more = [['Tab', 'Through the buttons'], ['+ −', 'Zoom'], ['Arrows', 'Move the map']];
    byId('keys').replaceChildren(...[...keys, ...more].flatMap(([key, meaning]) => [
      el('dt', {}, [el('kbd', { text: key })]),
      el('dd', { text: meaning }),
    ]));
  }

  /** Enter belongs to the button that has the focus; text fields keep all their keys. */
  function isTaken(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented) return true;
    if (event.key.length === 1 && !store.state.shortcuts) return true;
    if (document.querySelector('dialog[open]')) return true;
    const focus = event.target;
    if (focus.matches?.('input:not([type=checkbox]):not([type=range]), select, textarea, [contenteditable]')) return true;
    return event.key === 'Enter' && Boolean(focus.matches?.('button, a, summary, input'));
  }

  document.addEventListener('keydown', (event) => {
    const act = byKey.get(event.key.length === 1 ? event.key.toLowerCase() : event.key);
    if (!act || isTaken(event)) return;
    event.preventDefault();
    act();
  });
  list();
}
