// Reads names of scripts, one a line, and writes their syntax trees as JSON: {name: tree}.
// The parser is the one that eslint brings, of the packages in tests/outputs/web.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';

const [packages] = process.argv.slice(2);
const espree = createRequire(`${packages}/`)('espree');
const names = readFileSync(0, 'utf8').split('\n').filter(Boolean);
const options = { ecmaVersion: 'latest', sourceType: 'module', range: true };
const plain = (key, value) => (typeof value === 'bigint' || value instanceof RegExp ? `${value}` : value);
const trees = names.map((name) => {
  try {
    return [name, espree.parse(readFileSync(name, 'utf8'), options)];
  } catch (error) {
    return [name, { error: String(error) }];
  }
});
process.stdout.write(JSON.stringify(Object.fromEntries(trees), plain));
