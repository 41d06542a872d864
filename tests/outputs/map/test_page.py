"""The map's file: one page, nothing to fetch, the plan's values in it."""

from __future__ import annotations

import base64
import gzip
import itertools
import json
import re
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest
import shapely

from siteplan.errors import OutputError
from siteplan.fields import FIELDS
from siteplan.model import Overlay, Sites
from siteplan.network import Network
from siteplan.outputs.map import page
from siteplan.outputs.map.backdrop import Behind
from siteplan.outputs.map.card import CARD
from siteplan.outputs.map.classing import CODES
from siteplan.outputs.map.join import modules
from siteplan.outputs.map.payload import headline, payload, write_map
from siteplan.outputs.shown import unit_sign
from siteplan.planning.plan import make_plan
from siteplan.results import Coverage, Facts, Grid, Plan
from tests.outputs.pack import policy_of


class Page(HTMLParser):
    """Collects what a browser would act on."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.texts: dict[str, str] = {}
        self._open: tuple[str, dict[str, str]] = ("", {})
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._open = (tag, {k: v or "" for k, v in attrs})
        self.tags.append(self._open)

    def handle_data(self, data: str) -> None:
        tag, attrs = self._open
        if tag in ("script", "style", "title"):
            key = attrs.get("id") or tag
            self.texts[key] = self.texts.get(key, "") + data

    def handle_endtag(self, tag: str) -> None:
        self._open = ("", {})


@pytest.fixture(scope="module")
def text(spread_plan: Plan, tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("map") / "map.html"
    write_map(spread_plan, path)
    return path.read_text("utf-8")


@pytest.fixture(scope="module")
def parsed(text: str) -> Page:
    return Page(text)


@pytest.fixture(scope="module")
def data(parsed: Page) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(parsed.texts["siteplan-data"])
    return found


@pytest.fixture(scope="module")
def column(decode: Any) -> Callable[[dict[str, Any], str], list[Any]]:
    return lambda data, name: decode(data["columns"][name], data["count"])


def as_numbers(values: list[Any]) -> np.ndarray[Any, Any]:
    return np.array([np.nan if v is None else v for v in values], dtype=float)


def test_nothing_in_the_page_would_be_fetched(parsed: Page) -> None:
    wanted = ("src", "href", "srcset", "data", "poster", "action", "background", "xlink:href")
    addresses = [a[k] for _, a in parsed.tags for k in wanted if k in a]
    assert [a for a in addresses if not a.startswith(("data:", "#"))] == []
    assert [t for t, _ in parsed.tags if t in ("iframe", "object", "embed", "base", "audio")] == []
    assert not any(a.get("http-equiv", "").lower() == "refresh" for _, a in parsed.tags)


def test_no_style_would_fetch(parsed: Page) -> None:
    style = parsed.texts["style"]
    urls = re.findall(r"url\(\s*['\"]?([^)'\"]{0,40})", style)
    assert urls, "Leaflet's images are inside"
    assert [u for u in urls if not u.startswith("data:image/png;base64,")] == []
    assert "@import" not in style
    assert "VML" not in style


def test_no_script_would_fetch(parsed: Page) -> None:
    own = page.page_script()
    for call in ("fetch(", "XMLHttpRequest", "import(", "WebSocket", "EventSource", "sendBeacon"):
        assert call not in own
    assert "sourceMappingURL" not in parsed.texts["script"]
    assert "http" not in own


def test_no_script_of_ours_writes_markup() -> None:
    own = page.page_script()
    for way in ("innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval("):
        assert way not in own


def test_the_page_forbids_fetching(parsed: Page) -> None:
    policies = [
        a["content"]
        for tag, a in parsed.tags
        if tag == "meta" and a.get("http-equiv") == "Content-Security-Policy"
    ]
    assert len(policies) == 1
    rules = dict(rule.strip().split(" ", 1) for rule in policies[0].split(";"))
    assert rules["default-src"] == "'none'"
    assert set(rules["img-src"].split()) == {"data:", "blob:"}
    first = [tag for tag, _ in parsed.tags if tag in ("meta", "style", "script", "link")]
    assert first[:2] == ["meta", "meta"], "the policy comes before anything it governs"


def test_the_page_is_well_formed_for_readers(parsed: Page) -> None:
    assert ("html", {"lang": "en"}) in parsed.tags
    assert parsed.texts["title"].strip() == "Invented network"
    viewport = next(a["content"] for t, a in parsed.tags if a.get("name") == "viewport")
    assert "user-scalable" not in viewport
    ids = [a["id"] for _, a in parsed.tags if "id" in a]
    assert len(ids) == len(set(ids))


def test_nothing_of_jquery_or_bootstrap(text: str) -> None:
    assert "jquery" not in text.lower()
    assert "bootstrap" not in text.lower()


def test_no_tags_from_hostile_names(parsed: Page, data: dict[str, Any]) -> None:
    scripts = [a.get("id", "") for tag, a in parsed.tags if tag == "script"]
    assert scripts == ["", "siteplan-data", "siteplan-basemap", ""]
    assert "img" not in [tag for tag, _ in parsed.tags]
    assert "b" not in [tag for tag, _ in parsed.tags]


def test_hostile_names_come_back_unharmed(
    data: dict[str, Any], hostile_names: tuple[str, ...], column: Any
) -> None:
    assert tuple(column(data, "name")[: len(hostile_names)]) == hostile_names


@pytest.mark.parametrize("title", ["</title><script>x</script>", "{{ 7*7 }}", "A & B"])
def test_a_hostile_title_is_a_title(spread_plan: Plan, tmp_path: Path, title: str) -> None:
    write_map(spread_plan, tmp_path / "map.html", title=title)
    found = Page((tmp_path / "map.html").read_text("utf-8"))
    assert found.texts["title"].strip() == title
    assert json.loads(found.texts["siteplan-data"])["heading"] == title


def test_numbers_are_the_plan_s_rounded(
    data: dict[str, Any], spread_plan: Plan, column: Any
) -> None:
    numeric = [name for name in data["columns"] if data["fields"][name]["decimals"] is not None]
    assert {"margin_db", "elevation_deg", "lat", "lon", "margin_1_2_m_db"} <= set(numeric)
    for name in numeric:
        expected = np.round(
            spread_plan.columns[name].astype(float), data["fields"][name]["decimals"]
        )
        np.testing.assert_allclose(
            as_numbers(column(data, name)), expected, rtol=0, atol=1e-9, err_msg=name
        )


def test_texts_are_the_plan_s(data: dict[str, Any], spread_plan: Plan, column: Any) -> None:
    textual = [name for name in data["columns"] if data["fields"][name]["decimals"] is None]
    assert {"name", "mount", "flags", "limiting_direction"} <= set(textual)
    for name in textual:
        assert column(data, name) == spread_plan.columns[name].tolist(), name


def test_free_columns_travel(data: dict[str, Any], spread_plan: Plan) -> None:
    assert [extra["label"] for extra in data["extra"]] == ["contact", "visits"]
    assert data["extra"][1]["v"] == spread_plan.extra["visits"].tolist()


def test_labels_and_units_come_from_the_dictionary(data: dict[str, Any]) -> None:
    for name, field in data["fields"].items():
        if name in FIELDS:
            assert field["label"] == FIELDS[name].label
            assert field["unit"] == unit_sign(FIELDS[name].unit)
    assert data["fields"]["margin_1_2_m_db"]["label"] == "Margin with 1.2 m"


def test_card_fields_are_in_the_dictionary() -> None:
    names = [name for _, fields in CARD for name in fields]
    assert [name for name in names if name not in FIELDS] == []
    assert len(names) == len(set(names))


def layer(data: dict[str, Any], field: str) -> dict[str, Any]:
    return next(spec for spec in data["layers"] if spec["field"] == field)


def legend_counts(spec: dict[str, Any]) -> list[int]:
    codes = [CODES.index(letter) for letter in spec["codes"]]
    return np.bincount(codes, minlength=len(spec["classes"])).tolist()


def test_margin_counts(data: dict[str, Any], spread_plan: Plan) -> None:
    margin = spread_plan.columns["margin_db"]
    edges = [-np.inf, 0, 1, 3, 6, np.inf]
    expected = [int(((margin >= a) & (margin < b)).sum()) for a, b in itertools.pairwise(edges)]
    assert min(expected) > 0, "the invented plan has every class"
    # The class of sites without kit waits for another target.
    assert legend_counts(layer(data, "margin_db")) == [*expected, 0, int(np.isnan(margin).sum())]


def test_antenna_and_mount_counts(data: dict[str, Any], spread_plan: Plan) -> None:
    antenna = spread_plan.columns["antenna_m"]
    sizes, counts = np.unique(antenna[~np.isnan(antenna)], return_counts=True)
    assert legend_counts(layer(data, "antenna_m")) == [*counts, np.isnan(antenna).sum()]
    assert len(sizes) == len(layer(data, "antenna_m")["classes"]) - 1
    _, mounts = np.unique(spread_plan.columns["mount"].astype(str), return_counts=True)
    assert legend_counts(layer(data, "mount")) == [*mounts, 0]


@pytest.mark.parametrize("field", ["elevation_deg", "rain_rate_mm_h"])
def test_step_counts(data: dict[str, Any], spread_plan: Plan, field: str) -> None:
    values, spec = spread_plan.columns[field], layer(data, field)
    known = values[~np.isnan(values)]
    expected, _ = np.histogram(known, bins=[-np.inf, *spec["bounds"], np.inf])
    assert legend_counts(spec) == [*expected, np.isnan(values).sum()]


def test_network_bounds_are_used(
    make_plan: Callable[..., Plan], make_network: Callable[..., Any]
) -> None:
    network = make_network(rules={"margin_classes_db": [-2, 0, 0.5, 4, 8]})
    plan = make_plan(np.linspace(-30, 50, 60), np.linspace(0, 40, 60), network=network)
    spec = payload(plan, "x")["layers"][0]
    assert spec["bounds"] == [-2, 0, 0.5, 4, 8]
    assert len([row for row in spec["classes"] if not row.get("kitless")]) == 7


def test_what_was_assumed_is_listed(data: dict[str, Any], spread_plan: Plan) -> None:
    assert [a["key"] for a in data["assumptions"]] == [a.key for a in spread_plan.assumptions]


def test_headline(spread_plan: Plan) -> None:
    assert headline(spread_plan) == [
        ["Satellite", "13.0° E"],
        ["Date", "2026-03-01"],
        ["Target", "99.5 %"],
        ["Sites", "250"],
    ]


def test_missing_facts_come_from_the_network(make_plan: Callable[..., Plan]) -> None:
    plan = make_plan(np.array([1.0]), np.array([2.0]), facts=Facts())
    found = payload(plan, "x")
    assert found["hub"] == {"lat": 50.1, "lon": 8.7}
    assert ["Satellite", "13.0° E"] in found["facts"]


@pytest.mark.parametrize(
    ("lon", "shown"), [(-30.0, "30.0° W"), (330.0, "30.0° W"), (0.0, "0.0° E")]
)
def test_satellite_in_words(
    make_plan: Callable[..., Plan], make_network: Callable[..., Any], lon: float, shown: str
) -> None:
    network = make_network(satellite={"longitude_deg": lon})
    plan = make_plan(np.array([1.0]), np.array([2.0]), network=network)
    assert headline(plan)[0] == ["Satellite", shown]


def test_a_range_of_targets_is_shown(spread_plan: Plan) -> None:
    targets = np.linspace(98, 99.9, len(spread_plan))
    columns = MappingProxyType({**spread_plan.columns, "availability_target_pct": targets})
    assert ["Target", "98 to 99.9 %"] in headline(replace(spread_plan, columns=columns))


def test_a_doubted_site_far_away_is_told_and_no_other(make_plan: Callable[..., Plan]) -> None:
    plan = make_plan(np.array([-1.2, -1.6, -2.0, 1.2]), np.array([36.5, 36.9, 37.3, -36.5]))
    flags = np.array(["coordinate_doubt", "low_elevation", "", "margin_short;coordinate_doubt"])
    columns = MappingProxyType({**plan.columns, "flags": flags.astype(object)})
    found = payload(replace(plan, columns=columns), "x")
    assert list(found["far"]) == [3]
    assert found["view"][1] == pytest.approx(36.4, abs=1e-9), "a frame is a degree wide at least"


def test_contours_tell_their_target_where_a_site_has_another(
    spread_plan: Plan, tmp_path: Path
) -> None:
    def told(targets: np.ndarray[Any, Any]) -> str:
        columns = MappingProxyType({**spread_plan.columns, "availability_target_pct": targets})
        plan = replace(spread_plan, columns=columns)
        shapes = Overlay("Ring", "vermilion", (shapely.Point(3, 4),), ("",))
        grid = Grid(np.array([0.0, 1.0]), np.array([0.0, 1.0]), 1.0)
        backing = Behind(Coverage(grid, {}, {}, {}, 0.0, "As told."), (), None, (shapes,))
        write_map(plan, tmp_path / "map.html", backing=backing)
        read = Page((tmp_path / "map.html").read_text("utf-8")).texts["siteplan-data"]
        found: str = json.loads(read)["behind"]["targets"]
        return found

    ours = spread_plan.network.network.availability_pct
    assert told(np.full(len(spread_plan), ours)) == ""
    others = np.full(len(spread_plan), 99.9)
    others[0] = 98
    assert told(others) == f"Contours are for a target of {ours:g} %; the sites have 98 to 99.9 %."


def test_the_page_opens_on_the_layer_that_is_asked_for(spread_plan: Plan, tmp_path: Path) -> None:
    write_map(spread_plan, tmp_path / "map.html", opens_on="mount")
    read = Page((tmp_path / "map.html").read_text("utf-8")).texts["siteplan-data"]
    assert json.loads(read)["opens_on"] == "mount"


def test_without_a_hub_there_is_none(
    make_plan: Callable[..., Plan], make_network: Callable[..., Any]
) -> None:
    plan = make_plan(np.array([1.0]), np.array([2.0]), network=make_network(hub={}))
    assert payload(plan, "x")["hub"] is None


def test_a_plan_without_sites_is_a_page(make_plan: Callable[..., Plan], tmp_path: Path) -> None:
    write_map(make_plan(np.array([]), np.array([])), tmp_path / "map.html")
    found = json.loads(Page((tmp_path / "map.html").read_text("utf-8")).texts["siteplan-data"])
    assert found["count"] == 0
    assert [len(spec["codes"]) for spec in found["layers"]] == [0] * len(found["layers"])


def test_maps_do_not_share_state(
    spread_plan: Plan, make_plan: Callable[..., Plan], tmp_path: Path
) -> None:
    import folium

    before = (list(folium.Map.default_js), list(folium.Map.default_css))
    write_map(spread_plan, tmp_path / "first.html")
    write_map(make_plan(np.array([10.0]), np.array([20.0])), tmp_path / "other.html")
    write_map(spread_plan, tmp_path / "again.html")
    assert (tmp_path / "first.html").read_bytes() == (tmp_path / "again.html").read_bytes()
    assert "S00001" not in (tmp_path / "other.html").read_text("utf-8")
    assert (folium.Map.default_js, folium.Map.default_css) == before
    assert folium.Map(tiles=None).default_js == before[0]


def test_the_work_of_a_map_grows_with_the_sites_and_no_faster(
    make_plan: Callable[..., Plan], tmp_path: Path
) -> None:
    """Counted in calls of functions: columns are written whole, few things site by site."""
    rng = np.random.default_rng(2)
    calls: list[int] = []
    for count in (500, 1000, 2000):
        plan = make_plan(rng.uniform(-30, 50, count), rng.uniform(-10, 40, count))
        write_map(plan, tmp_path / "map.html")  # with all that is made once
        with profiled() as made:
            write_map(plan, tmp_path / "map.html")
        calls.append(made["calls"])
    assert calls[2] - calls[1] < 25 * 1000
    assert calls[2] - calls[1] == pytest.approx(2 * (calls[1] - calls[0]), rel=0.02)


@contextmanager
def profiled() -> Iterator[Counter[str]]:
    """Count the calls of functions, Python's and others."""
    made: Counter[str] = Counter()
    before = sys.getprofile()
    sys.setprofile(lambda _frame, event, _of: made.update(["calls"] * event.endswith("call")))
    try:
        yield made
    finally:
        sys.setprofile(before)


