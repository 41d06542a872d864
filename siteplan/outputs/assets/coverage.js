/* Behind the sites: filled contours of one quantity, a soft relief, and the user's own layers. */
SP.makeCoverage = function (map, model) {
  const given = model.behind;
  if (!given) return null;
  /** Labels inside the contours: spacing of the places tried, and of those of one class. */
  const [TRY_X, TRY_Y, APART] = [64, 22, 330];
  const HATCH = 12;

  const linesOf = (texts, step) => texts.map((text) => SP.basemap.boxed(SP.basemap.arcOf(text, step)));
  const layers = given.layers.map((layer) => ({
    ...layer,
    bands: layer.bands.map((band) => ({ ...band, lines: linesOf(band.rings, given.step_deg) })),
  }));
  const overlays = given.overlays.map((layer) => ({
    ...layer,
    fills: linesOf(layer.rings, layer.step_deg),
    strokes: linesOf([...layer.rings, ...layer.lines], layer.step_deg),
    spots: layer.points ? SP.basemap.arcOf(layer.points, layer.step_deg) : [],
  }));
  const store = SP.makeStore({
    shown: layers.length ? 0 : -1,
    relief: Boolean(given.relief),
    hidden: new Set(),
    turns: 0,
  });

  // --- contours -----------------------------------------------------------------------------

  function drawRelief(ctx, frame) {
    const [south, west, north, east] = given.relief.frame;
    const [x0, x1] = [SP.geo.x(west), SP.geo.x(east)];
    const [y0, y1] = [SP.geo.y(north), SP.geo.y(south)];
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
    ctx.strokeStyle = SP.style('--contour');
    ctx.globalAlpha = 0.55;
    ctx.lineWidth = 0.8;
    ctx.stroke();
    ctx.restore();
  }

  function drawBand(ctx, band, frame) {
    SP.basemap.traceAll(ctx, band.lines, frame);
    ctx.fillStyle = band.color;
    ctx.globalAlpha = Number.parseFloat(SP.style('--contour-fill'));
    ctx.fill('evenodd');
    ctx.globalAlpha = 1;
    ctx.strokeStyle = SP.style('--contour');
    ctx.lineWidth = 0.9;
    ctx.stroke();
    if (band.care) hatch(ctx, frame);
  }

  /** Whether a box of this half width lies whole inside the current path. */
  function holds(ctx, [px, py], half) {
    const ratio = SP.ratio();
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

  /** The labels of a class: where its area has room for the whole text. */
  function spotsOf(ctx, band, frame) {
    const half = ctx.measureText(band.label).width / 2 + 5;
    const kept = [];
    SP.basemap.traceAll(ctx, band.lines, frame);
    for (const place of places(frame)) {
      const near = kept.some(([px, py]) => Math.hypot(px - place[0], py - place[1]) < APART);
      if (!near && holds(ctx, place, half)) kept.push(place);
    }
    return kept;
  }

  function writeLabels(ctx, layer, frame) {
    ctx.font = '600 13px system-ui, sans-serif';
    ctx.textAlign = 'center';
    ctx.textBaseline = 'middle';
    ctx.lineJoin = 'round';
    for (const band of layer.bands) {
      for (const [px, py] of spotsOf(ctx, band, frame)) outlined(ctx, band.label, px, py);
    }
  }

  /** Dark text with a light edge, or the other way round on a dark map. */
  function outlined(ctx, text, px, py) {
    ctx.lineWidth = 3.5;
    ctx.strokeStyle = SP.style('--contour-halo');
    ctx.strokeText(text, px, py);
    ctx.fillStyle = SP.style('--contour-text');
    ctx.fillText(text, px, py);
  }

  // --- overlays -----------------------------------------------------------------------------

  function drawOverlay(ctx, layer, frame) {
    if (layer.fills.length) {
      SP.basemap.traceAll(ctx, layer.fills, frame);
      ctx.globalAlpha = 0.1;
      ctx.fillStyle = layer.color;
      ctx.fill('evenodd');
      ctx.globalAlpha = 1;
    }
    SP.basemap.traceAll(ctx, layer.strokes, frame);
    twice(ctx, layer.color, 2);
    drawSpots(ctx, layer, frame);
  }

  function twice(ctx, color, width) {
    ctx.lineJoin = 'round';
    for (const [c, w] of [[SP.style('--contour-halo'), width + 2], [color, width]]) {
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
    overlays.filter((_, k) => !store.state.hidden.has(k)).forEach((layer) => {
      for (const [lon, lat, text] of layer.labels) {
        eachCopy(frame, (dx) => {
          const px = SP.geo.x(lon) * frame.size + dx + 8;
          const py = SP.geo.y(lat) * frame.size - frame.top;
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

  // --- the section in the panel -------------------------------------------------------------

  const button = (text, pressed, click, has = {}) => SP.el('button', {
    type: 'button', 'aria-pressed': String(pressed), on: { click }, ...has,
  }, [SP.el('span', { text, dir: 'auto' })]);

  function choices() {
    const names = [['None', -1], ...layers.map((layer, k) => [layer.label, k])];
    const row = names.map(([text, k]) => button(text, store.state.shown === k,
      () => store.set({ shown: k }), { 'data-coverage': k < 0 ? 'none' : layers[k].name }));
    return SP.el('div', { class: 'layers', role: 'group', 'aria-label': 'Coverage behind the sites' }, row);
  }

  /** A square that shows a class as the map does, without any image. */
  function swatch(band) {
    const box = SP.el('canvas', { class: 'coverage-swatch', width: '56', height: '36', 'aria-hidden': 'true' });
    const ctx = box.getContext('2d');
    ctx.scale(2, 2);
    ctx.beginPath();
    ctx.rect(0, 0, 28, 18);
    ctx.fillStyle = band.color;
    ctx.fill();
    if (band.care) hatch(ctx, { left: 0, top: 0, width: 28, height: 18 });
    return box;
  }

  function legend(layer) {
    const unit = layer.unit ? ` [${layer.unit}]` : '';
    return SP.el('ul', { class: 'coverage-legend', 'aria-label': `Classes of ${layer.label}${unit}` },
      layer.bands.map((band) => SP.el('li', {}, [swatch(band), SP.el('span', { text: band.label })])));
  }

  /** Relief and overlays, each on or off. */
  function switches() {
    const found = overlays.map((layer, k) => button(layer.name, !store.state.hidden.has(k), () => {
      const { hidden, turns } = store.state;
      if (!hidden.delete(k)) hidden.add(k);
      store.set({ turns: turns + 1 });
    }, { 'data-overlay': String(k), style: `border-left: 6px solid ${layer.color}` }));
    if (given.relief) {
      found.unshift(button('Relief', store.state.relief,
        () => store.set({ relief: !store.state.relief }), { 'data-coverage': 'relief' }));
    }
    return SP.el('div', { class: 'layers coverage-switches', role: 'group', 'aria-label': 'Relief and own layers' }, found);
  }

  /** Build the section anew, and leave the focus where it was. */
  function build() {
    const active = document.activeElement;
    const focus = box.contains(active) ? { ...active.dataset } : null;
    const { shown } = store.state;
    const parts = [];
    if (layers.length) parts.push(choices());
    if (shown >= 0) parts.push(SP.el('p', { class: 'legend-meaning', text: `${layers[shown].meaning}. ${given.note}` }));
    if (given.relief || overlays.length) parts.push(switches());
    body.replaceChildren(...parts);
    classes.replaceChildren(...(shown >= 0 ? [legend(layers[shown])] : []));
    title.textContent = shown >= 0 ? `Behind the sites: ${layers[shown].label}` : 'Behind the sites';
    if (focus) [...body.querySelectorAll('button')].find((b) => same({ ...b.dataset }, focus))?.focus();
  }

  const same = (a, b) => a.coverage === b.coverage && a.overlay === b.overlay;
  const title = SP.el('span', {});
  const body = SP.el('div', { class: 'coverage-body' });
  const classes = SP.el('div', {});
  const box = SP.el('section', { id: 'coverage', class: 'coverage', 'aria-label': 'Behind the sites' }, [
    SP.el('details', {}, [SP.el('summary', {}, [title]), body]), classes,
  ]);

  // --- on the map ---------------------------------------------------------------------------

  const ground = new SP.CanvasLayer();
  ground.draw = (ctx, frame) => {
    const { shown, relief } = store.state;
    if (shown >= 0) layers[shown].bands.forEach((band) => drawBand(ctx, band, frame));
    if (relief && picture.complete) drawRelief(ctx, frame);
  };
  const words = new SP.CanvasLayer();
  words.draw = (ctx, frame) => {
    const { shown, hidden } = store.state;
    if (shown >= 0) writeLabels(ctx, layers[shown], frame);
    overlays.forEach((layer, k) => !hidden.has(k) && drawOverlay(ctx, layer, frame));
    nameShapes(ctx, frame);
  };
  const picture = new Image();
  picture.addEventListener('load', () => ground.redraw());
  if (given.relief) picture.src = given.relief.image;

  const panel = SP.id('panel');
  panel.insertBefore(box, panel.querySelector('.panel-foot'));
  build();
  SP.addCanvas(map, ground, 'coverage', 250);
  SP.addCanvas(map, words, 'own-layers', 320);
  store.on(['shown', 'relief', 'turns'], () => {
    build();
    ground.redraw();
    words.redraw();
  });
  return { store, layers, overlays };
};
