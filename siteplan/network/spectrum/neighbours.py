"""``[[neighbours]]``: the satellites beside ours along the arc, and how strong they are."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Self

from pydantic import model_validator

from siteplan.network.table import Table, key

#: Positions closer than this are one [deg]: a satellite is kept within a box about as wide
#: (ITU Radio Regulations, article 22: within 0.1 deg of its position, from memory).
SAME_POSITION_DEG = 0.05


class Neighbour(Table):
    """``[[neighbours]]``: one satellite beside ours."""

    longitude_deg: float = key(
        ..., "Orbital position of the neighbour, east positive", "deg", ge=-180, le=360
    )
    name: str = key("", "Name of the neighbour, for headings", max_length=200)
    downlink_level_db: float = key(
        0.0,
        "Its EIRP density at the sites over our transponder's mean, by [outbound]"
        " satellite_eirp_dbw",
        "dB",
        ge=-40,
        le=20,
    )
    downlink_dbw_mhz: float | None = key(
        None, "Its EIRP density at the sites, instead of downlink_level_db", "dBW/MHz",
        ge=-30, le=60,
    )  # fmt: skip
    hub_level_db: float | None = key(
        None,
        "Its EIRP density at the hub over the inbound transponder's mean (absent: as at the sites)",
        "dB",
        ge=-40,
        le=20,
    )
    uplink_dbw_40khz: float | None = key(
        None,
        "EIRP density that its earth stations together send towards our satellite"
        " (absent: not counted)",
        "dBW/40 kHz",
        ge=-80,
        le=60,
    )

    @model_validator(mode="after")
    def _one_level(self) -> Self:
        if self.downlink_dbw_mhz is not None and "downlink_level_db" in self.model_fields_set:
            raise ValueError("give downlink_level_db or downlink_dbw_mhz, not both")
        return self


def apart_deg(one: float, other: float) -> float:
    """Return how far two orbital positions lie apart on the arc, 0 to 180 [deg].

    >>> apart_deg(-1.0, 358.5)
    0.5
    """
    return abs((one - other + 180) % 360 - 180)


def is_same(one: float, other: float) -> bool:
    """Whether two orbital positions [deg] are one, whatever way they are written."""
    return round(apart_deg(one, other), 9) <= SAME_POSITION_DEG


def joined_positions(first: Iterable[float], more: Iterable[float]) -> tuple[float, ...]:
    """Return orbital positions [deg] and more of them, those left out that are there already.

    >>> joined_positions([10.0, 16.0], [16.02, -344.0, 19.0])
    (10.0, 16.0, 19.0)
    """
    found = list(first)
    for position in more:
        if not any(is_same(position, other) for other in found):
            found.append(position)
    return tuple(found)


def check_positions(own_deg: float, neighbours: tuple[Neighbour, ...]) -> None:
    """Raise where two neighbours, or one and our own satellite, stand at one position.

    Raises
    ------
    ValueError
        With the entry and what to do.
    """
    for number, neighbour in enumerate(neighbours, 1):
        at, place = neighbour.longitude_deg, f"[[neighbours]] no. {number} longitude_deg"
        if is_same(at, own_deg):
            raise ValueError(
                f"{place} = {at:g} is where your own satellite is ([satellite] longitude_deg ="
                f" {own_deg:g}): take the entry out, or correct one of the two. What shares your"
                " position belongs into ci_db of [outbound] and [inbound]"
            )
        for earlier, other in enumerate(neighbours[: number - 1], 1):
            if is_same(at, other.longitude_deg):
                raise ValueError(
                    f"{place} = {at:g} is the position of no. {earlier} too"
                    f" ({other.longitude_deg:g}): keep one of them, with the levels of both"
                )
