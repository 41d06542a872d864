import assert from 'node:assert/strict';
import test from 'node:test';
import { makePage, told } from '../fake.js';

const from = (path) => import(`../../../../siteplan/outputs/map/scripts/base/${path}.js`);
makePage();
const [{ makeStore }, { makeDialogs }] = await Promise.all(['core', 'dialogs'].map(from));
const model = { heading: 'Posts', facts: [['Satellite', '61.0° W'], ['Target', '99.5 %'], ['Sites', '3']], assumptions: [] };

const facts = (page) => page.byId('facts').children.filter((node) => node.tag === 'div')
  .map((node) => node.children.map(({ textContent }) => textContent).join(' '));

test('a what-if is told as an estimate in the header, with its own target', () => {
  const page = makePage();
  const store = makeStore({ target: null, satellite: null });
  makeDialogs(model, store);
  const planned = ['Satellite 61.0° W', 'Target 99.5 %', 'Sites 3'];
  assert.deepEqual(facts(page), planned);
  store.set({ target: 99.9 });
  assert.deepEqual(facts(page), ['Estimate target 99.9 %, kit as planned', 'Satellite 61.0° W', 'Target of the plan 99.5 %', 'Sites 3']);
  store.set({ satellite: -50 });
  assert.deepEqual(facts(page).slice(0, 3), [
    'Estimate target 99.9 %, kit as planned; satellite at 50.0° W, margins need a new plan', 'Satellite of the plan 61.0° W', 'Target of the plan 99.5 %',
  ]);
  assert.match(told(page.byId('facts')).join('\n'), /class="estimate"/);
  store.set({ target: null, satellite: null });
  assert.deepEqual(facts(page), planned);
});

test('help and what was assumed open at their top', () => {
  const page = makePage();
  const { open } = makeDialogs(model, makeStore({ target: null, satellite: null }));
  for (const id of ['help', 'assumed']) {
    page.byId(id).scrollTop = 400;
    open(id);
    assert.equal(page.byId(id).scrollTop, 0, id);
    assert.equal(globalThis.document.activeElement, page.byId(`${id}-title`), id);
  }
});
