/*
 * What lies between the land and the sites: each part has a canvas (or a pane) of its own between
 * the basemap (200) and the graticule (300), and a switch in the panel.
 */
import { attempt, byId, el } from '../base/core.js';

export function makeBackdrop(map, model, store) {
  const box = byId('backdrop');

  /**
   * Add a switch to the panel's section 'Behind the sites'.
   * @param {string} label
   * @param {boolean} on whether it is on at the start
   * @param {function(boolean)} set told of every change
   * @returns {HTMLInputElement}
   */
  function add(label, on, set) {
    const input = el('input', { type: 'checkbox', checked: on });
    input.addEventListener('change', () => set(input.checked));
    box.append(el('label', { class: 'switch' }, [input, el('span', { text: label })]));
    return input;
  }

  /** Online tiles, only where the command line named their host. */
  function tiles() {
    const host = model.tiles.split('/')[2];
    const pane = map.createPane('tiles');
    pane.style.zIndex = 220;
    const layer = L.tileLayer(model.tiles, { pane: 'tiles', maxZoom: 19, attribution: host });
    layer.addTo(map);
    add(`Online tiles of ${host}`, true, (on) => (on ? layer.addTo(map) : layer.remove()));
  }

  if (model.tiles) attempt('the online tiles', tiles);
  add('Names of sites, where there is room', true, (on) => store.set({ names: on }));
  add('Graticule', true, (on) => store.set({ graticule: on }));
  return { add };
}
