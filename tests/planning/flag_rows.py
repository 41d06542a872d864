"""Every flag with its condition, worked out anew from the plan's figures: a row a sentence.

To add a flag or a sentence: a row of `ROWS`. A condition sees the plan's columns and the sites
as they came in; limits stand here as numbers, not by the code's names. ``test_flag_rows.py``
wants a row for each code of the dictionary of flags.
"""

from __future__ import annotations

import datetime as dt
import functools
from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from siteplan.arrays import BoolArray, FloatArray
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.physics.angles.magnetic import magnetic_field
from siteplan.physics.propagation.climate import topographic_altitude_m
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.planning.mixed import ANTENNAS, BUCS, CABLES, TERRAIN_BOX, World, look_deg

CAVEAT = "for planning, to be confirmed by a qualified engineer"


class Facts:
    """What conditions may look at: the sites as they came in, the plan's columns, and more."""

    def __init__(self, world: World, plan: Plan) -> None:
        self.world, self.sites, self.c = world, world.sites, plan.columns
        self.date = plan.facts.date
        self.told_once, self.remarks = dict(plan.facts.told_once), plan.facts.remarks
        self.n = len(self.sites)
        self.none = np.zeros(self.n, dtype=bool)
        self.elevation = look_deg(self.sites.lat, self.sites.lon, self.c["altitude_m"])[1]
        self.seen = self.elevation >= 0
        self.dish = ~np.isnan(self.c["antenna_m"])
        self.given = self.dish & ~np.isnan(self.c["buc_w"])
        own = ~np.isnan(self.sites.fixed_antenna_m), ~np.isnan(self.sites.fixed_buc_w)
        self.some_installed = own[0] | own[1]
        #: The largest pair that was tried: installed kit stands in the catalogue's place.
        self.largest_m = np.where(own[0], self.sites.fixed_antenna_m, 2.4)
        self.largest_w = np.where(own[1], self.sites.fixed_buc_w, 3.0)

    def tried_head(self, i: int) -> str:
        """What heads a sentence on the pair tried at a site; empty where a pair is given."""
        if self.given[i] or not self.seen[i]:
            return ""
        pair = f"{self.c['tried_antenna_m'][i]:.3g} m and {self.c['tried_buc_w'][i]:.3g} W"
        return f"With {pair}, which were tried and are not planned: "

    @functools.cached_property
    def turn_deg_km(self) -> FloatArray:
        """How far 1 km of error turns the azimuth at worst (n,): steps of 1 m both ways."""
        lat, lon, height = self.sites.lat, self.sites.lon, self.c["altitude_m"]
        step_lat = 0.5 / 110_574  # half a metre of a degree along the meridian, WGS 84
        step_lon = 0.5 / (111_320 * np.cos(np.radians(lat)))
        turns = []
        for north, east in ((step_lat, 0.0), (0.0, step_lon)):
            after = look_deg(lat + north, lon + east, height)[0]
            before = look_deg(lat - north, lon - east, height)[0]
            turns.append((after - before + 180) % 360 - 180)
        return np.minimum(1000 * np.hypot(*turns), 90.0)

    @functools.cached_property
    def tilt_deg(self) -> FloatArray:
        """How far the reflector leans back (n,): elevation less the nearest size's offset."""
        tried = np.where(self.dish, self.c["antenna_m"], self.largest_m)
        offset = np.array([offset_deg(d) for d in tried.tolist()])
        return np.where(self.seen, self.elevation - offset, np.nan)

    @functools.cached_property
    def fade_db(self) -> FloatArray:
        """What the sky takes at the site in the limiting direction (n,) [dB]."""
        inbound = self.c["limiting_direction"] == "inbound"
        up, down = self.c["uplink_attenuation_db"], self.c["downlink_attenuation_db"]
        return np.where(inbound, up, down)

    @functools.cached_property
    def small_p(self) -> BoolArray:
        """Where an end's fifth of the target's outage is under 0.01 % (n,)."""
        return self.seen & (0.2 * (100 - self.c["availability_target_pct"]) < 0.01)

    @functools.cached_property
    def control_db(self) -> FloatArray:
        """The power control that would mend the hub's uplink (n,): a fifth of the outage is its.

        The hub's sky is that of a site there with its dish; infinite where the site's own four
        fifths do not hold the reserve.
        """
        p = 100 - self.c["availability_target_pct"]
        bare = self.world.network.model_dump(exclude_unset=True)
        rules = bare["rules"] | {"hub_outage_share": 0}
        known = {"availability_pct": 100 - np.maximum(0.2 * p, 0.001), "altitude_m": self.hub_m,
                 "fixed_antenna_m": np.full(self.n, 4.5), "fixed_efficiency": np.full(self.n, 0.65),
                 "fixed_buc_w": np.full(self.n, 3.0)}  # fmt: skip
        there = Sites.at(np.full(self.n, -15.8), np.full(self.n, -47.9), **known)
        sky = make_plan(there, Network.model_validate(bare | {"hub": {}, "rules": rules})).columns
        rise = sky["uplink_attenuation_db"] - sky["uplink_gas_db"]
        open_ = bare | {"hub": bare["hub"] | {"power_control_db": 30}}
        alone = make_plan(self.sites, Network.model_validate(open_)).columns["outbound_margin_db"]
        need = rise - (self.c["outbound_fade_margin_db"] - 1.0)
        return np.where(alone >= 1.0, need, np.inf)

    @property
    def hub_m(self) -> FloatArray:
        """The hub's height (n,): the map's."""
        return topographic_altitude_m(np.full(self.n, -15.8), np.full(self.n, -47.9))

    @functools.cached_property
    def stands(self) -> Stands:
        """What the wind asks of each kind of mount."""
        return Stands(self)

    @functools.cached_property
    def runs(self) -> Runs:
        """How far each cable reaches with the site's BUC and levels."""
        return Runs(self)


