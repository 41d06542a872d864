"""An invented plan for the output tests: every margin class, gaps, and hostile texts."""

from __future__ import annotations

import itertools
import json
import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from siteplan.fields import lookup
from siteplan.model import Assumption, Sites
from siteplan.network import Network
from siteplan.outputs.map.layers import LAYERS
from siteplan.planning.plan import make_plan as make_plan_of
from siteplan.results import Facts, Plan

#: Names that break pages which paste text into markup, scripts, templates or spreadsheets.
HOSTILE_NAMES = (
    "</script><script>document.title='broken'</script>",
    "<img src=x onerror=\"document.title='broken'\">",
    "Quote ' double \" back ` slash \\ amp &amp;",
    "=cmd('calc')",
    "{{ 7 * 7 }} {% raw %} ${7*7}",
    "محطة الاختبار الشمالية 7",
    "Emoji \U0001f4e1 and accents Ñandú",
    "line\u2028separator\u2029and\ttab",
    "long " * 60,
    "__proto__",
)
SATELLITE_LON_DEG = 13.0


def invented_network(**tables: Any) -> Network:
    """Return a network with a satellite at 13 E and a hub in Europe."""
    return Network.model_validate(
        {
            "network": {"name": "Invented network", "date": "2026-03-01"},
            "satellite": {"longitude_deg": SATELLITE_LON_DEG},
            "hub": {"lat": 50.1, "lon": 8.7},
            **tables,
        }
    )


