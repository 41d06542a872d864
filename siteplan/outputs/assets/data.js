/* The dataset: columns by name, and values as the reader sees them. */
SP.data = (function () {
  const CODES = '0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ';

  /** Parse one of the JSON blocks of the page. */
  const block = (id) => JSON.parse(SP.id(id).textContent);

  /** A function that gives the value of site i of an encoded column. */
  function reader(column) {
    if (!column) return () => null;
    if ('c' in column) return () => column.c;
    if ('d' in column) return (i) => column.d[column.i[i]];
    return (i) => column.v[i];
  }

  /** The class of every site in a layer. */
  function codes(text) {
    const place = new Map([...CODES].map((letter, k) => [letter, k]));
    return Uint8Array.from(text, (letter) => place.get(letter));
  }

  /** A number with its decimals; what rounds to zero from below keeps its sign. */
  function fixed(value, decimals) {
    return (Object.is(value, -0) ? '-' : '') + value.toFixed(decimals);
  }

  /** A value of a field as text, with its unit; empty where there is none. */
  function written(value, field) {
    if (value === null || value === undefined || value === '') return '';
    if (field.decimals === null) return String(value);
    const gap = field.unit === '°' || !field.unit ? '' : ' ';
    return fixed(value, field.decimals) + gap + field.unit;
  }

  /** Which sites are not served as planned: a flag says so, or the margin is below zero. */
  function failing(model) {
    const flags = model.column('flags');
    const margin = model.column('margin_db');
    const stops = new Map();
    const stop = (text) => {
      if (!stops.has(text)) {
        stops.set(text, model.codesOf(text).some((c) => model.flags[c]?.severity === 'stop'));
      }
      return stops.get(text);
    };
    return Uint8Array.from({ length: model.count }, (_, i) => {
      const m = margin(i);
      return stop(flags(i) ?? '') || (m !== null && (m < 0 || Object.is(m, -0))) ? 1 : 0;
    });
  }

  /** Sites from the bottom of the drawing to its top: failing ones last, then by margin. */
  function drawOrder(model) {
    const margin = model.column('margin_db');
    const key = Float64Array.from({ length: model.count }, (_, i) => {
      const m = margin(i) ?? -100;
      return model.failing[i] ? m - 1000 : m;
    });
    return Uint32Array.from(key.keys()).sort((a, b) => key[b] - key[a] || b - a);
  }

  /**
   * Read the page's dataset.
   * @returns {Object} the model that every other part takes
   */
  function read() {
    const raw = block('siteplan-data');
    const readers = new Map(Object.entries(raw.columns).map(([k, c]) => [k, reader(c)]));
    const model = {
      ...raw,
      column: (name) => readers.get(name) ?? (() => null),
      has: (name) => readers.has(name),
      codesOf: (text) => String(text ?? '').split(';').map((c) => c.trim()).filter(Boolean),
      text: (name, i) => (readers.has(name) ? written(readers.get(name)(i), raw.fields[name]) : ''),
      extra: raw.extra.map((column) => ({ label: column.label, value: reader(column) })),
      layers: raw.layers.map((layer) => ({ ...layer, codes: codes(layer.codes) })),
    };
    model.failing = failing(model);
    model.order = drawOrder(model);
    return model;
  }

  return { read, block };
})();
