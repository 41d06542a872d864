import assert from 'node:assert/strict';
import test from 'node:test';
import { budgetSteps } from '../../../../siteplan/outputs/map/scripts/card/budget.js';

const VALUES = { outbound_clear_es_n0_db: 11.5, outbound_fade_margin_db: 6, outbound_margin_db: 2.4 };
const model = {
  budget: [130, 20, 10, null, null, null],
  thresholds_db: { outbound: 1 },
  rules: { reserve_db: 0.8 },
  column: (name) => () => VALUES[name],
};

test('each step goes from where the last one ended, down to the margin', () => {
  const steps = budgetSteps(model, 0, 'outbound');
  assert.deepEqual(steps.map(({ label }) => label), [
    'Downlink to the site, clear sky', 'Other hop and interference', 'Threshold', 'Modem loss', 'Fade margin',
    'Rain and gas at the site', 'Noise of the rain, wet dish', 'Rain at the hub', 'Margin at the target',
    'Reserve', 'Margin after reserve',
  ]);
  let level = 0;
  for (const step of steps) {
    if (step.drop !== undefined) level -= step.drop;
    else {
      if (level) assert.ok(Math.abs(level - step.level) < 1e-9, step.label);
      level = step.level;
    }
  }
  assert.ok(Math.abs(level - 1.6) < 1e-9);
});

test('a way without figures has no steps', () => assert.deepEqual(budgetSteps(model, 0, 'inbound'), []));