def offset_deg(dish_m: float) -> float:
    """Return the offset angle of the catalogue's size nearest a dish."""
    return min(ANTENNAS, key=lambda a: abs(a[0] - dish_m))[2]


class Stands:
    """What each kind of mount asks for (n,), by hand: EN 1991-1-4, category II, defaults.

    Friction 0.4 and safety 1.5 with a lift of a third of the drag: 4.25 times the drag in weight.
    """

    def __init__(self, facts: Facts) -> None:
        sites, self.dish = facts.sites, facts.c["antenna_m"]
        self.wind = np.where(np.isnan(sites.wind_m_s), 25.0, sites.wind_m_s)
        self.weight_n = 40 * np.pi / 4 * self.dish**2 * 9.80665
        roof = np.where(np.isnan(sites.roof_height_m), 6.0, sites.roof_height_m)
        eave = np.where(np.isnan(sites.roof_height_m), 3.0, sites.roof_height_m)
        flat = np.isin(sites.structure.astype(str), ("", "flat_roof"))
        on_ground = sites.structure == "ground"
        self.roof_kg = self._ballast_kg(roof)
        self.roof_pa = (self.roof_kg * 9.80665 + self.weight_n) / (1.8 * self.dish) ** 2
        off = np.maximum(0.6, self.dish / 2)
        pull = (self._drag_n(eave) + self.weight_n) * off / 0.8
        swing = np.abs((facts.c["azimuth_true_deg"] - sites.wall_facing_deg + 180) % 360 - 180)
        away = (swing > 70) & (facts.elevation < 75)
        self.least = np.min(
            [
                self._depth_m() / 2.5,
                self._ballast_kg(np.zeros(facts.n)) / 5000,
                np.where(flat, np.maximum(self.roof_pa, self.roof_kg) / 1500, np.inf),
                np.where(on_ground | away, np.inf, np.maximum(self.dish / 1.2, pull / 3000)),
            ],
            axis=0,
        )

    def _drag_n(self, height_m: FloatArray) -> FloatArray:
        """1.5 x 0.625 V^2 (1 + 7 / ln) (0.19 ln)^2 x aperture, ln(z / 0.05) from 2 m up."""
        ln = np.log(np.maximum(height_m, 2) / 0.05)
        exposure = (1 + 7 / ln) * (0.19 * ln) ** 2
        return 1.5 * 0.625 * self.wind**2 * exposure * np.pi / 4 * self.dish**2

    def _ballast_kg(self, base_m: FloatArray) -> FloatArray:
        held = 4.25 * self._drag_n(base_m + 0.3 + self.dish / 2)
        return np.asarray(np.maximum(held - self.weight_n, 0) / 9.80665)

    def _depth_m(self) -> FloatArray:
        """IBC 1807.3.2.1 with a third of the depth: d^3 = k d + 1.09 k h, by halving."""
        lever = 1.2 + self.dish / 2
        k = 2.34 * 3 * self._drag_n(lever) / (15_700 * 0.6)
        low, high = np.zeros_like(k), np.full_like(k, 50.0)
        for _ in range(60):
            middle = (low + high) / 2
            deep = middle**3 > k * middle + 1.09 * k * lever
            low, high = np.where(deep, low, middle), np.where(deep, middle, high)
        return np.where(np.isnan(k), np.nan, high)


