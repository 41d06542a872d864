/* Notes that the reader writes at a site: kept in this browser, and saved as a file. */
SP.makeNotes = function (model) {
  const key = (i) => `note:${model.heading}:${model.text('site_id', i)}`;
  const read = (i) => SP.memory.get(key(i)) ?? '';

  /** The field on the card. */
  function field(i) {
    const area = SP.el('textarea', { id: 'note', rows: '3', dir: 'auto', maxlength: '4000' });
    area.value = read(i);
    const said = SP.el('p', { class: 'notes', id: 'note-said', role: 'status' });
    area.addEventListener('input', () => {
      const kept = SP.memory.set(key(i), area.value);
      said.textContent = kept ? 'Kept in this browser.' : 'Kept until the page is closed: save it as a file.';
    });
    return SP.el('section', {}, [
      SP.el('h3', {}, [SP.el('label', { for: 'note', text: 'Note' })]),
      area,
      said,
      SP.el('button', { type: 'button', text: 'Save all notes as CSV', on: { click: save } }),
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

  const save = () => SP.csv.download('site_notes.csv', rows());

  return { field, rows };
};
