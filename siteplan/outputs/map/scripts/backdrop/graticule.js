/* Meridians and parallels, with their degrees at the edges. */
import { styleOf } from '../base/core.js';
import { RAD, spoken, worldX, worldY, wrapLon } from '../base/geo.js';

const STEPS = [30, 10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01];

/** Spacing of the graticule [degree], for lines some 130 pixels apart. */
const spacing = (frame) => STEPS.find((s, k) => (s * frame.size) / 360 < 200 || !STEPS[k + 1]);

const latitude = (y) => (Math.atan(Math.sinh(Math.PI * (1 - 2 * y))) / RAD);

/** Meridians and parallels in sight, as [degrees, pixel]. */
function graticule(frame) {
  const step = spacing(frame);
  const lonAt = (px) => ((px + frame.left) / frame.size - 0.5) * 360;
  const latAt = (py) => latitude(Math.max(0, Math.min(1, (py + frame.top) / frame.size)));
  const every = (low, high) => {
    const list = [];
    for (let k = Math.ceil(low / step); k * step <= high; k++) list.push(k * step);
    return list;
  };
  return {
    decimals: step < 0.1 ? 2 : step < 1 ? 1 : 0,
    meridians: every(lonAt(0), lonAt(frame.width)).map((lon) => [
      lon,
      worldX(lon) * frame.size - frame.left,
    ]),
    parallels: every(latAt(frame.height), latAt(0)).map((lat) => [
      lat,
      worldY(lat) * frame.size - frame.top,
    ]),
  };
}

/** Draw the graticule. */
export function drawGraticule(ctx, frame) {
  const { decimals, meridians, parallels } = graticule(frame);
  ctx.beginPath();
  for (const [, px] of meridians) {
    ctx.moveTo(Math.round(px) + 0.5, 0);
    ctx.lineTo(Math.round(px) + 0.5, frame.height);
  }
  for (const [, py] of parallels) {
    ctx.moveTo(0, Math.round(py) + 0.5);
    ctx.lineTo(frame.width, Math.round(py) + 0.5);
  }
  ctx.strokeStyle = styleOf('--graticule');
  ctx.lineWidth = 1;
  ctx.stroke();
  labelGraticule(ctx, frame, { decimals, meridians, parallels });
}

function labelGraticule(ctx, frame, { decimals, meridians, parallels }) {
  ctx.font = '12px system-ui, sans-serif';
  const write = (text, px, py) => {
    ctx.lineWidth = 3;
    ctx.strokeStyle = styleOf('--land');
    ctx.strokeText(text, px, py);
    ctx.fillStyle = styleOf('--graticule-text');
    ctx.fillText(text, px, py);
  };
  ctx.textBaseline = 'top';
  ctx.textAlign = 'left';
  for (const [lon, px] of meridians) {
    write(spoken(wrapLon(lon), 'EW', decimals), px + 4, frame.inset.y + 4);
  }
  ctx.textBaseline = 'bottom';
  ctx.textAlign = 'right';
  for (const [lat, py] of parallels) {
    write(spoken(lat, 'NS', decimals), frame.width - frame.inset.x - 8, py - 3);
  }
}