def test_every_script_is_reached_and_every_style_is_in_the_page() -> None:
    folder = Path(page.__file__).parent
    scripts, styles = folder / "scripts", folder / "styles"
    there = {p.relative_to(scripts).as_posix() for p in scripts.rglob("*.js")}
    assert {module.path for module in modules(scripts, "main.js")} == there
    assert {p.name for p in styles.iterdir()} == {*page.STYLES}


def test_every_field_is_on_the_card_of_a_small_plan(data: dict[str, Any]) -> None:
    shown = {field for part in data["card"] for field in part["fields"]}
    elsewhere = {"site_id", "name", "lat", "lon", "flags", "flag_notes", "source_row"}
    budget = {
        name for name in data["columns"] if re.search(r"clear_es_n0|fade_margin|^next_", name)
    }
    catalogue = {name for name in data["columns"] if re.fullmatch(r"margin_[\d_]+_m_db", name)}
    assert set(data["columns"]) - elsewhere - budget - catalogue <= shown


def test_a_large_plan_leaves_the_fields_out_that_few_need(
    worked_plan: Plan, monkeypatch: pytest.MonkeyPatch
) -> None:
    names = set(payload(worked_plan, "x")["columns"])
    assert names == set(worked_plan.columns)
    monkeypatch.setattr("siteplan.outputs.map.payload.EVERY_FIELD_SITES", 10)
    fewer = set(payload(worked_plan, "x")["columns"])
    assert fewer < names
    assert {"margin_db", "flag_notes", "margin_1_2_m_db", "group"} <= fewer


