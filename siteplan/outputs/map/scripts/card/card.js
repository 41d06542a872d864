/* The card of the chosen site. */
import { byId, el } from '../base/core.js';
import { dms, LAT_LIMIT } from '../base/geo.js';
import { drawSky } from './skyplot.js';
import { swatch } from '../sites/markers.js';

export function makeCard(model, store, { live, budget, notes, focusMap, showSite }) {
  const box = byId('card');
  const CODED = ['mount', 'structure', 'kit_source', 'cable_class', 'obstacle_kind', 'horizon_source'];
  /** A value longer than this takes the whole width. */
  const LONG = 44;
  const SEVERITY = { stop: 'Stop', warn: 'Check', note: 'Note' };

  const name = model.label;

  function term(label, value, { meaning = '', stale = false } = {}) {
    const looks = [value.length > LONG ? 'long' : '', stale ? 'stale' : ''].join(' ').trim() || null;
    return [
      el('dt', { text: label, title: meaning || null, class: value.length > LONG ? 'long' : null }),
      el('dd', { text: value, dir: 'auto', class: looks }),
    ];
  }

  /** The rows of one group, without the fields that this site has no value for. */
  function group({ heading, fields }, i) {
    const rows = fields
      .filter((field) => live.text(field, i) !== '' && !isRepeated(field, i))
      .flatMap((field) => term(model.fields[field].label, shown(field, i), {
        meaning: model.fields[field].meaning, stale: live.isStale(field),
      }));
    return heading.startsWith('More: ') ? folded(heading.slice(6), rows) : section(heading, rows);
  }

  /** The reason why nothing fits is among the flags' sentences already. */
  const isRepeated = (field, i) =>
    field === 'no_fit_reason' && model.text('flag_notes', i).includes(model.text(field, i));

  /** Codes of the plan (non_penetrating) read as words. */
  function shown(field, i) {
    const text = live.text(field, i);
    return CODED.includes(field) ? text.replaceAll('_', ' ') : text;
  }

  /** Fields that few need: folded, under the heading of their group. */
  function folded(heading, rows) {
    if (!rows.length) return [];
    return [el('details', {}, [el('summary', { text: `More: ${heading}` }), el('dl', {}, rows)])];
  }

  function section(heading, rows) {
    if (!rows.length) return [];
    return [el('section', {}, [el('h3', { text: heading }), el('dl', {}, rows)])];
  }

  function extras(i) {
    const rows = model.extra
      .map(({ label, value }) => ({ label, text: String(value(i) ?? '') }))
      .filter(({ text }) => text !== '')
      .flatMap(({ label, text }) => term(label, text));
    return section('From the sites table', rows);
  }

  function flagItem(code) {
    const flag = model.flags[code] ?? { severity: 'note', meaning: code };
    return el('li', { class: `flag-${flag.severity}`, 'data-flag': code }, [
      el('strong', { text: `${SEVERITY[flag.severity] ?? 'Note'}: ` }),
      el('span', { text: flag.meaning }),
    ]);
  }

  function flags(i) {
    const codes = model.codesOf(model.column('flags')(i));
    const sentences = model.text('flag_notes', i);
    if (!codes.length && !sentences) return [];
    const list = el('ul', { class: 'flags' }, codes.map(flagItem));
    const rest = sentences ? [el('p', { class: 'notes', dir: 'auto', text: sentences })] : [];
    return [el('section', {}, [el('h3', { text: 'Flags' }), list, ...rest])];
  }

  /** The verdict at the head: the marker, the margin and what it means. */
  function verdict(i) {
    const k = model.layers.findIndex(({ kind }) => kind === 'verdict');
    if (k < 0) return [];
    const failing = Boolean(live.now.failing[i]);
    const style = model.layers[k].classes[live.now.codes[k][i]];
    const margin = live.text('margin_db', i);
    const limit = model.text('limiting_direction', i);
    const stale = live.isStale('margin_db');
    const known = margin ? `Margin ${margin}${limit ? `, limited by ${limit}` : ''}` : style.label;
    const text = stale ? `Margin: needs a new plan (was ${margin || 'none'})` : known;
    return [
      el('p', { class: failing ? 'verdict failing' : 'verdict' }, [
        swatch(style, { failing, stale }),
        el('span', { text: failing ? `${text}. ${failText()}` : text }),
      ]),
      ...whatif(),
    ];
  }

  const failText = () => (live.now.angles ? 'Too low, or out of sight, from here.'
    : live.now.estimate ? 'Not served at this target.' : 'Not served as planned.');

  /** What is not the plan's own here. */
  function whatif() {
    const { target, satellite } = store.state;
    const texts = [
      ...(live.now.estimate ? [`Estimate for a target of ${target} % with the kit as planned.`] : []),
      ...(satellite !== null ? ['The satellite was moved: angles are new, all that rests on the link (grey) needs a new plan.'] : []),
    ];
    return texts.map((text) => el('p', { class: 'whatif-note', text }));
  }

  function coordinates(i) {
    const [lat, lon] = [model.column('lat')(i), model.column('lon')(i)];
    const beyond = Math.abs(lat) > LAT_LIMIT
      ? [el('p', { class: 'notes', text: 'Drawn at the edge: this map ends at 85° of latitude.' })]
      : [];
    const text = store.state.dms ? dms(lat, lon) : `${lat.toFixed(6)}, ${lon.toFixed(6)}`;
    return [el('p', { class: 'coordinates', text }), ...beyond];
  }

  /** The site's horizon: 72 elevations and the like, or null where none is known. */
  function horizon(i) {
    if (!model.horizon) return null;
    const step = model.horizon.length / model.count;
    const found = model.horizon.slice(i * step, (i + 1) * step);
    return found.every((x) => x === null) ? null : found;
  }

  function sky(i) {
    const [azimuth, elevation] = ['azimuth_true_deg', 'elevation_deg'].map((field) => live.value(field, i));
    const known = horizon(i);
    const plot = drawSky({ lat: model.column('lat')(i), azimuth, elevation, horizon: known });
    const key = `Ring: satellite. Lines: the sun in June, March and September, December.${known ? ' Grey: horizon.' : ' No horizon surveyed.'}`;
    return [el('section', {}, [el('h3', { text: 'Sky' }), plot, el('p', { class: 'notes', text: key })])];
  }

  function sheetLink(i) {
    if (!model.sheet) return [];
    const href = `sheets/${encodeURIComponent(model.sheet(i))}.html`;
    return [el('a', { class: 'button', id: 'sheet-link', href, text: 'Site sheet' })];
  }

  function head(i) {
    const close = el('button', {
      type: 'button', class: 'card-close', 'aria-label': 'Close the card', text: '×',
      on: { click: shut },
    });
    const title = el('h2', { id: 'card-title', tabindex: '-1', dir: 'auto', text: name(i) });
    const id = el('p', { class: 'card-id', dir: 'auto', text: model.text('site_id', i) });
    return el('div', { class: 'card-head' }, [el('div', {}, [title, id]), close]);
  }

  function hubButton() {
    if (!model.hub) return [];
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
      type: 'button', class: 'also', dir: 'auto', text: name(j), on: { click: () => showSite(j) },
    }));
    return [el('section', { class: 'also-list' }, [el('h3', { text: 'Also here' }), ...buttons])];
  }

  function build(i) {
    const body = el('div', { class: 'card-body', tabindex: '0', role: 'group', 'aria-label': 'Details' }, [
      ...verdict(i),
      ...coordinates(i),
      el('div', { class: 'card-buttons' }, [...hubButton(), ...sheetLink(i)]),
      ...neighbours(),
      ...flags(i),
      ...group(model.card[0], i),
      el('p', { class: 'notes', text: 'Skew as seen from behind the dish, facing the satellite: '
        + 'clockwise is positive.' }),
      ...sky(i),
      ...model.card.slice(1, 2).flatMap((part) => group(part, i)),
      ...budget.antennas(i),
      ...budget.draw(i),
      ...model.card.slice(2).flatMap((part) => group(part, i)),
      ...extras(i),
      notes.field(i),
    ]);
    box.replaceChildren(head(i), body);
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
  return { shut, name };
}
