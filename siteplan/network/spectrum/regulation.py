"""``[regulation]`` and ``[[masks]]``: the limits on what is radiated off axis."""

from __future__ import annotations

import datetime as dt
import itertools
from typing import Final, Literal, Self

from pydantic import field_validator, model_validator

from siteplan.network.table import Table, key

#: From and to [deg], a [dBW] and b of the limit a - b log10(angle).
Segment = tuple[float, float, float, float]
#: The bands in which each named mask holds, both ends included [GHz]: 47 CFR 25.218 and its
#: 25.138 of before 2018, ITU-R S.524-9, S.728-1, ETSI EN 301 428 and EN 301 459 (the last four
#: in part from memory).
MASK_BANDS_GHZ: Final[dict[str, tuple[tuple[float, float], ...]]] = {
    "47cfr25_ku": ((14.0, 14.5),),
    "47cfr25_ka": ((28.35, 28.6), (29.25, 30.0)),
    "s524_9": ((5.725, 7.075), (12.75, 13.25), (13.75, 14.5), (27.5, 30.0)),
    "s728_1": ((14.0, 14.5),),
    "en301428": ((14.0, 14.5),),
    "en301459": ((29.5, 30.0),),
}
#: What a and b of a segment may be, both ends included.
_A_RANGE, _B_RANGE = (-200.0, 200.0), (0.0, 100.0)


class Regulation(Table):
    """``[regulation]``: which limits hold, and whether the pick obeys them."""

    masks: tuple[str, ...] = key(
        (),
        f"Masks that must hold together: names of [[masks]], or {', '.join(MASK_BANDS_GHZ)}",
        min_length=0,
        max_length=12,
    )
    action: Literal["cut_power", "report"] = key(
        "cut_power", "Whether a power that is too high is cut, or only reported"
    )
    simultaneous_terminals: int = key(
        1,
        "Terminals N that send at once on one frequency; 10 log N is taken off every mask",
        ge=1,
        le=10000,
    )
    emission_class: str = key(
        "G7W",
        "Class of emission, behind the necessary bandwidth",
        min_length=3,
        max_length=3,
        pattern="^[A-Za-z0-9]{3}$",
    )

    @field_validator("emission_class")
    @classmethod
    def _in_capitals(cls, text: str) -> str:
        return text.upper()

    @model_validator(mode="after")
    def _once_each(self) -> Self:
        for name in self.masks:
            if self.masks.count(name) > 1:
                raise ValueError(f"masks names {name!r} twice: keep one")
        return self


class OwnMask(Table):
    """``[[masks]]``: a limit of the operator's own."""

    name: str = key(..., "Name of the mask, as [regulation] masks has it", min_length=1,
        max_length=60)  # fmt: skip
    date: dt.date | None = key(None, "Date of the mask")
    source: str = key("", "Where the mask stands", max_length=200)
    reference_khz: float = key(
        ..., "Bandwidth in which the mask counts, such as 4, 40 or 1000", "kHz", ge=1, le=1000
    )
    angle_from: Literal["axis", "satellite"] = key(
        "axis", "What angles are counted from: the dish's axis, or the line to the satellite"
    )
    segments: tuple[Segment, ...] = key(
        ...,
        "[from_deg, to_deg, a, b] of each part, such as [[1.5, 7, 15, 25], [7, 9.2, -6, 0]]: the"
        " mask is a - b log10(angle) dBW; angles rise, and nothing is limited in a gap",
        min_length=1,
        max_length=20,
    )

    @model_validator(mode="after")
    def _segments_rise(self) -> Self:
        for number, (start, end, a, b) in enumerate(self.segments, 1):
            if not 0 < start < end <= 180:
                raise ValueError(
                    f"segments no. {number} goes from {start:g} to {end:g} deg: it must begin above"
                    " 0, and end beyond that, at 180 at most"
                )
            if not (_A_RANGE[0] <= a <= _A_RANGE[1] and _B_RANGE[0] <= b <= _B_RANGE[1]):
                raise ValueError(
                    f"segments no. {number} has a = {a:g} and b = {b:g}: a may be {_A_RANGE[0]:g}"
                    f" to {_A_RANGE[1]:g} dBW, b {_B_RANGE[0]:g} to {_B_RANGE[1]:g}"
                )
        for number, (one, other) in enumerate(itertools.pairwise(self.segments), 2):
            if other[0] < one[1]:
                raise ValueError(
                    f"segments no. {number} begins at {other[0]:g} deg, before the one ahead of it"
                    f" ends ({one[1]:g}): angles must rise and parts must not overlap"
                )
        return self


def check_masks(regulation: Regulation, own: tuple[OwnMask, ...], uplink_ghz: float) -> None:
    """Raise where masks and their names do not fit one another, or the uplink.

    Parameters
    ----------
    regulation : Regulation
    own : tuple of OwnMask
        ``[[masks]]``.
    uplink_ghz : float
        Uplink frequency of the inbound carrier. [GHz]

    Raises
    ------
    ValueError
        Own masks of one name, of a named mask's name, or none of which ``[regulation]`` speaks; an
        unknown name there; a named mask that does not hold at the uplink.
    """
    names = [mask.name for mask in own]
    for number, name in enumerate(names, 1):
        place = f"[[masks]] no. {number} name = {name!r}"
        if name in names[: number - 1]:
            raise ValueError(f"{place} is given twice: keep one of them")
        if name in MASK_BANDS_GHZ:
            raise ValueError(f"{place} is the name of a published mask: give it another")
        if name not in regulation.masks:
            raise ValueError(
                f"{place} is not listed in [regulation] masks: add the name there, or take the"
                " [[masks]] out"
            )
    for name in regulation.masks:
        if name in MASK_BANDS_GHZ:
            _check_band(name, uplink_ghz)
        elif name not in names:
            raise ValueError(_unknown(name, [*names, *MASK_BANDS_GHZ]))


def _check_band(name: str, uplink_ghz: float) -> None:
    bands = MASK_BANDS_GHZ[name]
    if not any(low <= uplink_ghz <= high for low, high in bands):
        told = " and ".join(f"{low:g}-{high:g}" for low, high in bands)
        raise ValueError(
            f"[regulation] masks: {name} holds at {told} GHz, and [inbound] uplink_ghz ="
            f" {uplink_ghz:g} lies outside: take the mask out, or correct the frequency"
        )


def _unknown(name: str, known: list[str]) -> str:
    import difflib

    near = difflib.get_close_matches(name.lower(), known, 1, 0.5)
    hint = f"did you mean {near[0]!r}? " if near else ""
    return (
        f"[regulation] masks: {name!r} is neither a published mask nor the name of one of"
        f" [[masks]]: {hint}published are {', '.join(MASK_BANDS_GHZ)}"
    )
