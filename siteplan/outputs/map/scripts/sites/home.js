/* Where the map looks at the start, and the way to sites far off that are left out of it. */
import { byId, isWide } from '../base/core.js';

/** Room that a marker and its name take beside the edge [CSS pixels]. */
const [SIDE, TOP, FOOT, TOOLS] = [36, 40, 44, 76];

/** All sites in view, clear of the panel that lies over the map's left side and of the tools. */
export function makeHome(map, model) {
  /** Where the map was put last. */
  let home = null;

  function fit() {
    const [south, west, north, east] = model.view;
    map.invalidateSize({ animate: false, pan: false });
    const left = isWide() ? byId('panel').offsetWidth + SIDE : SIDE;
    map.fitBounds([[south, west], [north, east]], {
      paddingTopLeft: [left, TOP], paddingBottomRight: [TOOLS, FOOT], maxZoom: 11, animate: false,
    });
    home = { center: map.getCenter(), zoom: map.getZoom() };
  }

  /** Whether the map has not been moved since. */
  const isThere = () => home !== null && map.getZoom() === home.zoom
    && map.latLngToLayerPoint(map.getCenter()).distanceTo(map.latLngToLayerPoint(home.center)) < 2;

  /** Follow the size of the window: who has not moved the map keeps all sites in view. */
  function resized() {
    // The page for paper is laid out and drawn already: what is drawn from here on would be lost.
    if (document.body.classList.contains('printing')) return;
    const there = isThere();
    map.invalidateSize({ animate: false });
    if (there) fit();
  }

  return { fit, resized };
}

const sites = (count) => (count === 1 ? '1 site' : `${count} sites`);

/** The way to the sites that are far from all others, and whose coordinates are in doubt. */
export function makeFar(model, store, goTo) {
  const button = byId('far');
  const { far } = model;
  button.hidden = !far.length;
  if (!far.length) return;
  button.textContent = `${sites(far.length)} far away`;
  button.title = 'Go there: the coordinates are to be checked';
  byId('fit').textContent = `All but ${far.length} in view`;
  button.addEventListener('click', () => goTo(far[(far.indexOf(store.state.chosen) + 1) % far.length]));
}
