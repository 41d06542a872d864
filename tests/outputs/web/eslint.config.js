/* Rules for the map's scripts, ES modules that are joined for the page, and for the checks themselves. */
import js from '@eslint/js';

const names = (list) => Object.fromEntries(list.split(' ').map((name) => [name, 'readonly']));

const browser = names('window document navigator getComputedStyle requestAnimationFrame setTimeout '
  + 'clearTimeout ResizeObserver URLSearchParams URL Blob Response DecompressionStream atob console '
  + 'Image performance');

const rules = {
  ...js.configs.recommended.rules,
  'no-var': 'error',
  'prefer-const': 'error',
  eqeqeq: 'error',
  'no-shadow': 'error',
  'no-eval': 'error',
  'no-new-func': 'error',
  'no-duplicate-imports': 'error',
  'no-unused-vars': ['error', { args: 'all', argsIgnorePattern: '^_' }],
  'max-depth': ['error', 4],
  'max-lines': ['error', { max: 600 }],
  'max-lines-per-function': ['error', { max: 90, skipComments: true }],
  complexity: ['error', 16],
};

const modules = (globals) => ({ ecmaVersion: 2023, sourceType: 'module', globals });

export default [
  {
    files: ['**/siteplan/outputs/map/scripts/**/*.js'],
    languageOptions: modules({ ...browser, L: 'readonly' }),
    rules,
  },
  { files: ['**/web/**/*.js'], languageOptions: modules(names('URL globalThis')), rules },
];
