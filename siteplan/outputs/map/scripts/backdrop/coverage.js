/* Behind the sites: filled contours of one quantity, a soft relief, and the user's own layers. */
import { arcOf, boxed, traceAll } from './basemap.js';
import { byId, el, styleOf } from '../base/core.js';
import { worldX, worldY } from '../base/geo.js';
import { addCanvas, CanvasLayer, pixelRatio } from '../base/canvas.js';

export function makeCoverage(map, model, { store, backdrop }) {
  const given = model.behind;
  if (!given) return null;
  /** Labels inside the contours: spacing of the places tried, and of those of one class. */
  const [TRY_X, TRY_Y, APART] = [64, 22, 330];
  const HATCH = 12;
  const CELL = 20;
  const [latOf, lonOf] = [model.column('lat'), model.column('lon')];

  const linesOf = (texts, step) => texts.map((text) => boxed(arcOf(text, step)));
  const layers = given.layers.map((layer) => ({
    ...layer,
    bands: layer.bands.map((band) => ({ ...band, lines: linesOf(band.rings, given.step_deg) })),
  }));
  const overlays = given.overlays.map((layer) => ({
    ...layer,
    fills: linesOf(layer.rings, layer.step_deg),
    strokes: linesOf([...layer.rings, ...layer.lines], layer.step_deg),
    spots: layer.points ? arcOf(layer.points, layer.step_deg) : [],
  }));
  const state = { relief: Boolean(given.relief), hidden: new Set() };

  /** The quantity whose contours are shown, if any. */
  const shown = () => layers.find((layer) => layer.name === store.state.coverage);

  // --- contours -----------------------------------------------------------------------------

  function drawRelief(ctx, frame) {
    const [south, west, north, east] = given.relief.frame;
    const [x0, x1] = [worldX(west), worldX(east)];
    const [y0, y1] = [worldY(north), worldY(south)];
    for (let copy = frame.first - 1; copy <= frame.last + 1; copy++) {
      ctx.drawImage(
        picture,
        (x0 + copy) * frame.size - frame.left,
        y0 * frame.size - frame.top,
        (x1 - x0) * frame.size,
        (y1 - y0) * frame.size,
      );
    }
  }

  /** Slanting lines over the current path: a second cue for what cannot be served. */
  function hatch(ctx, frame) {
    ctx.save();
    ctx.clip('evenodd');
    ctx.beginPath();
    // Tied to the ground, so that the lines do not swim while the map moves.
    const start = -frame.height - ((frame.left + frame.top) % HATCH) - HATCH;
    for (let x = start; x < frame.width; x += HATCH) {
      ctx.moveTo(x, 0);
      ctx.lineTo(x + frame.height, frame.height);
    }
    ctx.strokeStyle = styleOf('--contour');
    ctx.globalAlpha = 0.55;
    ctx.lineWidth = 0.8;
    ctx.stroke();
    ctx.restore();
  }

  const opacity = () => Number.parseFloat(styleOf('--contour-fill'));

  function drawBand(ctx, band, frame) {
    traceAll(ctx, band.lines, frame);
    ctx.fillStyle = band.color;
    ctx.globalAlpha = opacity();
    ctx.fill('evenodd');
    ctx.globalAlpha = 1;
    ctx.strokeStyle = styleOf('--contour');
    ctx.lineWidth = 0.9;
    ctx.stroke();
    if (band.care) hatch(ctx, frame);
  }

  /** Whether a box of this half width lies whole inside the current path. */
  function holds(ctx, [px, py], half) {
    const ratio = pixelRatio();
    return [[0, 0], [-half, -9], [half, -9], [-half, 9], [half, 9]].every(
      ([dx, dy]) => ctx.isPointInPath((px + dx) * ratio, (py + dy) * ratio, 'evenodd'));
  }

  /** Places for labels, in rows that are set off against one another. */
  function places(frame) {
    const found = [];
    let row = 0;
    for (let py = frame.inset.y + 30; py < frame.height - frame.inset.y - 20; py += TRY_Y, row++) {
      const first = frame.inset.x + 60 + (row % 2) * (TRY_X / 2);
      for (let px = first; px < frame.width - frame.inset.x - 50; px += TRY_X) found.push([px, py]);
    }
    return found;
  }

  /** Which cells of the canvas hold a site, so that labels keep clear of the markers. */
  function cellsOfSites(frame) {
    const cells = new Set();
    for (let i = 0; i < model.count; i++) {
      const py = worldY(latOf(i)) * frame.size - frame.top;
      if (!(py > 0 && py < frame.height)) continue;
      eachCopy(frame, (dx) => cells.add(cellOf(worldX(lonOf(i)) * frame.size + dx, py)));
    }
    return cells;
  }

  const cellOf = (px, py) => Math.floor(px / CELL) + 4096 * Math.floor(py / CELL);

  function isClear(cells, [px, py], half) {
    for (let x = px - half - CELL / 2; x < px + half + CELL; x += CELL / 2) {
      for (const y of [py - 16, py, py + 16]) if (cells.has(cellOf(x, y))) return false;
    }
    return true;
  }

  /** The labels of a class: where its area has room for the text, clear of sites if it can be. */
  function spotsOf(ctx, band, frame, cells) {
    const half = ctx.measureText(band.label).width / 2 + 5;
    traceAll(ctx, band.lines, frame);
    const free = places(frame).filter((place) => isClear(cells, place, half));
    const kept = apart(free, (place) => holds(ctx, place, half));
    return kept.length ? kept : apart(places(frame), (place) => holds(ctx, place, half));
  }

  /** Those of the places that are good and far enough from one another. */
  function apart(spots, isGood) {
    const kept = [];
    for (const spot of spots) {
      const near = kept.some(([px, py]) => Math.hypot(px - spot[0], py - spot[1]) < APART);
      if (!near && isGood(spot)) kept.push(spot);
    }
    return kept;
  }

  function writeLabels(ctx, layer, frame) {
    const cells = cellsOfSites(frame);
    ctx.font = '600 13px system-ui, sans-serif';
    ctx.textAlign = 'center';
    ctx.textBaseline = 'middle';
    for (const band of layer.bands) {
      for (const [px, py] of spotsOf(ctx, band, frame, cells)) outlined(ctx, band.label, px, py);
    }
  }

  /** Dark text with a light edge, or the other way round on a dark map. */
  function outlined(ctx, text, px, py) {
    ctx.lineJoin = 'round';
    ctx.lineWidth = 3.5;
    ctx.strokeStyle = styleOf('--contour-halo');
    ctx.strokeText(text, px, py);
    ctx.fillStyle = styleOf('--contour-text');
    ctx.fillText(text, px, py);
  }

  // --- overlays -----------------------------------------------------------------------------

  function drawOverlay(ctx, layer, frame) {
    if (layer.fills.length) {
      traceAll(ctx, layer.fills, frame);
      ctx.globalAlpha = 0.1;
      ctx.fillStyle = layer.color;
      ctx.fill('evenodd');
      ctx.globalAlpha = 1;
    }
    traceAll(ctx, layer.strokes, frame);
    twice(ctx, layer.color, 2);
    drawSpots(ctx, layer, frame);
  }

  function twice(ctx, color, width) {
    ctx.lineJoin = 'round';
    for (const [c, w] of [[styleOf('--contour-halo'), width + 2], [color, width]]) {
      ctx.strokeStyle = c;
      ctx.lineWidth = w;
      ctx.stroke();
    }
  }

  /** Points as small crosses: no marker of a site looks like that. */
  function drawSpots(ctx, layer, frame) {
    ctx.beginPath();
    eachCopy(frame, (dx) => {
      for (let k = 0; k < layer.spots.length; k += 2) {
        const px = layer.spots[k] * frame.size + dx;
        const py = layer.spots[k + 1] * frame.size - frame.top;
        ctx.moveTo(px - 5, py);
        ctx.lineTo(px + 5, py);
        ctx.moveTo(px, py - 5);
        ctx.lineTo(px, py + 5);
      }
    });
    twice(ctx, layer.color, 2);
  }

  function eachCopy(frame, draw) {
    for (let copy = frame.first - 1; copy <= frame.last + 1; copy++) {
      draw(copy * frame.size - frame.left);
    }
  }

  /** Names of the user's shapes, as far as they do not lie on one another. */
  function nameShapes(ctx, frame) {
    const taken = [];
    ctx.font = 'italic 12px system-ui, sans-serif';
    ctx.textAlign = 'left';
    ctx.textBaseline = 'middle';
    overlays.filter((_, k) => !state.hidden.has(k)).forEach((layer) => {
      for (const [lon, lat, text] of layer.labels) {
        eachCopy(frame, (dx) => {
          const px = worldX(lon) * frame.size + dx + 8;
          const py = worldY(lat) * frame.size - frame.top;
          if (px < 0 || px > frame.width || py < 0 || py > frame.height) return;
          const short = text.length > 40 ? `${text.slice(0, 39)}…` : text;
          const box = [px, py, px + ctx.measureText(short).width, py];
          const clash = ([l, t, r]) => l < box[2] && r > box[0] && Math.abs(t - py) < 15;
          if (taken.some(clash)) return;
          taken.push(box);
          outlined(ctx, short, px, py);
        });
      }
    });
  }

  // --- in the panel -------------------------------------------------------------------------

  /** One button a quantity, and one for none. */
  function choices() {
    const names = [{ label: 'No contours', name: 'none' }, ...layers];
    return el('div', { class: 'layers coverage-choices', role: 'group', 'aria-label': 'Contours behind the sites' },
      names.map(({ label, name }) => el('button', {
        type: 'button', text: label, 'data-coverage': name, on: { click: () => store.set({ coverage: name }) },
      })));
  }

  function markChoice() {
    const name = shown()?.name ?? 'none';
    for (const button of document.querySelectorAll('.coverage-choices button')) {
      button.setAttribute('aria-pressed', String(button.dataset.coverage === name));
    }
  }

  /** A small field that shows a class as the map does over land. */
  function swatch(band) {
    const box = el('canvas', { class: 'coverage-swatch', width: '56', height: '36', 'aria-hidden': 'true' });
    const ctx = box.getContext('2d');
    ctx.scale(2, 2);
    ctx.beginPath();
    ctx.rect(0, 0, 28, 18);
    ctx.fillStyle = styleOf('--land');
    ctx.fill();
    ctx.globalAlpha = opacity();
    if (store.state.mode !== 'dark') ctx.globalCompositeOperation = 'multiply';
    ctx.fillStyle = band.color;
    ctx.fill();
    ctx.globalCompositeOperation = 'source-over';
    if (band.care) hatch(ctx, { left: 0, top: 0, width: 28, height: 18 });
    return box;
  }

  /** The classes of the contours, below the legend of the sites. */
  function buildLegend() {
    const layer = shown();
    legend.hidden = !layer;
    if (!layer) {
      legend.replaceChildren();
      return;
    }
    const title = layer.unit ? `${layer.label} [${layer.unit}]` : layer.label;
    legend.replaceChildren(
      el('h2', { id: 'coverage-title', class: 'legend-title', text: `Behind the sites: ${title}` }),
      el('ul', { class: 'coverage-legend', 'aria-labelledby': 'coverage-title' }, layer.bands.map((band) =>
        el('li', {}, [swatch(band), el('span', { text: band.label })]))),
      el('p', { class: 'legend-meaning', text: `${layer.meaning}. ${given.note}` }),
    );
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
      text.style.borderLeftColor = layer.color;
    });
  }

  // --- on the map ---------------------------------------------------------------------------

  const ground = new CanvasLayer();
  ground.draw = (ctx, frame) => {
    shown()?.bands.forEach((band) => drawBand(ctx, band, frame));
    if (state.relief && picture.complete) drawRelief(ctx, frame);
  };
  const words = new CanvasLayer();
  words.draw = (ctx, frame) => {
    if (shown()) writeLabels(ctx, shown(), frame);
    overlays.forEach((layer, k) => !state.hidden.has(k) && drawOverlay(ctx, layer, frame));
    nameShapes(ctx, frame);
  };
  const picture = new Image();
  picture.addEventListener('load', () => ground.redraw());
  if (given.relief) picture.src = given.relief.image;

  const legend = el('section', { id: 'coverage', class: 'coverage', 'aria-label': 'Legend of what lies behind the sites' });
  const panel = byId('panel');
  panel.insertBefore(legend, panel.querySelector('.panel-foot'));
  addCanvas(map, ground, 'coverage', 250);
  addCanvas(map, words, 'own-layers', 320);
  if (layers.length) byId('backdrop').prepend(choices());
  addSwitches();
  store.on(['coverage', 'mode'], () => {
    markChoice();
    buildLegend();
    ground.redraw();
    words.redraw();
  });
  store.set({ coverage: layers[0]?.name ?? 'none' });
  return { layers, overlays };
}
