import assert from 'node:assert/strict';
import test from 'node:test';
import { between, marginFor, unfolded } from '../../../../siteplan/outputs/map/scripts/card/interpolate.js';

const near = (found, wanted, gap = 1e-9) =>
  assert.ok(Math.abs(found - wanted) <= gap, `${found} is not ${wanted}`);

/** Rows of values as the page has them: how their steps change. */
const bent = (...rows) => rows.flatMap((row) => {
  const steps = row.map((v, k) => (v === null ? null : v - (row[k - 1] ?? 0)));
  return steps.map((v, k) => (v === null ? null : v - (steps[k - 1] ?? 0)));
});

test('changes of steps are added up twice, and no number stays none', () => {
  const hundredths = unfolded([-50, 70, -15, null, null, null, 10, -10, -1], 3);
  assert.deepEqual([...hundredths], [-50, -30, -25, -32768, -32768, -32768, 10, 10, 9]);
  assert.deepEqual([...unfolded(bent([-50, -30, -25]), 3)], [-50, -30, -25]);
});

test('between two points all runs straight in ln p, and the ends hold', () => {
  const scale = [0.01, 0.1, 1];
  near(between(scale, Math.sqrt(0.001)).share, 0.5);
  assert.deepEqual(between(scale, 0.1), { k: 1, share: 0 });
  assert.deepEqual(between(scale, 5), { k: 1, share: 1 });
  assert.deepEqual(between(scale, 0.001), { k: 0, share: 0 });
  assert.deepEqual(between(scale, 0), { k: 0, share: 0 });
});

/* Two sites: from -10 dB at 0.01 % to 10 dB at 1 %, straight in ln p; the second sees nothing. */
const NOTHING = [null, null, null];
const SCALE = [0.01, 0.1, 1];
const table = ({ hub = [[8, 4, 0], [6, 3, 0]], ...changes } = {}) => ({
  p: SCALE,
  site: unfolded(bent([-1000, 0, 1000], [-1000, 0, 1000], NOTHING, NOTHING), 3),
  clear: [1200, 1500, 1800, null, null, null],
  hub: () => hub,
  share: null,
  ...changes,
});
const siteAt = (p) => 10 * Math.log10(p / 0.1);

test('where the hub sees no rain the sites have the whole outage', () => {
  for (const p of [0.02, 0.1, 0.7]) near(marginFor(table({ share: 0 }), 0, 0, p), siteAt(p));
  const dry = table({ hub: [[0, 0, 0], [0, 0, 0]] });
  for (const p of [0.02, 0.1, 0.7]) near(marginFor(dry, 0, 0, p), siteAt(p));
});

test('a share that is given fixes the split', () => {
  // Outbound at 0.5 %: the site has 0.4 %, 6.02 dB; the hub 0.1 %, 12 - 4 = 8 dB.
  near(marginFor(table({ share: 0.2 }), 0, 0, 0.5), siteAt(0.4));
  // All of it to the hub: the site holds at its rarest, -10 dB.
  near(marginFor(table({ share: 1 }), 0, 0, 0.5), -10);
});

test('as it falls: both ends have the level, and their parts are the outage', () => {
  const hub = (p) => 12 - 8 + 4 * Math.log10(p / 0.01);
  for (const p of [0.3, 0.5, 0.9]) {
    const level = marginFor(table(), 0, 0, p);
    const [ofSite, ofHub] = [0.1 * 10 ** (level / 10), 0.01 * 10 ** ((level - 4) / 4)];
    near(ofSite + ofHub, p, 1e-6);
    near(hub(ofHub), level);
    for (const share of [0.1, 0.2, 0.4]) assert.ok(marginFor(table({ share }), 0, 0, p) <= level + 1e-9);
  }
});

test('inbound the hub\'s rain takes its downlink alone', () => {
  const inverse = (a, b) => -10 * Math.log10(10 ** (-a / 10) + 10 ** (-b / 10));
  // The hub has it all, 0.1 %: 3 dB off a downlink of 18 dB, beside 15 dB of the rest.
  const wet = table({ share: 1, site: unfolded(bent([3000, 3000, 3000], [3000, 3000, 3000]), 3) });
  near(marginFor(wet, 0, 1, 0.1), inverse(15, 15));
});

test('inbound what the hub\'s rain turns over is one more term; outbound it is none', () => {
  const sum = (...levels) => -10 * Math.log10(levels.reduce((all, db) => all + 10 ** (-db / 10), 0));
  const dry = { share: 1, site: unfolded(bent([3000, 3000, 3000], [3000, 3000, 3000]), 3) };
  const leaking = table({ ...dry, hub: [[8, 4, 0], [6, 3, 0], [10, 14, 30]] });
  near(marginFor(leaking, 0, 1, 0.1), sum(15, 15, 14));
  near(marginFor(leaking, 0, 1, Math.sqrt(0.1)), sum(15, 16.5, 22));
  near(marginFor(leaking, 0, 0, 0.1), 12 - 4);
  // A carrier that is turned down by 2.5 dB to spare power stands as much lower over it.
  near(marginFor({ ...leaking, lowered: [250] }, 0, 1, 0.1), sum(15, 15, 11.5));
  near(marginFor({ ...leaking, lowered: [250] }, 0, 0, 0.1), 12 - 4);
});

test('each site counts the rain of its own hub', () => {
  const rows = Array(4).fill([3000, 3000, 3000]);
  const both = { ...table({ share: 1, site: unfolded(bent(...rows), 3) }), clear: [1200, 1500, 1800, 1200, 1500, 1800] };
  both.hub = (i) => [[[8, 4, 0], [6, 3, 0]], [[2, 1, 0], [0, 0, 0]]][i];
  near(marginFor(both, 0, 0, 0.1), 12 - 4);
  near(marginFor(both, 1, 0, 0.1), 12 - 1);
});

test('what sees no satellite has no margin', () => {
  assert.equal(marginFor(table(), 1, 0, 0.5), null);
  assert.equal(marginFor(table({ share: 0 }), 1, 1, 0.5), null);
});

test('where a wet dish dries between two points the margin jumps there and nowhere else', () => {
  // Dry above 0.03 %: 2 dB more at once; elsewhere straight in ln p between what is told.
  const jumps = table({
    share: 0, wetPct: [3000, 0], wet: [-800, -600, -900, -500, null, null, null, null],
    site: unfolded(bent([-1000, -300, 0], [-1000, -300, 0], NOTHING, NOTHING), 3),
  });
  const at = (p, way = 0) => marginFor(jumps, 0, way, p);
  near(at(0.01), -10);
  near(at(Math.sqrt(0.01 * 0.03)), -9);
  near(at(0.03), -8);
  near(at(0.03 * (1 + 1e-9)), -6, 1e-6);
  near(at(Math.sqrt(0.03 * 0.1)), -4.5);
  near(at(0.03 * (1 + 1e-9), 1), -5, 1e-6);
  near(at(0.1), -3);
  near(at(1), 0);
});
