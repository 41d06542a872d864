"""Three unlike sites whose plan holds no value twice, and their look angles worked out apart.

North-east on the ground, south-west on a wall, north-west on a flat roof. Places and angles are
those that planning gives; every other figure is invented, another one for each field and site, so
that no two boxes of a sheet can be taken for one another.
"""

from __future__ import annotations

import dataclasses
import math
from types import MappingProxyType
from typing import Any, NamedTuple

import numpy as np
import pytest
from numpy.typing import NDArray

from siteplan.fields import lookup
from siteplan.model import Assumption, Sites
from siteplan.network import Network
from siteplan.outputs.map.card import ASKED as ASKED_GROUPS
from siteplan.planning.plan import make_plan
from siteplan.results import Facts, Plan
from tests.outputs.read_back.figures import Table
from tests.priced import with_prices

SATELLITE_DEG = -5.0
LAT_DEG = (67.412345, -22.904321, 14.716789)
LON_DEG = (26.587654, -43.176543, -17.467891)
ALTITUDE_M = (187.0, 952.0, 31.0)
#: Dish of each site and its offset angle: the first looks low enough to lean forward.
ANTENNA_M = (1.2, 2.4, 1.8)
OFFSET_DEG = (24.5, 0.0, 17.25)
BUC_W = (4.0, 16.0, 8.0)
ZONES = ("Europe/Helsinki", "America/Sao_Paulo", "")

#: What is left as planning has it: where the site is, what it sees, and its kit.
WORKED_OUT = {
    *("lat", "lon", "altitude_m", "azimuth_true_deg", "azimuth_magnetic_deg", "elevation_deg"),
    *("magnetic_declination_deg", "skew_deg", "slant_range_km", "inclinometer_deg"),
    *("antenna_m", "buc_w"),
}
#: Figures that may be negative: they are, at the site in the south-west.
SIGNED = {
    *("margin_db", "margin_after_reserve_db", "outbound_margin_db", "inbound_margin_db"),
    "next_antenna_margin_db",
    *("clearance_deg", "modem_output_dbm", "modem_input_dbm", "remote_g_t_db_k"),
    *("azimuth_step_deg", "elevation_step_deg", "skew_step_deg", "fade_margin_db"),
}
#: Figures that only some of the three sites have.
ONLY_AT = {
    **dict.fromkeys(("wall_facing_deg", "wall_pull_n", "wall_shear_n"), (1,)),
    **dict.fromkeys(("roof_height_m", "parapet_distance_m", "roof_load_pa", "ballast_kg"), (2,)),
    **dict.fromkeys(("frame_base_m", "pole_embedment_m"), (2,)),
    **dict.fromkeys(("fixed_antenna_m", "wind_m_s"), (0,)),
    **dict.fromkeys(("horizon_at_satellite_deg", "clearance_deg"), (0, 1)),
    **dict.fromkeys(("cable_m",), (1, 2)),
    **dict.fromkeys(("fixed_buc_w", "fixed_efficiency"), (1,)),
    **dict.fromkeys(("fixed_buc_backoff_db",), (2,)),
    **dict.fromkeys(("fence_m",), (0, 2)),
}
#: Where the limit of exposure holds everywhere: a distance of 0.
NOWHERE = {
    "controlled_distance_m": (0,),
    "public_distance_m": (1,),
    "controlled_beside_m": (0, 1),
    "public_beside_m": (2,),
}
OPTIONS = (
    "Pole, 61 of 100; for: any bearing. Wall bracket: not possible: there is no wall.",
    "Wall bracket, 72 of 100; for: no digging. Pole, 33 of 100; against: deep footing.",
    "Non-penetrating roof frame, 83 of 100; for: roof stays unpierced.",
)
TEXTS: dict[str, tuple[str, str, str]] = {
    "site_id": ("NE-17", "SW-28", "NW-39"),
    "name": ("Reindeer fell hut", "Sugar quay", "Cape lookout"),
    "group": ("north", "south", "south"),
    "priority": ("first", "second", "third"),
    "timezone": ZONES,
    "altitude_source": ("given", "P.1511", "given"),
    "structure": ("ground", "wall", "flat_roof"),
    "mount": ("pole", "wall", "non_penetrating"),
    "mount_certainty": ("decided", "decided", "provisional"),
    "mount_question": ("", "", "What does that roof carry?"),
    "mount_reason": ("Soil to dig in.", "A wall that looks there.", "A roof that carries it."),
    "mount_options": OPTIONS,
    "kit_source": ("installed", "picked", "none"),
    "no_fit_reason": ("", "", "Short by more than the reserve."),
    "margin_class": ("class of hut", "class of quay", "class of cape"),
    "limiting_direction": ("inbound", "outbound", "inbound"),
    "near_miss": ("", "1.8 m misses it by 0.04 dB.", "1.2 m misses it by 0.07 dB."),
    "most_sensitive": ("EIRP -1 dB", "rain +20 %", ""),
    "limiting_end": ("hub", "site", "hub"),
    "power_cut_by": ("share", "", "share"),
    "wind_source": ("given", "assumed", "assumed"),
    "ballast_governs": ("", "", "overturning"),
    "horizon_source": ("survey", "terrain", ""),
    "obstacle_kind": ("trees", "ridge", ""),
    "cable_class": ("cable of 7 mm", "cable of 11 mm", ""),
    "cable_core": (
        *("solid copper core, at most 31 ohm/km", "copper-clad steel core, at most 32 ohm/km"),
        "solid copper core, at most 33 ohm/km",
    ),
    "cable_clad_steel": ("Clad steel would leave 17.1 V.", "", "Clad steel reaches 34 m."),
    "cable_advice": ("", "", "No class works: a local supply would."),
    "stand_off_from": ("ground", "roof", "roof"),
    "exposure_basis": ("The hut's watts.", "The quay's watts.", "The cape's watts."),
    "exposure_rule": ("rule of the hut", "rule of the quay", "rule of the cape"),
    "sun_first_day": ("2026-10-01", "2026-10-11", "2026-10-21"),
    "sun_last_day": ("2026-11-02", "2026-11-12", "2026-11-22"),
    "sun_peak_utc": ("2026-10-03T11:21:31", "2026-10-13T12:32:41", "2026-10-23T13:43:51"),
    "sun_peak_local": (
        *("2026-10-03T14:21:31+03:00", "2026-10-13T09:32:41-03:00", "2026-10-23T13:43:51+00:00"),
    ),
    "sun_outage": ("no", "yes", "yes"),
    "certainty": ("B", "D", "C"),
    "certainty_next": ("Survey the fell.", "Ask for the EIRP.", "Ask for the noise."),
    "applications": ("telemetry", "calls", "telemetry; calls"),
    "target_source": ("application telemetry", "sites table", "network file"),
    "year_notes": ("", "The quay's years are blank.", "The cape's outages are blank."),
    "flags": ("drive_range;low_elevation", "blocked;margin_short;azimuth_sensitive", "heavy_rain"),
    "flag_notes": ("Hut: elevation is low.", "Quay: a crane stands there.", "Cape: it pours."),
}
ASSUMED = (
    Assumption("site.wind_m_s", "25", "m/s", "Design wind"),
    Assumption("site.roof_height_m", "6", "m", "Roof height"),
    Assumption("ifl.cable_m", "30", "m", "Cable run"),
    Assumption("site.friction", "0.4", "", "Friction"),
    Assumption("terminal.lnb_noise_k", "75", "K", "Noise of the LNB"),
    Assumption("rules.reserve_db", "1", "dB", "Reserve"),
)


