/* The card of the chosen site. */
import { hubsOf } from '../sites/beams.js';
import { byId, el } from '../base/core.js';
import { drawBudget, otherAntennas } from './budget.js';
import { extras, group } from './groups.js';
import { coordinates, sky } from './place.js';
import { sensitive } from './sensitive.js';
import { takes } from './takes.js';
import { flags, kitText, verdict } from './verdict.js';

/** A name longer than this is written small, so that kit and id stay in sight. */
const LONG = 60;

function head(model, i, { shut, stale }) {
  const close = el('button', {
    type: 'button', class: 'card-close', 'aria-label': 'Close the card', text: '×',
    on: { click: shut },
  });
  const label = model.label(i);
  const title = el('h2', { id: 'card-title', class: label.length > LONG ? 'long-name' : null, tabindex: '-1', dir: 'auto', text: label });
  const kit = el('p', { class: stale ? 'card-kit stale' : 'card-kit', text: kitText(model, i) });
  const id = el('p', { class: 'card-id', dir: 'auto', text: model.text('site_id', i) });
  return el('div', { class: 'card-head' }, [el('div', {}, [title, el('div', { class: 'card-second' }, [kit, id])]), close]);
}

function sheetLink(model, i) {
  if (!model.sheet) return [];
  const href = `sheets/${encodeURIComponent(model.sheet(i))}.html`;
  return [el('a', { class: 'button', id: 'sheet-link', href, text: 'Site sheet' })];
}

export function makeCard(model, store, { live, notes, focusMap, showSite }) {
  const box = byId('card');

  function hubButton() {
    if (!hubsOf(model).length) return [];
    return [el('button', {
      type: 'button', id: 'hub-line', text: 'Line to the hub',
      'aria-pressed': String(store.state.hubLine),
      on: { click: () => store.set({ hubLine: !store.state.hubLine }) },
    })];
  }

  /** Other sites under the same pointer, such as two ids at one place. */
  function neighbours() {
    const others = store.state.under.filter((j) => j !== store.state.chosen).slice(0, 8);
    if (!others.length) return [];
    const buttons = others.map((j) => el('button', {
      type: 'button', class: 'also', dir: 'auto', text: model.label(j), on: { click: () => showSite(j) },
    }));
    return [el('section', { class: 'also-list' }, [el('h3', { text: 'Also here' }), ...buttons])];
  }

  function build(i) {
    const body = el('div', { class: 'card-body', tabindex: '0', role: 'group', 'aria-label': 'Details' }, [
      ...verdict(model, store.state, live, i),
      ...takes(model, live, i),
      ...coordinates(model, store.state, i),
      el('div', { class: 'card-buttons' }, [...hubButton(), ...sheetLink(model, i)]),
      ...neighbours(),
      ...flags(model, live, i),
      ...group(model, live, model.card[0], i),
      el('p', { class: 'notes', text: 'Skew as seen from behind the dish, facing the satellite: '
        + 'clockwise is positive.' }),
      ...sky(model, live, i),
      ...model.card.slice(1, 2).flatMap((part) => group(model, live, part, i)),
      ...sensitive(model, live, i),
      ...otherAntennas(model, i, live.now),
      ...drawBudget(model, i, live.now),
      ...model.card.slice(2).flatMap((part) => group(model, live, part, i)),
      ...extras(model, i),
      notes.field(i),
    ]);
    box.replaceChildren(head(model, i, { shut, stale: live.isStale('antenna_m') }), body);
  }

  function show() {
    const i = store.state.chosen;
    box.hidden = i < 0;
    document.body.classList.toggle('has-card', i >= 0);
    if (i < 0) return;
    build(i);
    byId('card-title').focus({ preventScroll: true });
  }

  /** Write the card anew where it stands open, and leave reader and scroll where they are. */
  function refresh() {
    const i = store.state.chosen;
    if (i < 0) return;
    const top = box.querySelector('.card-body')?.scrollTop ?? 0;
    build(i);
    box.querySelector('.card-body').scrollTop = top;
  }

  /** Close the card and give the focus back to the map. */
  function shut() {
    store.set({ chosen: -1, under: [] });
    focusMap();
  }

  store.on(['chosen', 'under'], show);
  store.on(['live', 'dms', 'mode'], refresh);
  store.on(['hubLine'], () => {
    byId('hub-line')?.setAttribute('aria-pressed', String(store.state.hubLine));
  });
  return { shut };
}
