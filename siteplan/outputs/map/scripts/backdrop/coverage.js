/* Behind the sites: filled contours of one quantity, a soft relief, and the user's own layers. */
import { addCanvas, CanvasLayer } from '../base/canvas.js';
import { byId, el } from '../base/core.js';
import { drawBand, drawRelief } from './contours.js';
import { choices, legendParts, markChoice } from './coveragepanel.js';
import { writeLabels } from './labels.js';
import { arcOf, boxed } from './lines.js';
import { colorOf, drawOverlay, nameShapes } from './ownlayers.js';

const linesOf = (texts, step) => texts.map((text) => boxed(arcOf(text, step)));

/** The quantities with their classes as lines to fill. */
const contoursOf = ({ layers, step_deg: step }) => layers.map((layer) => ({
  ...layer,
  bands: layer.bands.map((band) => ({ ...band, lines: linesOf(band.rings, step) })),
}));

/** The user's layers as lines to fill and to stroke, and points. */
const ownOf = ({ overlays }) => overlays.map((layer) => ({
  ...layer,
  fills: linesOf(layer.rings, layer.step_deg),
  strokes: linesOf([...layer.rings, ...layer.lines], layer.step_deg),
  spots: layer.points ? arcOf(layer.points, layer.step_deg) : [],
}));

export function makeCoverage(map, model, { store, backdrop }) {
  const given = model.behind;
  if (!given) return null;
  const layers = contoursOf(given);
  const overlays = ownOf(given);
  const state = { relief: Boolean(given.relief), hidden: new Set() };
  const ground = new CanvasLayer();
  const words = new CanvasLayer();
  const picture = new Image();
  const swatches = [];
  const legend = el('section', { id: 'coverage', class: 'coverage', 'aria-label': 'Legend of what lies behind the sites' });

  /** The quantity whose contours are shown, if any. */
  const shown = () => layers.find((layer) => layer.name === store.state.coverage);

  ground.draw = (ctx, frame) => {
    shown()?.bands.forEach((band) => drawBand(ctx, band, frame));
    if (state.relief && picture.complete) drawRelief(ctx, frame, picture, given.relief.frame);
  };
  words.draw = (ctx, frame) => {
    store.set({ labels: shown() ? writeLabels(ctx, shown(), frame, model) : [] });
    const seen = overlays.filter((_, k) => !state.hidden.has(k));
    seen.forEach((layer) => drawOverlay(ctx, layer, frame, store.state.mode));
    nameShapes(ctx, frame, seen);
  };

  function showChoice() {
    markChoice(shown()?.name ?? 'none');
    legend.hidden = !shown();
    legend.replaceChildren(...legendParts(shown(), given, store.state.mode));
    swatches.forEach((text, k) => { text.style.borderLeftColor = colorOf(overlays[k], store.state.mode); });
    ground.redraw();
    words.redraw();
  }

  function addSwitches() {
    if (given.relief) {
      backdrop.add('Relief', true, (on) => {
        state.relief = on;
        ground.redraw();
      }).dataset.coverage = 'relief';
    }
    overlays.forEach((layer, k) => {
      const input = backdrop.add(layer.name, true, (on) => {
        state.hidden[on ? 'delete' : 'add'](k);
        words.redraw();
      });
      input.dataset.overlay = String(k);
      const text = input.nextElementSibling;
      text.dir = 'auto';
      text.className = 'coverage-own';
      swatches.push(text);
    });
  }

  picture.addEventListener('load', () => ground.redraw());
  if (given.relief) picture.src = given.relief.image;
  const panel = byId('panel');
  panel.insertBefore(legend, panel.querySelector('.panel-foot'));
  addCanvas(map, ground, 'coverage', 250);
  addCanvas(map, words, 'own-layers', 320);
  if (layers.length) byId('backdrop').prepend(choices(layers, (name) => store.set({ coverage: name })));
  addSwitches();
  store.on(['coverage', 'mode'], showChoice);
  store.set({ coverage: layers[0]?.name ?? 'none' });
  return { layers, overlays };
}
