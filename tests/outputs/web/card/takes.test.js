/* What it would take, on the card. */
import assert from 'node:assert/strict';
import test from 'node:test';
import { makePage, told } from '../fake.js';

makePage();
const { takes } = await import('../../../../siteplan/outputs/map/scripts/card/takes.js');
const model = { takes: (i) => ['', 'The satellite is below the horizon.', 'A: +1 dB, then served\nB <i>: +2 dB, then served'][i] };
const live = { now: {} };

test('a site that needs nothing says nothing', () => {
  assert.deepEqual(takes(model, live, 0), []);
});

test('a line alone is not folded', () => {
  const [line] = takes(model, live, 1);
  assert.equal(line.tag, 'p');
  assert.match(told(line).join(' '), /What it would take: The satellite is below the horizon\./);
});

test('changes are folded, the best first, as text', () => {
  const [fold] = takes(model, live, 2);
  assert.equal(fold.tag, 'details');
  const items = fold.all().filter(({ tag }) => tag === 'li').map(({ textContent }) => textContent);
  assert.deepEqual(items, ['A: +1 dB, then served', 'B <i>: +2 dB, then served']);
  assert.doesNotMatch(told(fold).join(' '), /what-if/);
});

test('under a what-if they are told to be the plan’s', () => {
  for (const now of [{ estimate: true }, { angles: true }]) {
    const [fold] = takes(model, { now }, 2);
    assert.match(told(fold).join(' '), /not for this what-if/);
    assert.match(told(fold).join(' '), /What it would take, by the plan: 2 changes help/);
    assert.equal(fold.className, 'takes of-plan');
  }
});
