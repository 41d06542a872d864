/* 'What if': another availability target, another orbital position. */
SP.makeSliders = function (model, store, live) {
  const SHIFT = 60;
  const target = SP.id('target');
  const satellite = SP.id('satellite');
  const home = model.satellite_lon_deg;

  /** The slider runs evenly in ln p, from the largest outage to the smallest. */
  function scale() {
    const [low, high] = [live.table.outages[0], live.table.outages.at(-1)].map(Math.log);
    return {
      toTarget: (x) => 100 - Math.exp(high + (low - high) * (x / 1000)),
      toSlider: (pct) => (1000 * (high - Math.log(100 - pct))) / (high - low),
    };
  }

  /** A target with as many decimals as it needs. */
  const tidy = (pct) => Number(pct.toFixed(pct > 99.9 ? 3 : pct > 99 ? 2 : 1));

  function setUpTarget() {
    if (!live.table) {
      SP.id('whatif-target').hidden = true;
      return;
    }
    const { toTarget, toSlider } = scale();
    const exact = SP.id('target-exact');
    const least = 100 - live.table.outages.at(-1);
    const most = 100 - live.table.outages[0];
    Object.assign(exact, { min: String(least), max: String(most) });
    target.addEventListener('input', () => store.set({ target: tidy(toTarget(Number(target.value))) }));
    exact.addEventListener('change', () => {
      const asked = Number(exact.value);
      if (exact.value && asked >= least && asked <= most) store.set({ target: asked });
      else mirror();
    });
    SP.id('target-reset').addEventListener('click', () => store.set({ target: null }));
    function mirror() {
      const pct = store.state.target;
      SP.id('target-text').textContent = pct === null ? 'as planned' : `${pct} %, an estimate`;
      target.value = String(pct === null ? toSlider(model.target_pct) : toSlider(pct));
      target.setAttribute('aria-valuetext', pct === null ? 'as planned' : `${pct} percent`);
      exact.value = pct === null ? '' : String(pct);
      SP.id('target-reset').disabled = pct === null;
    }
    store.on(['target'], mirror);
    mirror();
  }

  const inWords = (lon) => SP.geo.spoken(SP.geo.wrap(lon), 'EW', 1);

  function setUpSatellite() {
    Object.assign(satellite, { min: String(home - SHIFT), max: String(home + SHIFT), step: '0.1' });
    satellite.addEventListener('input', () => {
      const lon = Number(satellite.value);
      store.set({ satellite: Math.abs(lon - home) < 0.05 ? null : lon });
    });
    SP.id('satellite-reset').addEventListener('click', () => store.set({ satellite: null }));
    function mirror() {
      const lon = store.state.satellite;
      satellite.value = String(lon ?? home);
      satellite.setAttribute('aria-valuetext', inWords(lon ?? home));
      SP.id('satellite-text').textContent = lon === null ? `${inWords(home)}, as planned` : inWords(lon);
      SP.id('satellite-reset').disabled = lon === null;
      SP.id('satellite-warning').hidden = lon === null;
    }
    store.on(['satellite'], mirror);
    mirror();
  }

  setUpTarget();
  setUpSatellite();
};
