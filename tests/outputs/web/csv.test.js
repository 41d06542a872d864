import assert from 'node:assert/strict';
import test from 'node:test';
import { load } from './load.js';

const { csv } = load('base/csv.js');

test('texts that a spreadsheet could run start with an apostrophe', () => {
  for (const text of ['=cmd()', '+1+1', '-x', '@SUM(A1)', '\tx', '\rx']) {
    assert.match(csv.cell(text), /^"?'/, text);
  }
});

test('plain numbers and plain texts stay as they are', () => {
  assert.equal(csv.cell('-12.5'), '-12.5');
  assert.equal(csv.cell(-3), '-3');
  assert.equal(csv.cell('1.2 m'), '1.2 m');
  assert.equal(csv.cell(null), '');
  assert.equal(csv.cell(NaN), '');
});

test('quotes, commas and breaks are quoted as RFC 4180 has it', () => {
  assert.equal(csv.cell('a,b'), '"a,b"');
  assert.equal(csv.cell('say "hi"'), '"say ""hi"""');
  assert.equal(csv.cell('two\nlines'), '"two\nlines"');
  assert.equal(csv.text([['a', 1], ['b', null]]), 'a,1\r\nb,\r\n');
});