@pytest.mark.parametrize(
    "tiles",
    [
        "tiles/{z}/{x}/{y}.png",
        "ftp://h.example/{z}/{x}/{y}.png",
        "https://{s}.h.example/{z}/{x}/{y}.png",
        "https://h.example/{z}/{x}.png",
        "https://h.example/{z}/{x}/{y}.png; script-src *",
        'https://h.example" onload="x/{z}/{x}/{y}',
    ],
)
def test_tiles_must_name_one_host(tiles: str) -> None:
    with pytest.raises(OutputError, match="--tiles: the address of the tiles") as caught:
        page.images(tiles)
    example = "https://tiles.example.org/{z}/{x}/{y}.png"
    assert str(caught.value) == (
        f"--tiles: the address of the tiles cannot be used: {tiles!r}."
        f" Give one such as {example}, the host in full."
    )
    assert page.images(example).startswith("https://tiles.example.org ")


def test_tiles_open_the_policy_for_images_of_their_host_only() -> None:
    address = "https://tiles.example.org:8443/v1/{z}/{x}/{y}.png?key=1"
    with_tiles, without = (page.render("x", {"a": 1}, tiles=tiles) for tiles in (address, ""))
    rules, before = (dict(policy_of(text)) for text in (with_tiles, without))
    assert rules.pop("img-src") == "https://tiles.example.org:8443 data: blob:"
    assert before.pop("img-src") == "data: blob:"
    assert rules == before


