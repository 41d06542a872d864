/* The margin's choice: with the kit planned, or with one kit everywhere. */
import { byId, el } from '../base/core.js';
import { heldBy } from '../base/pairs.js';

const option = (value, text) => el('option', { value, text });

const noun = (count) => (count === 1 ? 'site' : 'sites');

/** A sum in the planner's own unit: no currency is assumed. */
const sum = (cost) => cost.toLocaleString('en', { maximumFractionDigits: 2 });

/** What is said of pair k: how many sites it serves, and what it costs there. */
export function saidOf(model, pairs, k) {
  const served = pairs.served(k);
  const price = pairs.price(k);
  const said = `Serves ${served} of ${model.count} ${noun(model.count)}: margin with the reserve of ${model.rules.reserve_db} dB, beam clear. Mounts are not worked out for it.`;
  if (price === null) return said;
  return `${said} Antennas and BUCs for the ${noun(served)} that it serves cost ${sum(served * price)} (${sum(price)} each).`;
}

/** Which kit is shown; in a layer that does not follow it, that this one does not. */
function shownText(model, live, layer) {
  const { field } = model.layers[layer];
  const name = model.pairs.name(live.now.kit);
  if (heldBy(model, live, field)) return `${name} at every site.`;
  return `octagons are for ${name} at every site. The layer shown, ${model.fields[field].label}, is the plan’s.`;
}

export function makeOneKit(model, store, live) {
  const { pairs } = model;
  const box = byId('one-kit');
  const choice = byId('kit-choice');
  const banner = byId('kit-banner');

  function build() {
    const group = el('optgroup', { label: 'with one kit everywhere' }, pairs.pairs.map((_, k) =>
      option(String(k), `${pairs.name(k)}: serves ${pairs.served(k)} of ${model.count}`)));
    choice.replaceChildren(option('', 'the kit planned'), group);
  }

  /** Show the choice in the margin's layer, and over the map which kit is shown. */
  function show() {
    const { kit } = live.now;
    const ofMargin = model.layers[store.state.layer].kind === 'verdict';
    box.hidden = !ofMargin && kit === null;
    choice.value = kit === null ? '' : String(kit);
    byId('kit-said').textContent = kit === null ? '' : saidOf(model, pairs, kit);
    banner.hidden = kit === null;
    byId('kit-banner-text').textContent = kit === null ? '' : shownText(model, live, store.state.layer);
  }

  const ask = (kit) => store.set({ kit, target: null, satellite: null });

  if (!pairs) {
    box.hidden = true;
    return;
  }
  build();
  choice.addEventListener('change', () => ask(choice.value === '' ? null : Number(choice.value)));
  byId('kit-back').addEventListener('click', () => {
    ask(null);
    (box.hidden ? byId('map') : choice).focus({ preventScroll: true });
  });
  // Another target, or another place of the satellite, is asked of the kit planned.
  store.on(['target', 'satellite'], ({ target, satellite, kit }) => {
    if (kit !== null && (target !== null || satellite !== null)) store.set({ kit: null });
  });
  store.on(['layer', 'live'], show);
  show();
}
