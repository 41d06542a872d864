/* Tables as CSV that no spreadsheet runs, and handing a file to the reader. */
import { el } from './core.js';

/** A text that starts like this can run as a formula in a spreadsheet: the marks, wide and small
 * ones too, behind whatever a spreadsheet may drop. */
const FORMULA = /^(?:[\t\n\r]|[\p{C}\p{Z}]*[=+@\uff1d\uff0b\uff0d\uff20\ufe66\ufe62\ufe63\ufe6b-])/u;

/** The file handed to the reader last, for those who watch. */
export const handed = { last: null };

/** One cell: texts that look like formulas get an apostrophe; quotes as RFC 4180 has them. */
export function csvCell(value) {
  if (value === null || value === undefined) return '';
  if (typeof value === 'number') return Number.isFinite(value) ? String(value) : '';
  const text = String(value);
  const plain = text.trim() !== '' && Number.isFinite(Number(text));
  const safe = FORMULA.test(text) && !plain ? `'${text}` : text;
  return /[",\r\n;\t']/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

/** Rows of cells as a file's text. */
export const csvText = (rows) => `${rows.map((row) => row.map(csvCell).join(',')).join('\r\n')}\r\n`;

/** Hand a table to the reader as a file; the mark at its head tells spreadsheets UTF-8. */
export function download(name, rows) {
  const url = URL.createObjectURL(new Blob(['\ufeff', csvText(rows)], { type: 'text/csv' }));
  const link = el('a', { href: url, download: name, hidden: true });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(url), 10_000);
  handed.last = { name, rows: rows.length - 1 };
}
