/* The site's own hop in clear sky, line by line, and where all lines of its budget are told. */
import { beamOf } from '../sites/beams.js';
import { el } from '../base/core.js';
import { hasKit } from '../base/tried.js';

/** Less 10 log of 1.380649e-23 J/K (SI). */
const BOLTZMANN_DB = 228.599167;
/** The speed of light in m GHz (SI). */
const LIGHT_M_GHZ = 0.299792458;

/** Ids that a shell takes as they are, between quotes at most; others are not put into a command. */
const PLAIN = /^[\p{L}\p{N}_][\p{L}\p{N}_ .-]*$/u;

const tenth = (db) => Math.round(db * 10) / 10;
const db = (ratio) => tenth(10 * Math.log10(ratio));

/** Free-space loss in dB over a distance, ITU-R P.525. */
const freeSpace = (km, ghz) => tenth(20 * Math.log10((4e3 * Math.PI * km * ghz) / LIGHT_M_GHZ));

/**
 * Lines of the site's own hop that add up to its Es/N0 as they are shown, to 0.1 dB: what the site
 * itself brings is what is left.
 */
export function hopLines(model, i, way) {
  const carrier = beamOf(model, i).carriers?.[way];
  const level = model.budget?.[(2 * i + (way === 'inbound' ? 1 : 0)) * 4] ?? null;
  const km = model.column('slant_range_km')(i);
  if (!carrier || level === null || km === null || !hasKit(model, i)) return [];
  const loss = { label: `Free-space loss at ${carrier.ghz} GHz`, value: -freeSpace(km, carrier.ghz), unit: 'dB' };
  const rest = [
    { label: 'Boltzmann’s constant', value: tenth(BOLTZMANN_DB), unit: 'dB' },
    { label: 'Symbol rate', value: -db(carrier.symbol_rate_msps * 1e6), unit: 'dBHz' },
  ];
  const fixed = way === 'outbound' ? [
    { label: 'Satellite EIRP, saturated', value: model.column('satellite_eirp_dbw')(i) ?? carrier.eirp_dbw, unit: 'dBW' },
    { label: 'Back-off of the whole transponder', value: -carrier.backoff_db, unit: 'dB' },
    { label: 'Carrier’s share of the power', value: -db(carrier.transponder_mhz / carrier.occupied_mhz), unit: 'dB' },
    ...(carrier.level_db ? [{ label: 'Level over that share', value: carrier.level_db, unit: 'dB' }] : []),
  ] : [{ label: 'Satellite G/T', value: model.column('satellite_g_t_db_k')(i) ?? carrier.g_t_db_k, unit: 'dB/K' }];
  const known = [...fixed, loss, ...rest];
  const left = tenth(level / 10 - known.reduce((sum, { value }) => sum + tenth(value), 0));
  const own = way === 'outbound'
    ? { label: 'G/T of the site, less pointing and gas', value: left, unit: 'dB/K' }
    : { label: 'EIRP of the site, less gas', value: left, unit: 'dBW' };
  const first = way === 'outbound' ? [...fixed, loss, own, ...rest] : [own, ...known];
  return [...first, { label: 'Es/N0 of this hop', value: level / 10, unit: 'dB', sum: true }];
}

const shown = ({ value, unit }) => `${tenth(value).toFixed(1).replace('-', '−')} ${unit}`;

function table(model, i, way) {
  const lines = hopLines(model, i, way);
  if (!lines.length) return [];
  const text = way === 'outbound' ? 'Downlink to the site, clear sky' : 'Uplink from the site, clear sky';
  return [el('table', { class: 'budget' }, [
    el('caption', { text }),
    el('tbody', {}, lines.map((line) => el('tr', { class: line.sum ? 'sum' : null }, [
      el('th', { scope: 'row', text: line.label }), el('td', { class: 'num', text: shown(line) }),
    ]))),
  ])];
}

/** The site's own hop of both directions. */
export const drawHops = (model, i) => ['outbound', 'inbound'].flatMap((way) => table(model, i, way));

/** Where every line is told: both hops, in clear sky and with either end faded. */
export function command(model, i) {
  const id = model.text('site_id', i);
  if (!id || model.column('margin_db')(i) === null) return [];
  const told = !PLAIN.test(id) ? 'SITE' : id.includes(' ') ? `"${id}"` : id;
  return [el('p', { class: 'notes' }, [
    'Every line of the link budget, both hops, clear and faded: ',
    el('code', { dir: 'auto', text: `siteplan budget PROJECT ${told}` }),
  ])];
}