def _look_angles(
    lat_deg: NDArray[np.float64], lon_deg: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Azimuth and elevation on a sphere [degree]: good enough to draw."""
    lat, dlon = np.radians(lat_deg), np.radians(SATELLITE_LON_DEG - lon_deg)
    azimuth = np.degrees(np.arctan2(np.sin(dlon), -np.sin(lat) * np.cos(dlon))) % 360
    central = np.cos(lat) * np.cos(dlon)
    elevation = np.degrees(np.arctan2(central - 6378.137 / 42164.17, np.sqrt(1 - central**2)))
    return azimuth, elevation


def _names(count: int) -> NDArray[np.object_]:
    names = np.array([f"Post {k:04d}" for k in range(count)], dtype=object)
    names[: len(HOSTILE_NAMES)] = HOSTILE_NAMES[:count]
    return names


def _flag_columns(below: NDArray[np.bool_], margin: NDArray[np.float64]) -> dict[str, Any]:
    failing = margin < 0
    flags = np.where(below, "below_horizon", np.where(failing, "no_fit;margin_negative", ""))
    notes = np.where(failing, "Nearest miss: 2.4 m with 3 W, short by more than the reserve.", "")
    return {"flags": flags.astype(object), "flag_notes": notes.astype(object)}


def _pack_columns(
    rain: NDArray[np.float64], elevation: NDArray[np.float64]
) -> dict[str, NDArray[Any]]:
    """Some of what the site pack adds: cable and clearance."""
    seen = ~np.isnan(elevation)
    names = np.array(["thin_6_mm", "usual_7_mm", "thick_11_mm"], dtype=object)
    cable = names[np.clip(rain // 35, 0, 2).astype(int)]
    return {
        "cable_class": np.where(seen, cable, ""),
        "cable_loss_high_db": np.where(seen, 4 + rain / 12, np.nan),
        "clearance_deg": np.where(seen, elevation / 3 - 2, np.nan),
    }


def _every_layer(columns: dict[str, NDArray[Any]], n: int) -> dict[str, NDArray[Any]]:
    """Return columns for the map's layers that ``columns`` have not got: any values will do."""
    rows = np.arange(n)
    fields = [lookup(layer.field) for layer in LAYERS if layer.field not in columns]
    return {
        field.name: np.array(["first", "second", ""], dtype=object)[rows % 3]
        if field.is_text
        else np.where(rows % 7 == 0, np.nan, rows % 11 + 0.5)
        for field in fields
        if field is not None
    }


def invented_columns(
    lat: NDArray[np.float64], lon: NDArray[np.float64], *, seed: int = 4
) -> dict[str, NDArray[Any]]:
    """Return result columns for sites at ``lat``, ``lon``; below the horizon they are NaN."""
    rng = np.random.default_rng(seed)
    n = len(lat)
    azimuth, elevation = _look_angles(lat, lon)
    below = elevation < 0
    rain = 95 * np.exp(-((lat / 18) ** 2)) + 12 + rng.normal(0, 4, n)
    margin = np.where(below, np.nan, elevation / 9 - rain / 22 + rng.normal(0.4, 1.8, n))
    outbound = margin + rng.uniform(0, 2, n)
    antenna = np.select([margin < 0, rain > 70, rain > 35], [np.nan, 2.4, 1.8], 1.2)
    gap = np.where(below, np.nan, 0.0)
    columns = {
        "site_id": np.array([f"S{k:05d}" for k in range(n)], dtype=object),
        "name": _names(n),
        "group": np.array(["north", "south"], dtype=object)[(lat < 10).astype(int)],
        "lat": lat,
        "lon": lon,
        "altitude_m": np.round(np.abs(rng.normal(300, 200, n))),
        "availability_target_pct": np.full(n, 99.5),
        "azimuth_true_deg": azimuth + gap,
        "azimuth_magnetic_deg": (azimuth + 1.3) % 360 + gap,
        "magnetic_declination_deg": np.full(n, -1.3),
        "elevation_deg": elevation + gap,
        "skew_deg": 20 * np.sin(np.radians(azimuth)) + gap,
        "slant_range_km": 38000 + gap,
        "rain_rate_mm_h": rain,
        "uplink_attenuation_db": rain / 9 + gap,
        "downlink_attenuation_db": rain / 12 + gap,
        "antenna_m": antenna + gap,
        "buc_w": np.where(np.isnan(antenna + gap), np.nan, 2.0),
        "kit_source": np.where(np.isnan(antenna + gap), "none", "picked").astype(object),
        "margin_1_2_m_db": margin - 2,
        "margin_2_4_m_db": margin + 1,
        "margin_db": margin,
        "limiting_direction": np.where(below, "", "inbound").astype(object),
        "fade_margin_db": margin + 6,
        "outbound_margin_db": outbound,
        "inbound_margin_db": margin,
        "outbound_availability_pct": np.where(below, np.nan, 99.71234),
        "inbound_availability_pct": np.where(below, np.nan, 99.60006),
        "mount": rng.choice(
            np.array(["pole", "wall", "non_penetrating", "engineered"], dtype=object), n
        ),
        "mount_certainty": np.where(np.arange(n) % 3 == 0, "provisional", "decided").astype(object),
        "mount_question": np.where(np.arange(n) % 3 == 0, "What holds it?", "").astype(object),
        "mount_reason": np.full(n, "The roof carries it and nothing may be drilled", dtype=object),
        "availability_achieved_pct": np.where(below, np.nan, 99.60006 - rain / 80),
        **_pack_columns(rain, elevation + gap),
        **_flag_columns(below, margin),
    }
    return columns | _every_layer(columns, n)


def invented_plan(
    lat: NDArray[np.float64],
    lon: NDArray[np.float64],
    *,
    network: Network | None = None,
    facts: Facts | None = None,
    seed: int = 4,
) -> Plan:
    """Return a plan for sites at ``lat``, ``lon`` with free columns and assumptions."""
    columns = invented_columns(lat, lon, seed=seed)
    contact = np.array([f"Contact <b>{k % 7}</b>" for k in range(len(lat))], dtype=object)
    default = Facts(name="Invented network", date="2026-03-01")
    return Plan(
        columns=columns,
        extra={"contact": contact, "visits": np.arange(len(lat)) % 3},
        network=network or invented_network(),
        assumptions=(
            Assumption("terminal.lnb_noise_k", "75", "K", "Noise temperature of the LNB"),
            Assumption("rules.reserve_db", "1", "dB", "Margin that must be left over"),
        ),
        facts=default if facts is None else facts,
    )


def spread(count: int, *, seed: int = 1) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return latitudes and longitudes over Africa and Europe, some far out of sight."""
    rng = np.random.default_rng(seed)
    lat, lon = rng.uniform(-32, 55, count), rng.uniform(-12, 48, count)
    far = slice(None, None, 25)
    lat[far], lon[far] = rng.uniform(-40, -20, lat[far].shape), -75.0
    return lat, lon


def decoded_column(coded: Mapping[str, Any], count: int) -> list[Any]:
    """Read a column of the map's dataset back, as its encoders describe it."""
    if "c" in coded:
        return [coded["c"]] * count
    if "d" in coded:
        return [coded["d"][k] for k in coded["i"]]
    if "t" in coded:
        return _sentences(coded)
    values: list[Any] = coded["v"]
    return [v if v is None or "s" not in coded else _scaled(v, coded["s"]) for v in values]


def _scaled(whole: float, decimals: int) -> float:
    return -0.0 if whole == 0 and math.copysign(1, whole) < 0 else whole / 10**decimals


def _sentences(coded: Mapping[str, Any]) -> list[str]:
    numbers = iter(coded["n"].split())
    return [
        "".join(itertools.chain(*itertools.zip_longest(words, gaps, fillvalue="")))
        for words in (coded["t"][k] for k in coded["i"])
        for gaps in [[next(numbers) for _ in words[1:]]]
    ]


def as_page_reads(text: str) -> Any:
    """Parse JSON as JavaScript does: -0 is a number of its own."""
    return json.loads(text, parse_int=lambda digits: -0.0 if digits == "-0" else int(digits))


@pytest.fixture(scope="session")
def decode() -> Callable[[Mapping[str, Any], int], list[Any]]:
    """The reader of columns: ``decode(column, count)``."""
    return decoded_column


@pytest.fixture(scope="session")
def parse() -> Callable[[str], Any]:
    """The reader of the page's JSON."""
    return as_page_reads


@pytest.fixture(scope="session")
def make_plan() -> Callable[..., Plan]:
    """The maker of plans for any places: ``make_plan(lat, lon, network=..., facts=...)``."""
    return invented_plan


@pytest.fixture(scope="session")
def make_network() -> Callable[..., Network]:
    """The maker of networks: keyword arguments are tables of network.toml."""
    return invented_network


@pytest.fixture(scope="session")
def spread_plan() -> Plan:
    """A plan of 250 sites."""
    return invented_plan(*spread(250))


@pytest.fixture(scope="session")
def hostile_names() -> tuple[str, ...]:
    """Texts that the outputs must carry unharmed."""
    return HOSTILE_NAMES


@pytest.fixture(scope="session")
def worked_plan() -> Plan:
    """A plan as planning makes it, tables included, of 60 sites, with targets of their own."""
    rng = np.random.default_rng(8)
    lat, lon = rng.uniform(-38, 66, 60), rng.uniform(-14, 52, 60)
    lat[0], lon[0] = 0.0, SATELLITE_LON_DEG  # at the sub-satellite point
    lat[1], lon[1] = 40.0, -80.0  # below the horizon
    lat[2], lon[2] = 71.0, 25.0  # low, with a margin all the same
    given = {"availability_pct": rng.choice([99.0, 99.5, 99.9], 60)}
    network = invented_network(rules={"min_elevation_deg": 12}, terminal={"wet_loss_db": 0.5})
    plan = make_plan_of(Sites.at(lat, lon, **given), network, with_tables=True)
    horizon = np.tile(np.linspace(0, 8, 72), (60, 1))
    horizon[5:] = np.nan
    return replace(
        plan,
        facts=replace(plan.facts, sheets=True),
        tables={**plan.tables, "horizon_deg": horizon},
    )
