/* Paper: one landscape page, always bright. */
import { byId } from './core.js';

export function makePrinting(map, store, { setMode }) {
  const root = document.documentElement;
  const box = map.getContainer();
  /** What the reader had before the page was made ready for paper. */
  let before = null;

  const frames = () => new Promise((done) => {
    requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 60)));
  });

  /**
   * Lay the page out as the sheet and draw it so, then print: browsers may lose what is drawn
   * on a canvas after printing has begun.
   */
  async function print() {
    const { mode, table } = store.state;
    before = { mode, table, center: map.getCenter(), zoom: map.getZoom() };
    store.set({ table: false });
    setMode('bright', false);
    document.body.classList.add('printing', 'ready');
    map.invalidateSize({ animate: false });
    await frames();
    window.print();
  }

  /** Printing that the browser's own menu began: the map keeps its pixels and is scaled. */
  function asItIs() {
    const size = map.getSize();
    document.body.classList.add('printing');
    document.body.classList.toggle('printing-narrow', size.x < 760);
    root.dataset.mode = 'bright';
    const paper = box.parentElement.getBoundingClientRect();
    const scale = 0.98 * Math.min(paper.width / size.x, paper.height / size.y);
    Object.assign(box.style, {
      inset: 'auto', width: `${size.x}px`, height: `${size.y}px`,
      transform: `scale(${scale})`, transformOrigin: '0 0',
    });
  }

  /** Back to the screen. */
  function restore() {
    document.body.classList.remove('printing', 'printing-narrow', 'ready');
    ['inset', 'width', 'height', 'transform', 'transformOrigin'].forEach((k) => { box.style[k] = ''; });
    root.dataset.mode = store.state.mode;
    if (!before) return;
    const { mode, table, center, zoom } = before;
    before = null;
    setMode(mode, false);
    store.set({ table });
    map.invalidateSize({ animate: false });
    map.setView(center, zoom, { animate: false });
  }

  window.addEventListener('beforeprint', () => before || asItIs());
  window.addEventListener('afterprint', restore);
  byId('print').addEventListener('click', print);
  document.addEventListener('keydown', (event) => {
    if (event.key.toLowerCase() !== 'p' || !(event.ctrlKey || event.metaKey) || event.shiftKey || event.altKey) return;
    event.preventDefault();
    print();
  });
}
