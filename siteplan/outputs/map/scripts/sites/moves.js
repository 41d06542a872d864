/* Going from site to site. */
import { byId, isWide } from '../base/core.js';
import { heldBy } from '../base/pairs.js';
import { triedPair } from '../base/tried.js';

export function makeMoves(map, model, store, { points, live, filters }) {
  const focusMap = () => map.getContainer().focus({ preventScroll: true });

  /** Choose a site: its card opens, and the map moves where the card would cover it. */
  function choose(i, under = store.state.under) {
    store.set({ chosen: i, cursor: i, under });
    requestAnimationFrame(() => reveal(i));
  }

  function reveal(i) {
    if (i < 0) return;
    const wide = isWide();
    map.panInside(points.latLng(i), {
      paddingTopLeft: [wide ? byId('panel').offsetWidth + 40 : 40, 40],
      paddingBottomRight: wide ? [byId('card').offsetWidth + 40, 40] : [40, cover() + 40],
    });
  }

  /** How much of the map's foot the card covers on a narrow screen [CSS pixels]. */
  function cover() {
    const foot = map.getContainer().getBoundingClientRect().bottom;
    return Math.max(0, foot - byId('card').getBoundingClientRect().top);
  }

  function say(i) {
    const [margin, after] = ['margin_db', 'margin_after_reserve_db'].map((field) => live.text(field, i));
    const oneKit = heldBy(model, live, 'margin_db');
    const pair = oneKit ? ` with ${oneKit}, not the plan` : triedPair(model, i) && ` with ${triedPair(model, i)}, tried and not planned`;
    const both = `${margin}${after ? `, ${after} after reserve` : ''}${pair}`;
    const served = live.now.failing[i] ? ', not served' : '';
    byId('said').textContent = `${model.label(i)}, ${margin ? `margin ${both}` : 'no margin'}${served}`;
  }

  /** Go on to a site: with the card where it is open, else with the ring alone. */
  function go(i) {
    if (store.state.chosen >= 0) choose(i, []);
    else {
      store.set({ cursor: i });
      focusMap();
    }
    say(i);
  }

  /** Step through the sites in view with the keyboard. */
  function step(by) {
    const sites = points.inView();
    if (!sites.length) return;
    const at = sites.indexOf(store.state.cursor);
    go(sites[(at < 0 ? (by > 0 ? 0 : sites.length - 1) : at + by + sites.length) % sites.length]);
  }

  /** The next site in order of need, the worst first, wherever on the map it is. */
  function nextWorst() {
    const { order } = live.now;
    const at = store.state.cursor < 0 ? order.length : order.indexOf(store.state.cursor);
    for (let n = 1; n <= order.length; n++) {
      const i = order[(at - n + 2 * order.length) % order.length];
      if (!filters.shown[i]) continue;
      goTo(i);
      return;
    }
  }

  /** Go to a site wherever it is, and open its card. */
  function goTo(i, zoom = 5) {
    map.setView(points.latLng(i), Math.max(map.getZoom(), zoom), { animate: false });
    choose(i, []);
    say(i);
  }

  return {
    choose,
    focusMap,
    goTo,
    step,
    nextWorst,
    openCursor: () => store.state.cursor >= 0 && choose(store.state.cursor, []),
  };
}
