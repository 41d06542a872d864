/* Paper: one landscape page. */
SP.makePrinting = function (map, store, { setMode }) {
  let mode = null;

  /**
   * On paper the map keeps its pixels and is scaled to the sheet: browsers may lose what is
   * drawn on a canvas after printing has begun. Paper is always bright.
   */
  function printing(on) {
    if (on) {
      mode = store.state.mode;
      if (mode === 'dark') turnBright();
    }
    const box = map.getContainer();
    const size = map.getSize();
    document.body.classList.toggle('printing', on);
    document.body.classList.toggle('printing-narrow', on && size.x < 760);
    if (on) return fitTo(box, size);
    ['inset', 'width', 'height', 'transform', 'transformOrigin'].forEach((k) => { box.style[k] = ''; });
    if (mode === 'dark') setMode('dark', false);
    return undefined;
  }

  function fitTo(box, size) {
    const paper = box.parentElement.getBoundingClientRect();
    const scale = 0.98 * Math.min(paper.width / size.x, paper.height / size.y);
    Object.assign(box.style, {
      inset: 'auto', width: `${size.x}px`, height: `${size.y}px`,
      transform: `scale(${scale})`, transformOrigin: '0 0',
    });
  }

  /** Draw everything bright at once: the print does not wait for the next frame. */
  function turnBright() {
    setMode('bright', false);
    map.eachLayer((layer) => layer instanceof SP.CanvasLayer && layer._update());
  }

  window.addEventListener('beforeprint', () => printing(true));
  window.addEventListener('afterprint', () => printing(false));
  SP.id('print').addEventListener('click', () => window.print());
};
