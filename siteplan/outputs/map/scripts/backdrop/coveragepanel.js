/* The contours in the panel: which quantity is shown, and its classes. */
import { el, styleOf } from '../base/core.js';
import { hatch, opacity } from './contours.js';

/** Quantities that no target changes. */
const OF_THE_PLACE = ['elevation_deg', 'rain_rate_mm_h'];

/** One button a quantity, and one for none. */
export function choices(layers, choose) {
  const names = [{ label: 'No contours', name: 'none' }, ...layers];
  return el('div', { class: 'layers coverage-choices', role: 'group', 'aria-label': 'Contours behind the sites' },
    names.map(({ label, name }) => el('button', {
      type: 'button', text: label, 'data-coverage': name, on: { click: () => choose(name) },
    })));
}

/** Show which of the buttons is pressed. */
export function markChoice(name) {
  for (const button of document.querySelectorAll('.coverage-choices button')) {
    button.setAttribute('aria-pressed', String(button.dataset.coverage === name));
  }
}

/** A small field that shows a class as the map does over land. */
function swatch(band, mode) {
  const box = el('canvas', { class: 'coverage-swatch', width: '56', height: '36', 'aria-hidden': 'true' });
  const ctx = box.getContext('2d');
  ctx.scale(2, 2);
  ctx.beginPath();
  ctx.rect(0, 0, 28, 18);
  ctx.fillStyle = styleOf('--land');
  ctx.fill();
  ctx.globalAlpha = opacity();
  if (mode !== 'dark') ctx.globalCompositeOperation = 'multiply';
  ctx.fillStyle = band.color;
  ctx.fill();
  ctx.globalCompositeOperation = 'source-over';
  if (band.care) hatch(ctx, { left: 0, top: 0, width: 28, height: 18 });
  return box;
}

/** The classes of the contours, below the legend of the sites; nothing where none are shown. */
export function legendParts(layer, { note, targets }, mode) {
  if (!layer) return [];
  const title = layer.unit ? `${layer.label} [${layer.unit}]` : layer.label;
  return [
    el('h2', { id: 'coverage-title', class: 'legend-title', text: `Behind the sites: ${title}` }),
    el('ul', { class: 'coverage-legend', 'aria-labelledby': 'coverage-title' }, layer.bands.map((band) =>
      el('li', {}, [swatch(band, mode), el('span', { text: band.label })]))),
    ...(targets && !OF_THE_PLACE.includes(layer.name) ? [el('p', { class: 'coverage-targets', text: targets })] : []),
    el('p', { class: 'legend-meaning', text: `${layer.meaning}. ${note}` }),
  ];
}
