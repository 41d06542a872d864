"""The limits that hold on what the network's stations radiate off axis."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import field
from typing import TYPE_CHECKING, NamedTuple

from siteplan.arrays import FloatArray, IntArray
from siteplan.frozen import frozen
from siteplan.network import Network, OwnMask
from siteplan.planning.link.spectrum.lobes import Sides, all_sides

if TYPE_CHECKING:
    from siteplan.physics.radio.masks import Mask


class Allowed(NamedTuple):
    """The largest power at the feed [dBW], and the mask, by number, and angle [deg] that set it."""

    feed_dbw: FloatArray
    mask: IntArray
    angle_deg: FloatArray


@frozen
class Limits:
    """The masks that must hold together, and how.

    ``simultaneous`` terminals send at once on one frequency; ``cuts`` says whether a power that is
    too high is cut. ``sides`` are the patterns of the network's dishes, by number. ``lobes_db`` is
    how far side lobes lie over their patterns: nothing, but where that is asked. ``known`` keeps
    what the masks allow few dishes: a plan asks of the same ones many times over.
    """

    masks: tuple[Mask, ...]
    simultaneous: int
    cuts: bool
    sides: tuple[Sides, ...]
    lobes_db: float | FloatArray = 0.0
    known: dict[Hashable, Allowed] = field(default_factory=dict, repr=False, compare=False)


def limits(network: Network) -> Limits | None:
    """Return the limits that the network file names; None where it names none."""
    if not network.limits:
        return None
    wanted = network.regulation
    masks = tuple(mask_of(one, network.inbound.uplink_ghz) for one in network.limits)
    cuts = wanted.action == "cut_power"
    return Limits(masks, wanted.simultaneous_terminals, cuts, all_sides(network))


def mask_of(one: OwnMask | str, uplink_ghz: float) -> Mask:
    """Return a mask: a published one by its name and the uplink [GHz], or the operator's own."""
    from siteplan.physics.radio.masks import Mask, Segment, named_mask

    if isinstance(one, str):
        return named_mask(one, uplink_ghz)
    segments = tuple(Segment(*segment) for segment in one.segments)
    return Mask(
        name=one.name,
        edition="",
        date=str(one.date or ""),
        source=one.source,
        bands_ghz=(),
        reference_khz=one.reference_khz,
        angle_from=one.angle_from,
        segments=segments,
    )