class Runs:
    """How far each cable of the catalogue carries supply and signal (n, 2) [m]."""

    def __init__(self, facts: Facts) -> None:
        c, self.length = facts.c, facts.c["ifl_length_m"]
        loss = np.array([k["loss_db_100m"] for k in CABLES]) / 100  # per metre at 1 GHz
        # Copper 0.017241 ohm mm2/m (IEC 60028); copper-clad steel carries 21 % as well.
        core = [17.241 / (np.pi / 4 * k["core_mm"] ** 2) for k in CABLES]
        core[0] /= 0.21
        self.ohm_km = np.array(core) + np.array([k["shield_ohm_km"] for k in CABLES])
        self.watts = c["buc_dc_w"]
        # 24 V in, 18 V left: the loop drops 6 V at P / 18 V, so it may have 6 x 18 / P ohm.
        self.supply = 6 * 18 / self.watts[:, None] / self.ohm_km * 1e3
        out = c["modem_output_dbm"] - c["cable_loss_high_db"]
        into = c["modem_input_dbm"] + c["cable_loss_high_db"]
        spare = np.maximum(np.minimum(0 - out, into - -70), 0)[:, None]
        slope = loss * (2.15**0.5 - 0.95**0.5)
        self.signal = np.minimum(spare / (loss * 2.15**0.5), 12 / slope)
        self.starved = (self.supply < self.length[:, None]).all(axis=1)
        self.deaf = (self.signal < self.length[:, None]).all(axis=1)
        both = np.minimum(self.supply, self.signal)
        self.nothing = facts.seen & (both < self.length[:, None]).all(axis=1)
        self.best = np.floor(both.max(axis=1))

    @property
    def volts(self) -> FloatArray:
        """The supply that would do over the strongest cable: 18 V kept, and stable."""
        drop = self.watts * self.length / 1e3 * self.ohm_km.min()
        return np.ceil(np.where(drop > 18**2, 2 * np.sqrt(drop), 18 + drop / 18))

    @property
    def numbers(self) -> dict[str, Any]:
        """What the sentences tell."""
        told = {"length": self.length, "run": self.best, "watts": self.watts, "volts": self.volts}
        return told | {"core": 5.48}  # copper of 2 mm: 5.488 ohm/km, rounded down


Numbers = Callable[[Facts], dict[str, Any]]


class Row(NamedTuple):
    """A sentence: the flag's code, where it is told, its key, and the numbers in it."""

    code: str
    where: Callable[[Facts], BoolArray]
    key: str
    numbers: Numbers = lambda s: {}


def _plain(code: str, where: Callable[[Facts], BoolArray], numbers: Numbers = lambda s: {}) -> Row:
    """Return the row of a flag of one sentence."""
    return Row(code, where, f"flag.{code}", numbers)


def _elevation(s: Facts) -> dict[str, Any]:
    return {"elevation_deg": s.elevation, "min_elevation_deg": 10.0}


def _told(difference_db: FloatArray) -> FloatArray:
    """A difference as it is told: to a tenth, a smaller one to its first digit."""
    return np.array([float(f"{x:.1g}") if 0 < x < 0.095 else round(x, 1) for x in difference_db])


def _doubted(s: Facts) -> BoolArray:
    """Where the coordinates are to be checked: nothing else is advised there."""
    found = s.none.copy()
    for i, notes in s.sites.notes.items():
        found[i] = any(note.code == "coordinate_doubt" for note in notes)
    return found