def test_what_the_page_takes_of_interference(worked_plan: Plan) -> None:
    """The hub's third curve and the step's label only where the other polarization is in use."""
    told = worked_plan.network.model_dump(exclude_unset=True)
    crossed = Network.model_validate(
        told
        | {way: told.get(way, {}) | {"cross_polar_level_db": 0} for way in ("outbound", "inbound")}
    )
    places = Sites.at(np.array([10.0, 20.0]), np.array([20.0, 5.0]))
    plain, full = (
        payload(make_plan(places, network, with_tables=True), "x")
        for network in (worked_plan.network, crossed)
    )
    assert [len(whole["whatif"]["hub_db"]) for whole in (plain, full)] == [2, 3]
    assert full["whatif"]["hub_db"][:2] == plain["whatif"]["hub_db"]
    assert full["whatif"]["share"] == plain["whatif"]["share"]
    found = [whole["carriers"]["outbound"]["depolarizes"] for whole in (plain, full)]
    assert found == [False, True]
    assert "outbound_ci_db" not in plain["fields"]
    headings = {part["heading"]: part["fields"] for part in full["card"]}
    assert {"outbound_ci_db", "inbound_ci_db", "outbound_xpd_db"} <= {
        *headings["More: interference"]
    }


def test_large_data_are_packed_and_small_ones_plain() -> None:
    small = page.data_block({"a": 1}, plain=False)
    assert small == ("application/json", '{"a":1}')
    whole = {"a": list(range(200_000))}
    kind, text = page.data_block(whole, plain=False)
    assert kind == "text/plain"
    assert json.loads(gzip.decompress(base64.b64decode(text))) == whole
    assert page.data_block(whole, plain=True)[0] == "application/json"


