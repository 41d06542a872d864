"""What a licence asks of the plan as a whole: masks in force, the hub's carrier, terminals by kind.

The hub's carrier is judged by the same masks, at the power that the plan needs of it in clear sky
and the range of its power control, since the masks do not speak of clear sky alone. It stands
alone on its frequency: N counts terminals.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, replace
from typing import Any, Final, NamedTuple

import numpy as np

from siteplan.answers.licence import (
    DensityLine,
    HubPlace,
    Licence,
    MaskCurves,
    MaskDrawing,
    MaskInForce,
    Station,
)
from siteplan.arrays import FloatArray
from siteplan.messages import english
from siteplan.network import Carrier, Network
from siteplan.physics.angles.geometry import look_angles
from siteplan.physics.propagation.climate import topographic_altitude_m
from siteplan.physics.radio.antennas import gain_dbi, wavelength_m
from siteplan.physics.radio.emission import designator
from siteplan.physics.radio.masks import Mask, horizon_reference_khz
from siteplan.physics.radio.off_axis import Radiator, Tightest, density_dbw, tightest
from siteplan.planning.beams.passes import passes
from siteplan.planning.link import mispointing
from siteplan.planning.link.coding import used
from siteplan.planning.link.ends import Dish, HubEnd, hub_eirp_dbw
from siteplan.planning.link.spectrum.limits import Limits, limits, mask_of
from siteplan.planning.link.spectrum.lobes import Sides, all_sides, numbers
from siteplan.planning.report.radiating import Kind, Radiated, Radiating

#: The kinds of stations.
TERMINAL, HUB = "terminal", "hub"
#: Antennas drawn at most, those with the least margin first: installed ones may be of any size.
MOST_DRAWN: Final = 40
#: Curves begin at this angle [deg], or at half of a mask's first one.
_FROM_DEG: Final = 0.5
#: Angles of a curve, evenly spaced in their logarithm, beside those where lines break.
_ANGLES: Final = 300


class _Antenna(NamedTuple):
    """A station's antenna and its carriers: ``up`` is sent, ``down`` received."""

    kind: str
    diameter_m: float
    efficiency: float
    sides: Sides
    up: Carrier
    down: Carrier

    @property
    def radiator(self) -> Radiator:
        """The antenna as it transmits."""
        ghz = self.up.uplink_ghz
        wavelengths = np.asarray(self.diameter_m / wavelength_m(ghz))
        return Radiator(self.sides.tx, self.gain_dbi(ghz), wavelengths)

    def gain_dbi(self, ghz: float) -> FloatArray:
        """Return the gain on axis at a frequency [dBi]."""
        return np.asarray(gain_dbi(self.diameter_m, self.efficiency, ghz))

    @property
    def rate_sps(self) -> float:
        """Symbol rate of what is sent."""
        return self.up.symbol_rate_msps * 1e6


class _Room(NamedTuple):
    """What masks leave: allowed power at the feed [W], margin [dB], tightest mask, its angle."""

    allowed_feed_w: float
    margin_db: float
    mask: str
    angle_deg: float


_NOT_JUDGED = _Room(np.nan, np.nan, "", np.nan)


# --- the answer -----------------------------------------------------------------------------


def licence_of(of: Limits | None, network: Network, hub: HubEnd) -> Licence | None:
    """Return what a licence asks but for the terminals; None where no limit is given.

    Parameters
    ----------
    of : Limits or None
        The limits that hold.
    network : Network
    hub : HubEnd
        A hub that is not placed stands 38 500 km off, without gas.
    """
    if of is None:
        return None
    judged = _hub_masks(network)
    antenna = _hub_antenna(network)
    feed = hub_eirp_dbw(network, hub) - float(antenna.radiator.gain_dbi)
    feed += float(hub.control_db)
    room = _room(antenna, [mask for mask in judged if mask], feed)
    rate = network.inbound.symbol_rate_msps * 1e6
    places = zip(of.masks, judged, strict=True)
    return Licence(
        masks=tuple(_in_force(mask, hub_judged=own is not None) for mask, own in places),
        simultaneous=of.simultaneous,
        action=network.regulation.action,
        hub=_hub_station(network, antenna, feed, room, hub.elevation_deg),
        hub_place=_hub_place(network),
        hub_drawing=_hub_drawing(antenna, [mask for mask in judged if mask], feed, room),
        to_40khz_db=float(density_dbw(0, rate, 40) - density_dbw(0, rate, 4)),
    )


def with_types(found: Licence | None, counted: Radiating, network: Network) -> Licence | None:
    """Return what a licence asks with the kinds of terminals that were counted, and their curves.

    Parameters
    ----------
    found : Licence or None
        None where no limit is given.
    counted : Radiating
        All terminals of the plan, counted as a whole or part by part.
    network : Network
    """
    if found is None:
        return None
    each = zip((found, *found.others), passes(network), strict=True)
    first, *others = (
        _with_types_of(k, one, counted, of.network) for k, (one, of) in enumerate(each)
    )
    return replace(first, others=tuple(others))