def _misses(code: str, where: Callable[[Facts], BoolArray]) -> tuple[Row, ...]:
    """Return the rows of kit that misses: by how much, at which end, what would mend the hub's."""

    def numbers(s: Facts) -> dict[str, Any]:
        margin = s.c["margin_db"]
        return {"missed_db": _told(-margin), "short_db": _told(1.0 - margin), "reserve_db": 1.0}

    def at(s: Facts, end: str, way: str) -> BoolArray:
        here = (s.c["limiting_end"] == end) & (s.c["limiting_direction"] == way)
        return np.asarray(where(s) & here)

    def out(s: Facts, mends: bool) -> BoolArray:
        here = at(s, "hub", "outbound") & ~_doubted(s)
        return np.asarray(here & (np.isfinite(s.control_db) == mends))

    def row(end: str, way: str) -> Row:
        return Row(code, lambda s: at(s, end, way), f"flag.{code}.{way}.{end}", numbers)

    return (
        *(row(end, way) for way in ("outbound", "inbound") for end in ("site", "hub")),
        Row(code, lambda s: out(s, True), "no_fit.mend.control",
            lambda s: {"control_db": s.control_db}),
        Row(code, lambda s: out(s, False), "no_fit.mend.no_control"),
        Row(code, lambda s: at(s, "hub", "inbound") & ~_doubted(s), "no_fit.mend.hub_inbound"),
    )  # fmt: skip


def _larger(wanted_m: FloatArray, tried_m: FloatArray) -> FloatArray:
    """A diameter that would do, up to a tenth; to a hundredth near the one that was tried."""
    tenths, hundredths = (np.ceil(np.round(k * wanted_m, 6)) / k for k in (10, 100))
    return np.where(wanted_m >= tried_m + 0.05, tenths, hundredths)


def _lent(sizes: list[float], installed: Callable[[Facts], FloatArray]) -> tuple[Any, Any]:
    """Return where installed kit is of no size of the catalogue, and the nearest size."""

    def near(s: Facts) -> FloatArray:
        stands = np.nan_to_num(installed(s))
        return np.array([min(sizes, key=lambda x: (abs(x - size), x)) for size in stands])

    return lambda s: ~np.isnan(installed(s)) & (near(s) != installed(s)), near


_NO_DISH_OF_IT, _NEAR_M = _lent([a[0] for a in ANTENNAS], lambda s: s.sites.fixed_antenna_m)
_NO_BUC_OF_IT, _NEAR_W = _lent([b[0] for b in BUCS], lambda s: s.sites.fixed_buc_w)


def _short(s: Facts) -> BoolArray:
    """Where the link falls short: high enough, and yet no kit."""
    return ~s.given & (s.elevation >= 10)


def _no_fit(start: str, way: str, end: str) -> Row:
    """Return the row of one reason for no kit: the nearest miss, and the end to blame."""

    def where(s: Facts) -> BoolArray:
        return (
            _short(s)
            & (s.some_installed == (start == "beside"))
            & (s.c["limiting_direction"] == way)
            & (s.c["limiting_end"] == end)
        )

    def numbers(s: Facts) -> dict[str, Any]:
        return {
            "dish_m": s.largest_m,
            "buc_w": s.largest_w,
            "short_db": _told(1.0 - s.c["margin_db"]),
            "fade_db": s.fade_db,
        }

    return Row("no_fit", where, f"no_fit.{start}.{way}.{end}", numbers)


def _at(s: Facts, end: str, way: str = "") -> BoolArray:
    """Where the link falls short at one end, in one direction or any."""
    ways = (s.c["limiting_direction"] == way) if way else ~s.none
    return np.asarray(_short(s) & (s.c["limiting_end"] == end) & ways)


def _cable_none(key: str, starved: bool, deaf: bool) -> Row:
    """Return the row of one reason for no cable."""

    def where(s: Facts) -> BoolArray:
        r = s.runs
        return r.nothing & (r.starved == starved) & (r.deaf == deaf)

    return Row("cable_none", where, f"cable.{key}", lambda s: s.runs.numbers)


def _drive(s: Facts) -> BoolArray:
    out, into = s.c["modem_output_dbm"], s.c["modem_input_dbm"]
    off = (out < -35) | (out > 0) | (into < -70) | (into > -20)
    return off & ~s.runs.nothing


def _reachable(s: Facts) -> BoolArray:
    """Where the public limit is passed, and the beam under 2.5 m, more than 0.85 m away."""
    over_head = (2.5 - s.c["beam_edge_m"]) / np.tan(np.radians(s.elevation))
    return s.seen & (s.c["public_distance_m"] > 0.85) & (over_head > 0.85)