#: Fields that are told only where applications or costs over the years are asked for.
ASKED = {field for _, fields in ASKED_GROUPS for field in fields}
#: What a network costs beyond its kit, and what a line does.
YEARS = {"hub_capex": 900.0, "lease_mhz_month": 1300.0, "line_month": 250.0}


def network() -> Network:
    """A network with a satellite south of Europe and west of Africa, every choice unlike."""
    return Network.model_validate(
        {
            "network": {
                "equipment_mtbf_h": 30_000,
                "equipment_mttr_h": 36,
                "name": "Wayfarers",
                "date": "2026-09-01",
                "install_date": "2026-09-14",
            },
            "satellite": {
                "name": "Lantern 5",
                "longitude_deg": SATELLITE_DEG,
                "neighbours_deg": [-12.5, 3.0],
            },
            "hub": {"lat": 48.2, "lon": 16.3},
            "outbound": {"implementation_loss_db": 0.8},
            "inbound": {"implementation_loss_db": 1.3},
            "antennas": [
                {"diameter_m": size, "offset_angle_deg": offset}
                for size, offset in sorted(zip(ANTENNA_M, OFFSET_DEG, strict=True))
            ],
            "bucs": [{"rated_w": power} for power in sorted(BUC_W)],
            "rules": {"min_elevation_deg": 5},
            "terminal": {"rx_lo_ghz": 10.6, "tx_lo_ghz": 15.2},
            "site": {
                "cross_polar_db": 27.5,
                "spares_pct": 20,
                "terrain_category": "III",
                "footing_m": 0.75,
                "bracket_spacing_m": 0.35,
            },
            "contacts": {
                "operator_name": "Desk of Lantern",
                "operator_phone": "+49 30 5550 100",
                "planner_name": "Io",
                "planner_phone": "+49 30 5550 199",
            },
            "sheets": {"columns": ["Contact"]},
            "applications": [
                {"name": "telemetry", "profile": "scada"},
                {"name": "calls", "profile": "voice"},
            ],
        }
    )


def unlike_plan() -> Plan:
    """Return the plan of the three sites."""
    kit = {"fixed_antenna_m": np.array(ANTENNA_M), "fixed_buc_w": np.array(BUC_W)}
    texts = {
        name: np.array(TEXTS[name], dtype=object)
        for name in ("site_id", "name", "group", "priority", "structure", "timezone")
    }
    altitude = np.array(ALTITUDE_M)
    sites = Sites.at(np.array(LAT_DEG), np.array(LON_DEG), altitude_m=altitude, **texts, **kit)
    facts = Facts(sheets=True)
    priced = with_prices(network(), **YEARS)
    plan = make_plan(sites, priced, assumptions=ASSUMED, facts=facts, with_tables=True)
    return dataclasses.replace(
        plan,
        columns=MappingProxyType(_columns(plan)),
        extra={"Contact": np.array(["Aino", "Bia", "Cire"], dtype=object)},
        tables=MappingProxyType({**plan.tables, **_tables(plan)}),
    )