def _with_types_of(number: int, found: Licence, counted: Radiating, network: Network) -> Licence:
    """Return what a licence of the carriers ``number`` asks, with the terminals that send them."""
    of = limits(network)
    assert of is not None
    own = Radiating({k: v for k, v in counted.kinds.items() if k.carriers == number})
    types = tuple(_type(kind, radiated, network) for kind, radiated in sorted(own.kinds.items()))
    return replace(found, types=types, drawings=_drawings(own, of, network), others=())


def together(found: Sequence[Licence | None]) -> Licence | None:
    """Return the licences of the passes of a plan's beams as the first, with the others in it."""
    first, *others = found
    if first is None:
        return None
    return replace(first, others=tuple(one for one in others if one is not None))


def cautions(found: Licence | None, network: Network) -> Iterator[str]:
    """Yield what must be known of the hub's carrier and of designations, in sentences."""
    if found is None:
        return
    words, hub = english(), found.hub
    if hub.exceeds:
        yield words.one(
            "caution.hub_off_axis",
            over_db=-hub.off_axis_margin_db,
            mask=hub.off_axis_mask,
            angle_deg=hub.off_axis_angle_deg,
            feed_w=hub.feed_w,
            allowed_w=hub.allowed_feed_w,
        )
    if unjudged := [mask.name for mask in found.masks if not mask.hub_judged]:
        uplink = network.outbound.uplink_ghz
        yield words.one("caution.hub_not_judged", masks=", ".join(unjudged), uplink_ghz=uplink)
    wrong = [way for way, carrier in _ways(network) if _wants_d(carrier, network)]
    given = "emission_class" in network.regulation.model_fields_set
    if wrong:
        yield words.one(
            "caution.emission_class",
            ways=" and ".join(wrong),
            said="the network file says" if given else "the plan assumes",
            emission_class=network.regulation.emission_class,
        )


def figures(found: Licence) -> dict[str, Any]:
    """Return what a licence asks as plain data, for the summary."""
    return {
        "masks": [asdict(mask) for mask in found.masks],
        "simultaneous_terminals": found.simultaneous,
        "action": found.action,
        "hub": {k: v for k, v in asdict(found.hub).items() if v == v},  # noqa: PLR0124
        "types": len(found.types),
        "least_off_axis_margin_db": min(
            (one.off_axis_margin_db for one in found.types), default=None
        ),
        "drawings_left_out": _left_out(found),
        **({"other_carriers": list(map(figures, found.others))} if found.others else {}),
    }


def _left_out(found: Licence) -> int:
    """Return how many antennas are not drawn: there are too many."""
    antennas = {(t.antenna_m, t.efficiency, t.tx_pattern) for t in found.types}
    return len(antennas) - len(found.drawings)


def _ways(network: Network) -> tuple[tuple[str, Carrier], ...]:
    return (("outbound", network.outbound), ("inbound", network.inbound))


def _wants_d(carrier: Carrier, network: Network) -> bool:
    """Whether a carrier is APSK or QAM, whose class of emission begins with D."""
    if carrier.es_n0_db is not None or carrier.eb_n0_db is not None:
        return False
    names = [(carrier.modcod or "").upper(), *(m.name for m in used("", carrier))]
    amplitude = any(kind in name for name in names for kind in ("APSK", "QAM"))
    return amplitude and not network.regulation.emission_class.startswith("D")


def _in_force(mask: Mask, *, hub_judged: bool) -> MaskInForce:
    return MaskInForce(
        *(mask.name, mask.edition, mask.date, mask.source, mask.reference_khz),
        *(mask.angle_from, mask.tag, hub_judged),
    )


# --- stations -------------------------------------------------------------------------------