def _at_roof_edge(s: Facts) -> BoolArray:
    """Where a bracket hangs at a roof's height: its rim is below the roof."""
    return np.asarray(s.c["beam_edge_m"] < 0)


def _fence(s: Facts) -> dict[str, Any]:
    """The longer of the distance beside the beam and that to where it is over head height."""
    over_head = (2.5 - s.c["beam_edge_m"]) / np.tan(np.radians(s.elevation))
    return {"far": np.fmax(over_head, s.c["public_beside_m"]), "caveat": CAVEAT}


def _outside_terrain(s: Facts) -> BoolArray:
    if s.world.around.terrain_path is None:
        return s.none
    south, west, north, east = TERRAIN_BOX
    lat, lon = s.sites.lat, s.sites.lon
    inside = (lat > south) & (lat < north) & (lon > west) & (lon < east)
    return ~inside & s.seen & ~np.isnan(s.c["azimuth_true_deg"])


def _late(s: Facts) -> BoolArray:
    return ~s.none if s.date >= "2030" else s.none


def _too_steep(s: Facts) -> BoolArray:
    """Where the field's level part is under 6000 nT: the model's caution zone (NOAA)."""
    date = dt.date.fromisoformat(s.date)
    field = magnetic_field(s.sites.lat, s.sites.lon, s.c["altitude_m"], date)
    return np.asarray(field.horizontal_nt < 6000)


def _reached(s: Facts, test: Callable[[FloatArray], BoolArray]) -> BoolArray:
    ways = (s.c[f"{way}_availability_pct"] for way in ("outbound", "inbound"))
    return np.logical_or.reduce([test(x) for x in ways])


def _noted(code: str) -> Row:
    """Return the row of a flag that reading raised; its sentences are the notes' own."""

    def where(s: Facts) -> BoolArray:
        found = s.none.copy()
        for i, notes in s.sites.notes.items():
            found[i] = any(note.code == code for note in notes)
        return found

    return Row(code, where, f"note.{code}")


ROWS: tuple[Row, ...] = (
    _plain("below_horizon", lambda s: ~s.seen & ~_doubted(s),
           lambda s: {"depression_deg": -s.elevation}),
    Row("below_horizon", lambda s: ~s.seen & _doubted(s), "flag.below_horizon.doubted",
        lambda s: {"depression_deg": -s.elevation}),
    *(
        _no_fit(start, way, end)
        for start in ("nothing", "beside")
        for way in ("outbound", "inbound")
        for end in ("site", "hub")
    ),
    _plain("below_min_elevation", lambda s: s.seen & (s.elevation < 10), _elevation),
    *_misses("margin_negative", lambda s: s.given & (s.c["margin_db"] < 0)),
    _plain("blocked", lambda s: s.dish & (s.c["clearance_deg"] < 0),
           lambda s: {"top": s.c["horizon_at_satellite_deg"]}),
    Row("blocked", lambda s: ~s.dish & (s.c["clearance_deg"] < 0), "flag.blocked.hidden",
        lambda s: {"top": s.c["horizon_at_satellite_deg"]}),
    _plain("sky_tight", lambda s: s.dish & (s.c["clearance_deg"] >= 0) & (s.c["clearance_deg"] < 2),
           lambda s: {"clear": s.c["clearance_deg"], "asked": 2.0}),
    _plain("mount_engineered", lambda s: s.dish & s.seen & (s.stands.least > 1),
           lambda s: {"over": np.ceil(100 * (s.stands.least - 1)), "caveat": CAVEAT}),
    _plain("roof_load",
           lambda s: s.seen & (s.sites.structure == "flat_roof") & (s.stands.roof_pa > 1500),
           lambda s: {"load": np.ceil(s.stands.roof_pa), "limit": 1500.0, "caveat": CAVEAT}),
    _cable_none("both", starved=True, deaf=True),
    _cable_none("starved", starved=True, deaf=False),
    _cable_none("deaf", starved=False, deaf=True),
    _cable_none("apart", starved=False, deaf=False),
    _plain("drive_range", _drive, lambda s: {
        "out": s.c["modem_output_dbm"], "into": s.c["modem_input_dbm"]}),
    _plain("beam_reachable", lambda s: _reachable(s) & ~_at_roof_edge(s), _fence),
    Row("beam_reachable", lambda s: _reachable(s) & _at_roof_edge(s),
        "flag.beam_reachable.roof_edge", _fence),
    _plain("outside_terrain", _outside_terrain),
    _plain("method_range", lambda s: s.seen & (s.elevation < 5),
           lambda s: {"method_elevation_deg": 5.0}),
    *_misses("margin_short",
             lambda s: s.given & (s.c["margin_db"] >= 0) & (s.c["margin_db"] < 1)),
    _noted("coordinate_doubt"),
    _noted("coordinate_mended"),
    _noted("input_mended"),
    _plain("low_elevation", lambda s: s.seen & (s.elevation < 12), _elevation),
    _plain("heavy_rain", lambda s: s.c["rain_rate_mm_h"] >= 100,
           lambda s: {"rain_rate_mm_h": s.c["rain_rate_mm_h"]}),
    Row("kit_assumed", _NO_DISH_OF_IT, "flag.kit_assumed.antenna",
        lambda s: {"dish_m": s.sites.fixed_antenna_m, "near_m": _NEAR_M(s)}),
    Row("kit_assumed", _NO_BUC_OF_IT, "flag.kit_assumed.buc",
        lambda s: {"buc_w": s.sites.fixed_buc_w, "near_w": _NEAR_W(s)}),
    _plain("near_vertical", lambda s: s.dish & (s.tilt_deg >= 70),
           lambda s: {"reflector_tilt_deg": s.tilt_deg}),
    _plain("azimuth_sensitive", lambda s: s.seen & (s.turn_deg_km >= 1),
           lambda s: {"azimuth_turn_deg_km": s.turn_deg_km}),
    _plain("compass_unreliable", _too_steep),
    _plain("magnetic_model_date", _late),
    Row("power_share", lambda s: s.given & (s.c["power_cut_db"] > 0), "flag.power_share.cut",
        lambda s: {"power_cut_db": s.c["power_cut_db"], "tx_power_w": s.c["tx_power_w"]}),
    _plain("availability_capped", lambda s: _reached(s, lambda x: x > 99.999 - 1e-9)),
    _plain("availability_low", lambda s: s.seen & _reached(s, np.isnan)),
    Row("small_p", lambda s: s.small_p, "once.small_p"),
)  # fmt: skip