def test_bytes_a_site(worked_plan: Plan) -> None:
    many = np.resize(np.arange(len(worked_plan)), 6000)
    rng = np.random.default_rng(5)
    columns = {k: v[many] for k, v in worked_plan.columns.items()}
    # Sites of their own: places, angles and margins that do not repeat.
    for name in ("lat", "lon", "azimuth_true_deg", "elevation_deg", "rain_rate_mm_h", "margin_db"):
        columns[name] = columns[name] + rng.normal(0, 1, 6000)
    columns["site_id"] = np.array([f"S{k:05d}" for k in range(6000)], dtype=object)
    tables = {k: v[many] + rng.normal(0, 0.5, (6000, *[1] * (v.ndim - 1)))
              for k, v in worked_plan.tables.items()
              if k.startswith(("whatif", "budget"))}  # fmt: skip
    whole = payload(replace(worked_plan, columns=columns, tables=tables), "x")
    packed = len(page.data_block(whole, plain=False)[1]) / 6000
    plain = len(page.data_block(whole, plain=True)[1]) / 6000
    assert packed < 150
    assert plain < 560  # grade, years, months and outages are some 35 of them


def test_the_page_without_its_data_is_light(make_plan: Callable[..., Plan]) -> None:
    text = page.render("x", payload(make_plan(np.array([1.0]), np.array([2.0])), "x"))
    assert len(text.encode()) < 1_500_000