def _columns(plan: Plan) -> dict[str, NDArray[Any]]:
    """Return the plan's columns: figures of their own for each field and site."""
    columns: dict[str, NDArray[Any]] = {}
    last = sorted(plan.columns, key=lambda name: name in ASKED)  # others keep their figures
    places = {name: k for k, name in enumerate(last)}
    for name in plan.columns:
        field, k = lookup(name), places[name]
        assert field is not None
        if name in WORKED_OUT:
            columns[name] = plan.columns[name]
        elif field.is_text:
            columns[name] = np.array(TEXTS[name], dtype=object)
        else:
            columns[name] = _figures(name, k)
    return columns


def _figures(name: str, k: int) -> NDArray[np.float64]:
    """Return the invented figures of the plan's field number ``k``: no two round alike."""
    values = 20.0003 + 1.37317 * (3 * k + np.arange(3))
    if name in SIGNED:
        values[1] *= -1
    values[list(NOWHERE.get(name, ()))] = 0
    missing = [i for i in range(3) if i not in ONLY_AT.get(name, range(3))]
    values[missing] = np.nan
    return values


def _tables(plan: Plan) -> dict[str, NDArray[Any]]:
    """Return tables with figures of their own: horizon, budget, depths of the sun."""
    around = np.arange(72)
    horizon = np.full((3, 72), np.nan)
    horizon[0] = np.where((around > 20) & (around < 44), 3 + around % 7, 0)
    horizon[1] = np.where((around < 15) | (around > 60), 11 + around % 5, 0)
    transits = len(plan.tables["sun_site"])
    days = _days_later(plan)
    return {
        **{name: plan.tables[name] + days for name in ("sun_start", "sun_peak", "sun_end")},
        "horizon_deg": horizon.astype(np.float32),
        "budget_db": 1.7 + 2.3 * np.arange(30.0).reshape(3, 2, 5),
        "sun_depth_db": 2.1 + 0.3 * np.arange(transits),
    }


def _days_later(plan: Plan) -> NDArray[np.timedelta64]:
    """Return by how much transits are moved: the southern group's two sites share their days."""
    spring = plan.tables["sun_start"] > np.datetime64("2027-01-01")
    days = np.where(plan.tables["sun_site"] == 2, np.where(spring, 17, -16), 0)
    return days.astype("timedelta64[D]").astype("timedelta64[s]")


# --- look angles by vectors, apart from the code under test ---------------------------------


class Look(NamedTuple):
    """Azimuth from true north, elevation, and skew clockwise from behind the dish [deg]."""

    azimuth: float
    elevation: float
    skew: float


def look(i: int) -> Look:
    """Return the look angles of site ``i`` (WGS 84; geostationary radius 42164.17 km).

    The feed turns from the local upright to the satellite's north-south axis, both as they stand
    across the line of sight of someone behind the dish who faces the satellite.
    """
    lat, lon = math.radians(LAT_DEG[i]), math.radians(LON_DEG[i])
    up = np.array([math.cos(lat) * math.cos(lon), math.cos(lat) * math.sin(lon), math.sin(lat)])
    east = np.array([-math.sin(lon), math.cos(lon), 0.0])
    north = np.cross(up, east)
    a, e2 = 6378.137, 0.00669437999014
    normal = a / math.sqrt(1 - e2 * math.sin(lat) ** 2)
    height = ALTITUDE_M[i] / 1000
    site = np.array([normal + height, normal + height, normal * (1 - e2) + height]) * up
    stands = math.radians(SATELLITE_DEG)
    sight = 42164.17 * np.array([math.cos(stands), math.sin(stands), 0.0]) - site
    sight /= np.linalg.norm(sight)
    azimuth = math.degrees(math.atan2(sight @ east, sight @ north)) % 360
    right = np.cross(sight, up)
    upright = np.cross(right, sight)
    axis = np.array([0.0, 0.0, 1.0])
    turn = math.atan2(
        axis @ right / np.linalg.norm(right), axis @ upright / np.linalg.norm(upright)
    )
    half = (math.degrees(turn) + 90) % 180 - 90  # an axis: upside down is the same
    return Look(azimuth, math.degrees(math.asin(sight @ up)), half)


def changed(plan: Plan, **columns: Any) -> Plan:
    """Return the plan with another value of some fields at its first site."""
    new = {name: values.copy() for name, values in plan.columns.items()}
    for name, value in columns.items():
        new[name][0] = value
    return dataclasses.replace(plan, columns=new)


#: The places of the three sites.
SITES = range(3)


def boxes(table: Table) -> list[Any]:
    """The boxes of a table as the parameters of a test."""
    return [pytest.param(key, id=": ".join(key)) for key in table]
