"""``[[contours]]``: what the satellite's EIRP and G/T are where, from contours or an ellipse."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, Literal, Self

from pydantic import Field, model_validator

from siteplan.network.beams.shapes import Ellipse
from siteplan.network.table import Table, key

Direction = Literal["down", "up"]
#: What a level may be, both ends included: satellite_eirp_dbw [dBW] and satellite_g_t_db_k [dB/K].
LEVELS: Final[dict[Direction, tuple[float, float]]] = {"down": (0.0, 80.0), "up": (-30.0, 40.0)}
#: The unit of each direction's level.
UNITS: Final[dict[Direction, str]] = {"down": "dBW", "up": "dB/K"}


class ContourLine(Table):
    """One line of a contour: its value, and its points (k,) [deg] in order, longitudes run on.

    It is no table of network.toml: lines are read from the file that ``file`` names.
    """

    value: float
    lat: tuple[float, ...]
    lon: tuple[float, ...]

    @model_validator(mode="after")
    def _in_pairs(self) -> Self:
        if len(self.lat) != len(self.lon) or len(self.lat) < 2:
            raise ValueError("a contour's line needs two points at least, each of lat and lon")
        return self


class _Levelled(Table):
    """The keys of ``[[contours]]`` before those of the ellipse."""

    direction: Direction = key(
        ...,
        "Level told: down (EIRP at the sites), or up (G/T, and SFD by the same dB the other way)",
    )
    beam: str = key("", "Beam that it is a part of (empty: the only one)", max_length=60)
    file: str | None = key(
        None,
        "Vector file of contours, lines or polygons, from the project's folder",
        min_length=1,
        max_length=400,
    )
    attribute: str | None = key(
        None, "Column of the file that holds each contour's value, dBW or dB/K", min_length=1,
        max_length=200,
    )  # fmt: skip
    peak: float | None = key(
        None,
        "Level inside the innermost contour (absent: that contour's), or at the ellipse's centre",
        "dBW or dB/K",
        ge=-30,
        le=80,
    )


class Contours(Ellipse, _Levelled):
    """``[[contours]]``: the level that one direction of a beam has on the ground."""

    lines: tuple[ContourLine, ...] | None = Field(
        None, description="The lines of file", json_schema_extra={"inner": True}
    )

    @property
    def lacks_lines(self) -> bool:
        """Whether its contours are to come from a file that nobody has read."""
        return not self.is_ellipse and self.lines is None

    @model_validator(mode="after")
    def _one_shape(self) -> Self:
        if self.lines is None or self.file is not None:
            self.check_one_shape(self.file)
        if self.file is not None and self.attribute is None:
            raise ValueError("file needs attribute: name the column that holds the values")
        if self.file is None and self.attribute is not None:
            raise ValueError("attribute goes with file: name the file, or take attribute out")
        if self.is_ellipse and self.peak is None:
            raise ValueError("an ellipse needs peak: give the level at its centre")
        low, high = LEVELS[self.direction]
        if self.peak is not None and not low <= self.peak <= high:
            raise ValueError(
                f"peak = {self.peak:g} is no level of direction = {self.direction!r}: it may be"
                f" {low:g} to {high:g} {UNITS[self.direction]}"
            )
        return self


def beam_names(contours: Iterable[Contours]) -> tuple[str, ...]:
    """Return the beams that contours are told of, in order, each once; '' for the only one."""
    return tuple(dict.fromkeys(of.beam for of in contours))


def check_beams(contours: Iterable[Contours]) -> None:
    """Raise where contours are of more than one beam.

    Raises
    ------
    ValueError
        With the names, and what to do.
    """
    names = beam_names(contours)
    if len(names) > 1:
        raise ValueError(
            f"[[contours]] are of the beams {', '.join(map(repr, names))}, and there is one beam"
            " only: give all of them the same name"
        )