def _sure(s: Facts) -> BoolArray:
    """Where a site without kit is where it is told to be."""
    return ~s.given & ~_doubted(s)


def _low(s: Facts, least_deg: float) -> BoolArray:
    """Where a site without kit is under the rule's 10 degrees, from so many up."""
    return _sure(s) & s.seen & (s.elevation >= least_deg) & (s.elevation < 10)


#: What would do where the link falls short: sentences of ``no_fit_reason`` alone, in their order.
MENDS: tuple[Row, ...] = (
    Row("no_fit", lambda s: _sure(s) & ~s.seen, "no_fit.mend.below_horizon"),
    Row("no_fit", lambda s: _low(s, 5) & (np.round(s.c["margin_db"], 6) >= 0), "no_fit.mend.low"),
    Row("no_fit", lambda s: _low(s, 5) & (np.round(s.c["margin_db"], 6) < 0),
        "no_fit.mend.low.short",
        lambda s: {"missed_db": _told(-s.c["margin_db"]), "dish_m": s.largest_m,
                   "buc_w": s.c["tried_buc_w"]}),
    Row("no_fit", lambda s: _low(s, -90) & (s.elevation < 5), "no_fit.mend.low.method"),
    Row("no_fit", lambda s: _sure(s) & _short(s) & ~np.isnan(s.c["required_antenna_m"]),
        "no_fit.mend.dish",
        lambda s: {"required_m": _larger(s.c["required_antenna_m"], s.largest_m)}),
    Row("no_fit", lambda s: _sure(s) & _at(s, "site") & np.isnan(s.c["required_antenna_m"]),
        "no_fit.mend.no_dish"),
    Row("no_fit", lambda s: _sure(s) & _at(s, "hub", "outbound") & np.isfinite(s.control_db),
        "no_fit.mend.control", lambda s: {"control_db": s.control_db}),
    Row("no_fit", lambda s: _sure(s) & _at(s, "hub", "outbound") & np.isinf(s.control_db),
        "no_fit.mend.no_control"),
    Row("no_fit", lambda s: _sure(s) & _at(s, "hub", "inbound"), "no_fit.mend.hub_inbound"),
)  # fmt: skip
