/* Rules for the map's scripts, which are parts of one function, and for the checks themselves. */
import js from '@eslint/js';

const names = (list, mode = 'readonly') => Object.fromEntries(list.split(' ').map((name) => [name, mode]));

const browser = names('window document navigator getComputedStyle requestAnimationFrame setTimeout '
  + 'clearTimeout ResizeObserver URLSearchParams URL Blob Response DecompressionStream atob console '
  + 'Image Intl performance Promise');

const rules = {
  ...js.configs.recommended.rules,
  'no-var': 'error',
  'prefer-const': 'error',
  eqeqeq: 'error',
  'no-shadow': 'error',
  'no-implicit-globals': 'off',
  'no-eval': 'error',
  'no-new-func': 'error',
  'max-depth': ['error', 4],
  'max-lines': ['error', { max: 600 }],
  'max-lines-per-function': ['error', { max: 340, skipComments: true }],
  complexity: ['error', 16],
};

export default [
  {
    files: ['**/siteplan/outputs/map/scripts/**/*.js'],
    languageOptions: {
      ecmaVersion: 2023,
      sourceType: 'script',
      globals: { ...browser, ...names('SP L') },
    },
    rules,
  },
  {
    files: ['**/web/*.js'],
    languageOptions: { ecmaVersion: 2023, sourceType: 'module', globals: names('process console URL URLSearchParams') },
    rules: { ...rules, 'no-new-func': 'off' },
  },
];
