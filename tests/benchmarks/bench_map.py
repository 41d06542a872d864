"""The map against one folium marker for every site and layer, in one run.

Both files carry the same five layers and the same fields in their cards, and need no network.
Prints times, sizes and their ratios; asserts nothing. Run it on demand (some minutes):

    python tests/benchmarks/bench_map.py [--sites 10000] [--crowd 50000]
"""

from __future__ import annotations

import argparse
import html
import shutil
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from siteplan.fields import lookup
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.outputs.map import dataset, page
from siteplan.outputs.map.card import CARD
from siteplan.outputs.map.payload import payload, write_map
from siteplan.planning.plan import make_plan
from siteplan.results import Plan

LAYERS = ("margin_db", "elevation_deg", "rain_rate_mm_h", "antenna_m", "mount")
SWITCHES = ("--headless=new", "--no-sandbox", "--disable-gpu")


def planned(count: int) -> Plan:
    """Return a plan of sites spread over Africa and Europe, with the map's tables."""
    rng = np.random.default_rng(1)
    lat, lon = rng.uniform(-32, 55, count), rng.uniform(-12, 48, count)
    names = np.array([f"Post {k}" for k in range(count)], dtype=object)
    network = Network.model_validate(
        {
            "network": {"date": "2026-03-01"},
            "satellite": {"longitude_deg": 13},
            "hub": {"lat": 50.1, "lon": 8.7},
        }
    )
    return make_plan(Sites.at(lat, lon, name=names), network, with_tables=True)


def card_fields(plan: Plan) -> list[str]:
    """Return the fields that the card shows."""
    wanted = ["site_id", "name", *(name for _, names in CARD for name in names), "flag_notes"]
    return [name for name in wanted if name in plan.columns]


def popup_html(plan: Plan, names: list[str], i: int) -> str:
    """Return a site's card as folium users write it: a table in HTML."""
    rows = []
    for name in names:
        field, value = lookup(name), plan.columns[name][i]
        assert field is not None
        text = str(value) if field.decimals is None else f"{value:.{field.decimals}f} {field.unit}"
        rows.append(f"<tr><th>{html.escape(field.label)}</th><td>{html.escape(text)}</td></tr>")
    return f"<table>{''.join(rows)}</table>"


def write_markers(plan: Plan, path: Path) -> None:
    """Write one folium marker for every site and layer, its scripts inside the file."""
    import folium
    from xstatic.pkg import jquery

    chart = folium.Map(tiles=None)
    chart.default_js, chart.default_css = [], []
    script = (Path(jquery.BASE_DIR) / "jquery.min.js").read_text("utf-8")
    head: Any = chart.get_root().header
    for text, tag in ((page.leaflet_script(), "script"), (script, "script")):
        head.add_child(folium.Element(f"<{tag}>{{% raw %}}{text}{{% endraw %}}</{tag}>"))
    head.add_child(folium.Element(f"<style>{page.leaflet_style()}</style>"))
    names = card_fields(plan)
    for layer in LAYERS:
        group = folium.FeatureGroup(name=layer, show=layer == LAYERS[0]).add_to(chart)
        for i in range(len(plan)):
            folium.CircleMarker(
                (plan.columns["lat"][i], plan.columns["lon"][i]),
                radius=6,
                popup=folium.Popup(popup_html(plan, names, i), max_width=350),
            ).add_to(group)
    folium.LayerControl().add_to(chart)
    chart.save(str(path))


def timed(action: Callable[[], object]) -> float:
    """Return how long an action takes [s]."""
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def browser() -> Any:
    """Return a headless Chromium."""
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = str(shutil.which("chromium"))
    for switch in SWITCHES:
        options.add_argument(switch)
    driver = webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))
    driver.set_page_load_timeout(300)
    driver.set_script_timeout(300)
    return driver


def opened_s(driver: Any, path: Path) -> float:
    """Return how long a file takes from the request until it can be used [s]; best of three."""
    found = []
    for _ in range(3):
        driver.get("about:blank")
        driver.get(path.resolve().as_uri())
        milliseconds = driver.execute_async_script(
            "const done = arguments[0];"
            "(function wait() {"
            "  const load = performance.getEntriesByType('navigation')[0].loadEventEnd;"
            "  const ours = typeof siteplan !== 'undefined';"
            "  const mark = performance.getEntriesByName('siteplan-ready')[0]?.startTime;"
            "  if (!load || (ours && !mark)) return setTimeout(wait, 10);"
            "  done(Math.max(load, mark ?? 0));"
            "}());"
        )
        found.append(milliseconds / 1000)
    return min(found)


def switch_ms(driver: Any, path: Path) -> list[float]:
    """Return the script's time of a switch to each of the five layers [ms]."""
    opened_s(driver, path)
    return [
        float(
            driver.execute_script(
                "const k = siteplan.model.layers.findIndex((l) => l.field === arguments[0]);"
                "const start = performance.now(); siteplan.store.set({layer: k});"
                "siteplan.points.layer._update(); return performance.now() - start;",
                layer,
            )
        )
        for layer in (*LAYERS[1:], LAYERS[0])
    ]


def sizes(plan: Plan) -> tuple[float, float]:
    """Return the data's bytes a site, packed and plain."""
    whole = payload(plan, "x")
    packed = len(page.data_block(whole, plain=False)[1])
    return packed / len(plan), len(dataset.dump(whole)) / len(plan)


def compare(plan: Plan, folder: Path, driver: Any) -> None:
    """Print both ways of one plan side by side."""
    ours, plain, markers = (folder / f"{name}.html" for name in ("packed", "plain", "markers"))
    write_map(plan, ours)
    written = min(timed(lambda: write_map(plan, ours)) for _ in range(3))
    write_map(plan, plain, plain=True)
    slow = timed(lambda: write_markers(plan, markers))
    big, small = markers.stat().st_size, ours.stat().st_size
    large = plain.stat().st_size
    late, soon, soon_plain = (opened_s(driver, path) for path in (markers, ours, plain))
    packed, raw = sizes(plan)
    print(f"{len(plan)} sites, {len(LAYERS)} layers, {len(card_fields(plan))} fields in the card")
    print(f"  written in {written:.2f} s, markers {slow:.1f} s: {slow / written:.0f} times faster")
    print(
        f"  {small / 1e6:.2f} MB packed, {large / 1e6:.2f} plain, markers {big / 1e6:.1f} MB:"
        f" {big / small:.0f} and {big / large:.0f} times smaller"
    )
    print(
        f"  open after {soon:.2f} s packed, {soon_plain:.2f} s plain, markers {late:.2f} s:"
        f" {late / soon:.0f} and {late / soon_plain:.0f} times sooner"
    )
    print(f"  data: {packed:.0f} bytes a site packed, {raw:.0f} plain")


def main() -> None:
    """Run the comparison and the crowd."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sites", type=int, default=10_000)
    parser.add_argument("--crowd", type=int, default=50_000)
    asked = parser.parse_args()
    driver = browser()
    try:
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            compare(planned(asked.sites), folder, driver)
            crowd = planned(asked.crowd)
            seconds = timed(lambda: write_map(crowd, folder / "crowd.html"))
            spent = switch_ms(driver, folder / "crowd.html")
            opened = opened_s(driver, folder / "crowd.html")
        print(f"{asked.crowd} sites: written in {seconds:.2f} s, open after {opened:.2f} s")
        print(f"  a layer's switch takes {max(spent):.0f} ms of script at most")
    finally:
        driver.quit()


if __name__ == "__main__":
    main()
