/* Ranges of fields that sites are filtered by: the margin's is that of 'Find', others a text. */

/** Ranges as a text has them: 'elevation_deg:10:20,rain_rate_mm_h::80'. */
export function parsed(text) {
  const found = new Map();
  for (const part of text.split(',')) {
    const [field, ...ends] = part.split(':');
    const [least, most] = ends.map((x) => (x.trim() !== '' && Number.isFinite(Number(x)) ? Number(x) : null));
    if (field && ends.length === 2 && (least !== null || most !== null)) found.set(field, [least, most]);
  }
  return found;
}

const written = (ranges) => [...ranges].map(([field, [least, most]]) => `${field}:${least ?? ''}:${most ?? ''}`).join(',');

/** What is asked of a field: its least and its most, null where open. */
export const askedOf = (wanted, field) =>
  (field === 'margin_db' ? [wanted.least, wanted.most] : (parsed(wanted.ranges).get(field) ?? [null, null]));

/** What asks for a range of a field beside all else that is asked for. */
export function asking(wanted, field, [least, most]) {
  if (field === 'margin_db') return { least, most };
  const ranges = parsed(wanted.ranges);
  ranges.delete(field);
  if (least !== null || most !== null) ranges.set(field, [least, most]);
  return { ranges: written(ranges) };
}
