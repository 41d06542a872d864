/* What of the card stays the plan's while a what-if is shown. */
import assert from 'node:assert/strict';
import test from 'node:test';
import { makePage, told } from '../fake.js';

makePage();
const from = (path) => import(`../../../../siteplan/outputs/map/scripts/${path}.js`);
const [{ flags }, { isFlagStale }] = await Promise.all(['card/verdict', 'card/ofplan'].map(from));

const model = {
  column: () => () => 'margin_negative;blocked;coordinate_doubt',
  codesOf: (text) => text.split(';'),
  text: () => '',
  flags: {
    margin_negative: { severity: 'stop', meaning: 'Below zero' }, blocked: { severity: 'stop', meaning: 'In the beam' },
    coordinate_doubt: { severity: 'warn', meaning: 'Check' },
  },
};
const looks = (now) => flags(model, { now }, 0)[0].all().filter(({ tag }) => tag === 'li').map(({ className }) => className);

test('flags stand as they are in the plan', () => {
  assert.deepEqual(looks({}), ['flag-stop', 'flag-stop', 'flag-warn']);
  assert.doesNotMatch(told(flags(model, { now: {} }, 0)[0]).join(' '), /of the plan/);
});

test('with another target those of the margin are grey', () => {
  assert.deepEqual(looks({ estimate: {} }), ['flag-stop stale', 'flag-stop', 'flag-warn']);
  assert.match(told(flags(model, { now: { estimate: {} } }, 0)[0]).join(' '), /Flags of the plan/);
});

test('with another satellite all are but those of the row and its place', () => {
  assert.deepEqual(looks({ angles: [] }), ['flag-stop stale', 'flag-stop stale', 'flag-warn']);
  assert.ok(!isFlagStale({ angles: [] }, 'heavy_rain'));
});
