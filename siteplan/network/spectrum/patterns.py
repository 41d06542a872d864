"""The side lobes of a dish: the keys that antennas and the hub share, and the gains of a file."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Any, Literal, Self

from pydantic import Field, model_validator

from siteplan.network.table import Table, key

Pattern = Literal["s580", "s465", "appendix_8", "s580_any_size", "file"]
#: The pattern of a side whose gains a file leaves blank.
ELSE_PATTERN: Pattern = "s580"


class PatternGains(Table):
    """The rows of a pattern's file: angles (k,) [deg], and gains (k,) [dBi] or None a side.

    Angles rise from 0 or more to 180 at most; at least two rows, at least one side. It is no table
    of network.toml: the rows are read from the file that ``pattern_file`` names.
    """

    angle_deg: tuple[float, ...]
    rx_gain_dbi: tuple[float, ...] | None = None
    tx_gain_dbi: tuple[float, ...] | None = None

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        angles = self.angle_deg
        if len(angles) < 2:
            raise ValueError("a pattern needs two rows at least")
        if angles[0] < 0 or angles[-1] > 180:
            raise ValueError("angle_deg of a pattern must lie from 0 to 180")
        if any(b <= a for a, b in itertools.pairwise(angles)):
            raise ValueError("angle_deg of a pattern must rise from row to row")
        sides = [g for g in (self.rx_gain_dbi, self.tx_gain_dbi) if g is not None]
        if not sides or any(len(side) != len(angles) for side in sides):
            raise ValueError("a pattern needs a gain of one side at least at every angle")
        return self


def pattern_key() -> Any:
    """Return the key of a dish's pattern."""
    return key("s580", "Side lobes of the dish; s580 under D/lambda 50 is appendix_8")


def pattern_file_key() -> Any:
    """Return the key of the file that gives a dish's pattern."""
    return key(
        None,
        "CSV of angle_deg, rx_gain_dbi, tx_gain_dbi, from the project's folder, with pattern"
        ' "file"; a column that is blank keeps s580',
        min_length=1,
        max_length=400,
    )


def gains_key() -> Any:
    """Return the field that holds the rows of a pattern's file: no key of network.toml."""
    return Field(None, description="The rows of pattern_file", json_schema_extra={"inner": True})


def xpi_key(default: float, whose: str) -> Any:
    """Return the key of a cross-polar isolation, such as the dish's on axis."""
    return key(default, f"Isolation of the other polarization: {whose}", "dB", ge=10, le=60)


class Patterned(Table):
    """What antennas and the hub share, so that one check and one reader do for both.

    They declare the keys themselves: an antenna's first one has to be its diameter.
    """

    if TYPE_CHECKING:
        pattern: Pattern
        pattern_file: str | None
        pattern_gains: PatternGains | None

    @property
    def rx_pattern(self) -> Pattern:
        """Pattern of the receiving side: ``pattern``, or s580 where its file leaves that blank."""
        return self._pattern_of("rx_gain_dbi")

    @property
    def tx_pattern(self) -> Pattern:
        """Pattern of the sending side: ``pattern``, or s580 where its file leaves that blank."""
        return self._pattern_of("tx_gain_dbi")

    @property
    def lacks_gains(self) -> bool:
        """Whether the pattern is to come from a file whose rows are not there."""
        return self.pattern == "file" and self.pattern_gains is None

    def _pattern_of(self, side: str) -> Pattern:
        blank = self.pattern_gains is not None and getattr(self.pattern_gains, side) is None
        return ELSE_PATTERN if self.pattern == "file" and blank else self.pattern

    @model_validator(mode="after")
    def _file_goes_with_pattern(self) -> Self:
        from_file, file, gains = self.pattern == "file", self.pattern_file, self.pattern_gains
        if from_file and file is None and gains is None:
            raise ValueError('pattern = "file" needs pattern_file: name the file of its gains')
        if not from_file and (file is not None or gains is not None):
            raise ValueError(
                'pattern_file goes with pattern = "file": write that, or take pattern_file out'
            )
        return self
