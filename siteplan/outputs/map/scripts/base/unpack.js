/* The data as the page holds it: JSON, or JSON packed by gzip and written as base64. */
import { byId } from './core.js';

/** Bytes of a base64 text. */
function bytesOf(text) {
  const raw = atob(text.trim());
  const bytes = new Uint8Array(raw.length);
  for (let k = 0; k < raw.length; k++) bytes[k] = raw.charCodeAt(k);
  return bytes;
}

/** Whether this browser can read packed data. */
const able = () => typeof DecompressionStream === 'function';

async function inflated(text) {
  const stream = new Blob([bytesOf(text)]).stream().pipeThrough(new DecompressionStream('gzip'));
  return new Response(stream).text();
}

/** Parse one of the page's plain JSON blocks. */
export const block = (id) => JSON.parse(byId(id).textContent);

/**
 * The page's dataset, at once where it is plain.
 * @returns {Object|Promise<Object>}
 */
export function dataset(id) {
  const node = byId(id);
  if (node.type === 'application/json') return block(id);
  if (!able()) {
    throw new Error('This browser is too old to unpack the map. Open it in a newer one, or have it '
      + 'written again with --plain-map.');
  }
  return inflated(node.textContent).then((text) => JSON.parse(text));
}
