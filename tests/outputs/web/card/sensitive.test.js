/* What would change the kit of a site, on the card. */
import assert from 'node:assert/strict';
import test from 'node:test';
import { makePage, told } from '../fake.js';

makePage();
const { changesOf, sensitive } = await import('../../../../siteplan/outputs/map/scripts/card/sensitive.js');
const model = {
  sensitive: { steps: ['EIRP -1 dB', 'rain +20 %'], pairs: ['1.8 m, 2 W', ''] },
  sensitiveOf: (i) => ['', '0.3.0 1.8.1'][i],
};
const live = { now: {} };

test('a site that no step changes says nothing', () => {
  assert.deepEqual(sensitive(model, live, 0), []);
  assert.deepEqual(sensitive({ sensitiveOf: () => '' }, live, 0), []);
});

test('a text of numbers is read', () => {
  assert.deepEqual(changesOf(model, 1), [
    { step: 'EIRP -1 dB', pair: '1.8 m, 2 W', part: 3 },
    { step: 'rain +20 %', pair: 'nothing fits', part: 8 },
  ]);
});

test('the steps are folded, in their order', () => {
  const [fold] = sensitive(model, live, 1);
  assert.equal(fold.tag, 'details');
  const items = fold.all().filter(({ tag }) => tag === 'li').map(({ textContent }) => textContent);
  assert.deepEqual(items, ['EIRP -1 dB: 1.8 m, 2 W (from 3/8 of it)', 'rain +20 %: nothing fits (the whole step)']);
  assert.match(told(fold).join(' '), /What would change its kit: 2/);
});

test('under a what-if they are told to be the plan’s', () => {
  assert.match(told(sensitive(model, { now: { angles: true } }, 1)[0]).join(' '), /not for this what-if/);
});
