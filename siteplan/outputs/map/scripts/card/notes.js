/* Notes that the reader writes at a site: kept in this browser, and saved as a file. */
import { el, memory } from '../base/core.js';
import { download } from '../base/csv.js';

export function makeNotes(model) {
  const key = (i) => `note:${model.heading}:${model.text('site_id', i)}`;
  const read = (i) => memory.get(key(i)) ?? '';

  /** The field on the card. */
  function field(i) {
    const area = el('textarea', { id: 'note', rows: '3', dir: 'auto', maxlength: '4000' });
    area.value = read(i);
    const said = el('p', { class: 'notes', id: 'note-said', role: 'status' });
    area.addEventListener('input', () => {
      const kept = memory.set(key(i), area.value);
      said.textContent = kept ? 'Kept in this browser.' : 'Kept until the page is closed: save it as a file.';
    });
    return el('section', {}, [
      el('h3', {}, [el('label', { for: 'note', text: 'Note' })]),
      area,
      said,
      el('button', { type: 'button', text: 'Save all notes as CSV', on: { click: save } }),
    ]);
  }

  /** Every note as a row. */
  function rows() {
    const found = [];
    for (let i = 0; i < model.count; i++) {
      const text = read(i);
      if (text) found.push([model.text('site_id', i), model.text('name', i), text]);
    }
    return [['site_id', 'name', 'note'], ...found];
  }

  const save = () => download('site_notes.csv', rows());

  return { field, rows };
}