def _station(
    antenna: _Antenna, feed_dbw: float, room: _Room, elevations_deg: tuple[float, float],
    *, emission_class: str, sites: int = 1, buc: tuple[float, float] = (np.nan, np.nan),
) -> Station:  # fmt: skip
    """Return what stations radiate; ``buc`` is rated power and output [W], where there is one."""
    up, down, radiator = antenna.up, antenna.down, antenna.radiator
    gain = float(radiator.gain_dbi)
    narrow, wide = (float(density_dbw(feed_dbw, antenna.rate_sps, khz)) for khz in (4, 40))
    khz = float(horizon_reference_khz(up.uplink_ghz))
    towards = float(radiator.at_dbi(np.asarray(elevations_deg[0])))
    return Station(
        kind=antenna.kind,
        antenna_m=antenna.diameter_m,
        buc_w=buc[0],
        sites=sites,
        efficiency=antenna.efficiency,
        tx_gain_dbi=gain,
        rx_gain_dbi=float(antenna.gain_dbi(down.downlink_ghz)),
        tx_pattern=_named(antenna.sides.tx),
        rx_pattern=_named(antenna.sides.rx),
        tx_power_w=buc[1],
        feed_w=10 ** (feed_dbw / 10),
        allowed_feed_w=room.allowed_feed_w,
        eirp_dbw=feed_dbw + gain,
        feed_density_dbw_4khz=narrow,
        feed_density_dbw_40khz=wide,
        eirp_density_dbw_4khz=narrow + gain,
        eirp_density_dbw_40khz=wide + gain,
        horizon_density_dbw=float(density_dbw(feed_dbw, antenna.rate_sps, khz)) + towards,
        horizon_density_khz=khz,
        emission=designator(up.occupied_mhz * 1e6, emission_class),
        symbol_rate_msps=up.symbol_rate_msps,
        uplink_ghz=up.uplink_ghz,
        uplink_polarization=up.uplink_polarization,
        downlink_ghz=down.downlink_ghz,
        downlink_polarization=down.downlink_polarization,
        least_elevation_deg=elevations_deg[0],
        greatest_elevation_deg=elevations_deg[1],
        off_axis_margin_db=room.margin_db,
        off_axis_mask=room.mask,
        off_axis_angle_deg=room.angle_deg,
    )


def _named(pattern: object) -> str:
    """Return the name of a pattern; ``file`` for a measured one."""
    return pattern if isinstance(pattern, str) else "file"


def _terminal(kind: Kind, network: Network) -> _Antenna:
    sides = all_sides(network)[kind.pattern]
    ways = network.inbound, network.outbound
    return _Antenna(TERMINAL, kind.antenna_m, kind.efficiency, sides, *ways)


def _feed_dbw(of: Radiated, network: Network) -> float:
    """Return the greatest power at the feeds of terminals of one kind [dBW]."""
    return float(10 * np.log10(of.tx_power_w)) - network.terminal.tx_loss_db


def _type(kind: Kind, of: Radiated, network: Network) -> Station:
    """Return the row of one kind of terminals."""
    return _station(
        _terminal(kind, network),
        _feed_dbw(of, network),
        _Room(of.allowed_feed_w, of.margin_db, of.mask, of.angle_deg),
        (of.least_elevation_deg, of.greatest_elevation_deg),
        emission_class=network.regulation.emission_class,
        sites=of.sites,
        buc=(kind.buc_w, of.tx_power_w),
    )


# --- the hub --------------------------------------------------------------------------------


def _hub_antenna(network: Network) -> _Antenna:
    hub, sides = network.hub, all_sides(network)[numbers(network)[1]]
    ways = network.outbound, network.inbound
    return _Antenna(HUB, hub.antenna_m, hub.efficiency, sides, *ways)


def _hub_masks(network: Network) -> list[Mask | None]:
    """Return the masks at the hub's uplink; None for one whose band does not hold it."""
    found: list[Mask | None] = []
    for one in network.limits:
        try:
            found.append(mask_of(one, network.outbound.uplink_ghz))
        except ValueError:
            found.append(None)
    return found


def _room(antenna: _Antenna, masks: list[Mask], feed_dbw: float) -> _Room:
    """Return what masks leave a station that points right and stands alone on its frequency."""
    found = [(tightest(m, antenna.radiator, feed_dbw, antenna.rate_sps), m) for m in masks]
    if not found:
        return _NOT_JUDGED

    def margin(one: tuple[Tightest, Mask]) -> float:
        return float(one[0].margin_db)

    least, mask = min(found, key=margin)
    allowed = feed_dbw + float(least.margin_db)
    return _Room(10 ** (allowed / 10), float(least.margin_db), mask.name, float(least.angle_deg))


def _hub_station(
    network: Network, antenna: _Antenna, feed_dbw: float, room: _Room, elevation_deg: float
) -> Station:
    """Return what the hub radiates."""
    return _station(
        antenna, feed_dbw, room, (elevation_deg, elevation_deg),
        emission_class=network.regulation.emission_class,
    )  # fmt: skip


def _hub_place(network: Network) -> HubPlace | None:
    """Return where the hub stands and looks; None where the network file does not place it."""
    hub, satellite = network.hub, network.satellite
    if hub.lat is None or hub.lon is None:
        return None
    lat, lon = np.array([hub.lat], dtype=float), np.array([hub.lon], dtype=float)
    altitude = topographic_altitude_m(lat, lon)
    angles = look_angles(lat, lon, altitude, satellite.longitude_deg, tilt_deg=satellite.tilt_deg)
    away = float(angles.azimuth_true_deg[0]), float(angles.elevation_deg[0])
    return HubPlace(float(lat[0]), float((lon[0] + 180) % 360 - 180), float(altitude[0]), *away)


