import assert from 'node:assert/strict';
import test from 'node:test';
import { csvCell, csvText } from '../../../../siteplan/outputs/map/scripts/base/csv.js';

test('texts that a spreadsheet could run start with an apostrophe', () => {
  for (const text of ['=cmd()', '+1+1', '-x', '@SUM(A1)', '\tx', '\rx', '\nx', ' =1', '\ufeff=1', '\uff1dcmd()', '\uff0b1', '\uff0dx', '\uff20SUM(A1)', '\ufe66x']) {
    assert.match(csvCell(text), /^"?'/, text);
  }
});

test('plain numbers and plain texts stay as they are', () => {
  assert.equal(csvCell('-12.5'), '-12.5');
  assert.equal(csvCell(-3), '-3');
  assert.equal(csvCell('1.2 m'), '1.2 m');
  assert.equal(csvCell(null), '');
  assert.equal(csvCell(NaN), '');
});

test('quotes, commas and breaks are quoted as RFC 4180 has it', () => {
  assert.equal(csvCell('a,b'), '"a,b"');
  assert.equal(csvCell('say "hi"'), '"say ""hi"""');
  assert.equal(csvCell('two\nlines'), '"two\nlines"');
  assert.equal(csvText([['a', 1], ['b', null]]), 'a,1\r\nb,\r\n');
});
