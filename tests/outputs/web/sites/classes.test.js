import assert from 'node:assert/strict';
import test from 'node:test';
import { bin, fieldLayer, niceBounds } from '../../../../siteplan/outputs/map/scripts/sites/classes.js';

test('bounds are round, inside the values, and a value on a bound belongs above', () => {
  assert.deepEqual(niceBounds([12, 97, null], 0.01), [20, 40, 60, 80]);
  assert.deepEqual(niceBounds([5, 5], 0.1), []);
  assert.equal(bin(1, [0, 1, 3]), 2);
  assert.equal(bin(-0.01, [0, 1, 3]), 0);
});

test('any field becomes a layer', () => {
  const look = { ramps: { 1: ['#111111'], 2: ['#111111', '#222222'], 5: ['#1', '#2', '#3', '#4', '#5'] }, colors: ['#a', '#b'], shapes: ['circle', 'square', 'bar'], blank: { label: 'No value', blank: true } };
  const numbers = fieldLayer('x_m', [12, null, 97], { decimals: 0, unit: 'm' }, look);
  assert.deepEqual([...numbers.codes], [0, 5, 4]);
  assert.equal(numbers.classes[1].label, '20 to 40 m');
  const texts = fieldLayer('kind', ['b', 'a', 'b', '', 'c', 'd'], { decimals: null, unit: '' }, look);
  assert.deepEqual(texts.classes.map((c) => c.label), ['b', 'a', 'others', 'No value']);
  assert.deepEqual([...texts.codes], [0, 1, 0, 3, 2, 2]);
});
