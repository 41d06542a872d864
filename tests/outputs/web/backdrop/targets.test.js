import assert from 'node:assert/strict';
import test from 'node:test';
import { makePage, told } from '../fake.js';

makePage();
const { legendParts } = await import('../../../../siteplan/outputs/map/scripts/backdrop/coveragepanel.js');

const words = (name, targets) => legendParts({ name, label: 'Size', unit: 'm', meaning: 'M', bands: [] }, { note: 'Grid.', targets }, 'bright')
  .flatMap((node) => told(node)).join('\n');

test('contours that hang on a target tell theirs where sites have others', () => {
  const said = 'Contours are for a target of 99.5 %; the sites have 98 to 99.9 %.';
  assert.match(words('required_antenna_m', said), /coverage-targets.*Contours are for a target of 99.5 %/);
  assert.match(words('uplink_attenuation_db', said), /coverage-targets/);
  assert.doesNotMatch(words('elevation_deg', said), /coverage-targets/);
  assert.doesNotMatch(words('rain_rate_mm_h', said), /coverage-targets/);
  assert.doesNotMatch(words('required_antenna_m', ''), /coverage-targets/);
});
