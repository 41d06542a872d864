/* Paper: one landscape page, always bright, the same from the button and from the browser's menu. */
import { CanvasLayer } from './canvas.js';
import { byId, isWide } from './core.js';

/** Room between what was in sight and the edges of the paper's map [CSS pixels]. */
const EDGE = 10;
/** Room at the card's end for what says that more stands elsewhere [CSS pixels]. */
const NOTE = 40;

/** Parts of the card that may be cut between their own. */
const CUT = ['SECTION', 'DL', 'UL'];

/** Leave out what does not end above a height of the page, whole rows and sentences at a time. */
function cut(parts, end) {
  const over = (part) => part.getBoundingClientRect().bottom > end;
  const k = parts.findIndex(over);
  if (k < 0) return;
  const inner = [...parts[k].children];
  const deep = CUT.includes(parts[k].tagName) && inner.length > 1 && !over(inner[0]);
  // A value goes with its label.
  parts.slice(deep ? k + 1 : k - Number(parts[k].tagName === 'DD')).forEach((part) => part.classList.add('off-paper'));
  if (deep) cut(inner, end);
}

/** On paper the card ends with the last row or sentence that is there whole. */
function trim() {
  const card = byId('card');
  const body = card.hidden ? null : card.querySelector('.card-body');
  if (body) body.scrollTop = 0;
  if (!body || body.scrollHeight <= body.clientHeight + 1) return;
  cut([...body.children], body.getBoundingClientRect().bottom - NOTE);
  body.classList.add('cut');
}

export function makePrinting(map, store, { setMode }) {
  const box = map.getContainer();
  /** What the reader had before the page was made ready for paper. */
  let before = null;
  /** Canvases that stand on paper in the place of others. */
  const copies = [];

  const frames = () => new Promise((done) => {
    requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 60)));
  });

  /** How much of the map panel and card cover, left and right [CSS pixels]. */
  function covered() {
    const { left, right } = box.getBoundingClientRect();
    const card = byId('card');
    return [
      Math.max(0, byId('panel').getBoundingClientRect().right - left),
      card.hidden ? 0 : Math.max(0, right - card.getBoundingClientRect().left),
    ];
  }

  /** What the reader sees of the map, clear of panel and card. */
  function inSight() {
    const { x, y } = map.getSize();
    const [left, right] = isWide() ? covered() : [0, 0];
    const corners = left + right < x ? [[left, 0], [x - right, y]] : [[0, 0], [x, y]];
    return corners.map((corner) => map.containerPointToLatLng(corner));
  }

  /** Lay the page out as the sheet, with all in sight that was, and draw it at once. */
  function lay() {
    const { mode, table } = store.state;
    before = { mode, table, center: map.getCenter(), zoom: map.getZoom() };
    store.set({ table: false });
    const seen = inSight();
    setMode('bright', false);
    document.body.classList.add('printing');
    map.invalidateSize({ animate: false });
    trim();
    const [left, right] = covered();
    map.fitBounds(seen, { paddingTopLeft: [left + EDGE, EDGE], paddingBottomRight: [right + EDGE, EDGE], animate: false });
    map.eachLayer((layer) => layer instanceof CanvasLayer && layer.redraw(true));
  }

  /**
   * From the browser's menu: what a canvas was given since the last frame may be lost on paper, what
   * a new one was given is not.
   */
  function layAtOnce() {
    if (before) return;
    lay();
    for (const canvas of box.querySelectorAll('canvas')) {
      const copy = canvas.cloneNode();
      if (canvas.width && canvas.height) copy.getContext('2d').drawImage(canvas, 0, 0);
      ['width', 'height', 'transform'].forEach((k) => { copy.style[k] = canvas.style[k]; });
      canvas.style.visibility = 'hidden';
      canvas.after(copy);
      copies.push([canvas, copy]);
    }
  }

  /** From the button: some browsers lose what is drawn on a canvas once printing has begun. */
  async function print() {
    if (!before) lay();
    await frames();
    window.print();
  }

  /** Back to the screen. */
  function restore() {
    if (!before) return;
    const { mode, table, center, zoom } = before;
    before = null;
    for (const [canvas, copy] of copies.splice(0)) {
      copy.remove();
      canvas.style.visibility = '';
    }
    document.body.classList.remove('printing');
    for (const node of document.querySelectorAll('.off-paper, .card-body.cut')) node.classList.remove('off-paper', 'cut');
    setMode(mode, false);
    store.set({ table });
    map.invalidateSize({ animate: false });
    map.setView(center, zoom, { animate: false });
  }

  window.addEventListener('beforeprint', layAtOnce);
  window.addEventListener('afterprint', restore);
  byId('print').addEventListener('click', print);
  document.addEventListener('keydown', (event) => {
    if (event.key.toLowerCase() !== 'p' || !(event.ctrlKey || event.metaKey) || event.shiftKey || event.altKey) return;
    event.preventDefault();
    print();
  });
}
