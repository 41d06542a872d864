"""What an operator asks before a network is switched on: carriers, levels, stations, tests."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

from siteplan.answers import _Answer
from siteplan.frozen import frozen

#: What a row shows that rests on keys nobody gave, and those keys.
Basis = tuple[frozenset[str], tuple[str, ...]]
GIVEN: Basis = (frozenset(), ())


class AssumedKey(NamedTuple):
    """A key that nobody gave: its name, the value used, its unit, and what people call it."""

    key: str
    value: str
    unit: str
    label: str


@frozen(eq=False)
class TerminalType(_Answer):
    """The terminals of one antenna and BUC that see the satellite; parts of a plan add up.

    Powers and EIRP are the greatest of its ``sites``: in clear sky, and with the power control of
    their own fade; EIRP is towards the satellite, pointing loss taken off. ``allowed_feed_w`` is
    the least that limits off axis leave (NaN: none is given), ``g_t_db_k`` the least G/T. Of the
    terminal whose carrier takes most of the satellite's power in clear sky are its
    power-equivalent bandwidth, its flux and the flux that saturates the transponder from there.
    ``satellite_eirp_dbw`` is the greatest saturated EIRP of the outbound transponder at its sites,
    ``least_satellite_eirp_dbw`` the least (NaN: the network file's holds for all).
    """

    antenna_m: float
    buc_w: float
    efficiency: float
    sites: int
    feed_w: float
    faded_feed_w: float
    allowed_feed_w: float
    eirp_dbw: float
    faded_eirp_dbw: float
    g_t_db_k: float
    power_equivalent_mhz: float
    flux_dbw_m2: float
    sfd_dbw_m2: float
    least_satellite_eirp_dbw: float = math.nan
    satellite_eirp_dbw: float = math.nan

    @property
    def kind(self) -> tuple[float, float, float]:
        """What tells one type from another: antenna, BUC and efficiency."""
        return self.antenna_m, self.buc_w, self.efficiency

    @property
    def strength(self) -> tuple[float, float, float]:
        """What orders terminals by what they take of the satellite."""
        return self.power_equivalent_mhz, self.flux_dbw_m2, self.sfd_dbw_m2

    def plus(self, other: TerminalType) -> TerminalType:
        """Return the type of both: other sites with the same kit."""
        strong = max(self, other, key=lambda of: of.strength)
        return replace(
            strong,
            sites=self.sites + other.sites,
            feed_w=max(self.feed_w, other.feed_w),
            faded_feed_w=max(self.faded_feed_w, other.faded_feed_w),
            allowed_feed_w=min(self.allowed_feed_w, other.allowed_feed_w),
            eirp_dbw=max(self.eirp_dbw, other.eirp_dbw),
            faded_eirp_dbw=max(self.faded_eirp_dbw, other.faded_eirp_dbw),
            g_t_db_k=min(self.g_t_db_k, other.g_t_db_k),
            least_satellite_eirp_dbw=min(
                self.least_satellite_eirp_dbw, other.least_satellite_eirp_dbw
            ),
            satellite_eirp_dbw=max(self.satellite_eirp_dbw, other.satellite_eirp_dbw),
        )


def merged(*types: TerminalType) -> tuple[TerminalType, ...]:
    """Return types with those of the same kit as one, by size."""
    found: dict[tuple[float, float, float], TerminalType] = {}
    for of in types:
        found[of.kind] = found[of.kind].plus(of) if of.kind in found else of
    return tuple(found[kind] for kind in sorted(found))


@frozen(eq=False)
class Centre(_Answer):
    """Where one carrier stands: its number, its offset, and both of its centre frequencies.

    The offset is from the network file's frequency, the middle of all carriers of the group.
    """

    number: int
    offset_mhz: float
    uplink_ghz: float
    downlink_ghz: float


@frozen(eq=False)
class CarrierGroup(_Answer):
    """The carriers of one direction in a beam, which are alike but for where they stand.

    ``beams`` are those that have the very same carriers, empty where there are no beams.
    ``modcod`` is what sites are sized for, with its waveform; ``modcods`` the most robust and the
    richest that an adaptive carrier uses. ``required_es_n0_db`` includes the modem's loss.

    ``uplink_ghz`` and ``downlink_ghz`` are the middle of all. Levels are those of one carrier.
    ``eirp_dbw`` is the transmitting station's in clear sky, ``greatest_eirp_dbw`` with all of its
    power control: the hub's, or the greatest of any terminal. Flux, back-offs and power-equivalent
    bandwidth inbound are those of the terminal that takes most; ``sfd_dbw_m2`` and
    ``satellite_g_t_db_k`` are the satellite's towards the sender. ``satellite_eirp_dbw`` is
    saturated, ``carrier_eirp_dbw`` this carrier's, each towards the receiver where it is strongest,
    and ``least_`` where it is weakest. Back-offs are positive. What is not known is NaN. ``basis``
    are the figures that rest on keys nobody gave, and those keys.
    """

    beams: tuple[str, ...]
    direction: str
    centres: tuple[Centre, ...]
    uplink_ghz: float
    downlink_ghz: float
    uplink_polarization: str
    downlink_polarization: str
    symbol_rate_msps: float
    roll_off: float
    modcod: str
    modcods: tuple[str, ...]
    required_es_n0_db: float
    information_rate_kbit_s: float
    emission: str
    occupied_mhz: float
    power_equivalent_mhz: float
    leased_mhz: float
    transponder_mhz: float
    input_backoff_db: float
    output_backoff_db: float
    eirp_dbw: float
    greatest_eirp_dbw: float
    flux_dbw_m2: float
    sfd_dbw_m2: float
    satellite_g_t_db_k: float
    carrier_input_backoff_db: float
    carrier_output_backoff_db: float
    least_satellite_eirp_dbw: float
    satellite_eirp_dbw: float
    least_carrier_eirp_dbw: float
    carrier_eirp_dbw: float
    basis: Basis = GIVEN


@frozen(eq=False)
class HubStation(_Answer):
    """A hub as an operator knows it: place, antenna, G/T in clear sky, power of one carrier.

    ``feed_w`` is in clear sky, ``greatest_feed_w`` with all of its power control. ``hpa_w`` is the
    amplifier's rated power, ``needed_hpa_w`` what all ``carriers`` need of it with line loss,
    back-off and power control. ``allowed_feed_w`` is what ``mask`` leaves a carrier. What is
    not known is NaN.
    """

    name: str
    beams: tuple[str, ...]
    lat: float
    lon: float
    antenna_m: float
    tx_gain_dbi: float
    g_t_db_k: float
    carriers: int
    eirp_dbw: float
    feed_w: float
    greatest_feed_w: float
    allowed_feed_w: float
    mask: str
    hpa_w: float
    needed_hpa_w: float
    hpa_backoff_db: float
    power_control_db: float
    redundancy: str
    basis: Basis = GIVEN


@frozen(eq=False)
class TerminalStation(_Answer):
    """A type of terminals in one beam, or in several that send at the same frequency."""

    beams: tuple[str, ...]
    type: TerminalType
    uplink_ghz: float
    tx_gain_dbi: float
    basis: Basis = GIVEN


@frozen(eq=False)
class Transmission(_Answer):
    """The transmission plan of a network.

    ``groups`` and ``terminals`` are told beam by beam, ``alike`` and ``types`` with those that
    agree told once. ``cross_polar_db`` is the isolation that an access test asks for,
    ``acceptance_db`` how far a signal may lie under the plan. ``notes`` are sentences; ``assumed``
    the figures that nobody gave and that any of this rests on.
    """

    groups: tuple[CarrierGroup, ...]
    alike: tuple[CarrierGroup, ...]
    hubs: tuple[HubStation, ...]
    terminals: tuple[TerminalStation, ...]
    types: tuple[TerminalStation, ...]
    leased_mhz: float
    cross_polar_db: float
    acceptance_db: float
    masks: tuple[str, ...]
    notes: tuple[str, ...]
    assumed: tuple[AssumedKey, ...]
    basis: Basis = GIVEN
