/* 'What if': another availability target, another orbital position. */
import { ofMonth } from '../base/data.js';
import { byId } from '../base/core.js';
import { spoken, wrapLon } from '../base/geo.js';

export function makeSliders(model, store, live) {
  const SHIFT = 60;
  const target = byId('target');
  const satellite = byId('satellite');
  const home = model.satellite_lon_deg;

  /** The slider runs evenly in ln p, from the largest outage to the smallest. */
  function scale() {
    const [high, low] = live.table.reach.map((pct) => Math.log(100 - pct));
    return {
      toTarget: (x) => 100 - Math.exp(high + (low - high) * (x / 1000)),
      toSlider: (pct) => (1000 * (high - Math.log(100 - pct))) / (high - low),
    };
  }

  /** A target with as many decimals as it needs. */
  const tidy = (pct) => Number(pct.toFixed(pct > 99.9 ? 3 : pct > 99 ? 2 : 1));

  function setUpTarget() {
    if (!live.table) {
      byId('whatif-target').hidden = true;
      return;
    }
    const { toTarget, toSlider } = scale();
    const exact = byId('target-exact');
    const [least, most] = live.table.reach;
    Object.assign(exact, { min: String(least), max: String(most) });
    target.addEventListener('input', () => store.set({ target: tidy(toTarget(Number(target.value))) }));
    exact.addEventListener('change', () => {
      const asked = Number(exact.value);
      if (exact.value && asked >= least && asked <= most) store.set({ target: asked });
      else mirror();
    });
    byId('target-reset').addEventListener('click', () => store.set({ target: null }));
    const month = ofMonth(model.whatif);
    function mirror() {
      const pct = store.state.target;
      byId('target-text').textContent = pct === null ? 'as planned' : `${pct} %${month}, an estimate`;
      target.value = String(pct === null ? toSlider(model.target_pct) : toSlider(pct));
      target.setAttribute('aria-valuetext', pct === null ? 'as planned' : `${pct} percent${month}`);
      exact.value = pct === null ? '' : String(pct);
      byId('target-reset').disabled = pct === null;
    }
    store.on(['target'], mirror);
    mirror();
  }

  const inWords = (lon) => spoken(wrapLon(lon), 'EW', 1);

  function setUpSatellite() {
    Object.assign(satellite, { min: String(home - SHIFT), max: String(home + SHIFT), step: '0.1' });
    satellite.addEventListener('input', () => {
      const lon = Number(satellite.value);
      store.set({ satellite: Math.abs(lon - home) < 0.05 ? null : lon });
    });
    byId('satellite-reset').addEventListener('click', () => store.set({ satellite: null }));
    function mirror() {
      const lon = store.state.satellite;
      satellite.value = String(lon ?? home);
      satellite.setAttribute('aria-valuetext', inWords(lon ?? home));
      byId('satellite-text').textContent = lon === null ? `${inWords(home)}, as planned` : inWords(lon);
      byId('satellite-reset').disabled = lon === null;
      byId('satellite-warning').hidden = lon === null;
    }
    store.on(['satellite'], mirror);
    mirror();
  }

  setUpTarget();
  setUpSatellite();
}