def _hub_drawing(
    antenna: _Antenna, masks: list[Mask], feed_dbw: float, room: _Room
) -> MaskDrawing | None:
    """Return the hub's curves; None where no mask judges it."""
    if not masks:
        return None
    powers = float(10 * np.log10(room.allowed_feed_w)), feed_dbw
    return _drawing(antenna, masks, powers, room, error_deg=0.0, simultaneous=1)


# --- curves ---------------------------------------------------------------------------------


def _drawings(counted: Radiating, of: Limits, network: Network) -> tuple[MaskDrawing, ...]:
    """Return the curves of each antenna in use, at the greatest power that any of them has."""
    antennas: dict[tuple[float, float, int], tuple[Kind, Radiated]] = {}
    for kind, radiated in sorted(counted.kinds.items()):
        key = kind.antenna_m, kind.efficiency, kind.pattern
        if key not in antennas or radiated.margin_db < antennas[key][1].margin_db:
            antennas[key] = kind, radiated
    tightest_first = sorted(antennas.values(), key=lambda pair: pair[1].margin_db)[:MOST_DRAWN]
    return tuple(_terminal_drawing(*pair, of, network) for pair in sorted(tightest_first, key=_by))


def _by(pair: tuple[Kind, Radiated]) -> Kind:
    return pair[0]


def _terminal_drawing(kind: Kind, found: Radiated, of: Limits, network: Network) -> MaskDrawing:
    """Return the curves of one antenna of the sites."""
    antenna = _terminal(kind, network)
    dish = Dish(kind.antenna_m, kind.efficiency)
    error = float(mispointing.error_deg(network, dish, network.inbound.uplink_ghz))
    powers = float(10 * np.log10(found.allowed_feed_w)), _feed_dbw(found, network)
    room = _Room(found.allowed_feed_w, found.margin_db, found.mask, found.angle_deg)
    return _drawing(
        antenna, list(of.masks), powers, room, error_deg=error, simultaneous=of.simultaneous
    )


def _drawing(
    antenna: _Antenna,
    masks: list[Mask],
    powers_dbw: tuple[float, float],
    room: _Room,
    *,
    error_deg: float,
    simultaneous: int,
) -> MaskDrawing:
    """Return the curves of an antenna under masks; ``powers_dbw`` are the allowed and the used."""
    panels = []
    for mask in masks:
        away = error_deg if mask.angle_from == "satellite" else 0.0
        touches = room.angle_deg if mask.name == room.mask else np.nan
        panels.append(_panel(antenna, mask, powers_dbw, (away, touches), simultaneous))
    return MaskDrawing(
        antenna.kind,
        antenna.diameter_m,
        _named(antenna.sides.tx),
        allowed_feed_w=10 ** (powers_dbw[0] / 10),
        used_feed_w=10 ** (powers_dbw[1] / 10),
        panels=tuple(panels),
    )


def _panel(
    antenna: _Antenna,
    mask: Mask,
    powers_dbw: tuple[float, float],
    angles_deg: tuple[float, float],
    simultaneous: int,
) -> MaskCurves:
    """Return one mask and what an antenna radiates; ``angles_deg``: displacement, and where met."""
    away, touches = angles_deg
    shared = 10 * np.log10(simultaneous)
    angle = _angles(mask, touches)
    gain = antenna.radiator.at_dbi(angle - away)
    lines = [
        _line(angle, gain + float(density_dbw(power, antenna.rate_sps, mask.reference_khz)))
        for power in powers_dbw
    ]
    ends = [np.array([part.from_deg, part.to_deg]) for part in mask.segments]
    limit = tuple(
        _line(at, part.limit_db(at) - shared)
        for part, at in zip(mask.segments, ends, strict=True)
    )  # fmt: skip
    known = _in_force(mask, hub_judged=True)
    reference = mask.reference_khz, mask.angle_from
    return MaskCurves(
        mask.name, known.told, *reference, limit, lines[0], lines[1], touches_deg=touches
    )


def _angles(mask: Mask, touches_deg: float) -> FloatArray:
    """Return the angles of a curve (k,) [deg]: dense, with the mask's own and where it is met."""
    own = [angle for part in mask.segments for angle in (part.from_deg, part.to_deg)]
    first = min(_FROM_DEG, min(own) / 2)
    dense = np.logspace(np.log10(first), np.log10(180.0), _ANGLES)
    dense[-1] = 180.0
    met = [] if np.isnan(touches_deg) else [touches_deg]
    return np.unique(np.concatenate([dense, own, met]))


def _line(angle_deg: FloatArray, density_dbw_: FloatArray) -> DensityLine:
    return tuple(zip(angle_deg.tolist(), density_dbw_.tolist(), strict=True))
