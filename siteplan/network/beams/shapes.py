"""What outlines a part of the earth: a file of shapes, or an ellipse as the satellite sees it."""

from __future__ import annotations

from siteplan.network.table import Table, key

#: What an ellipse cannot do without.
_NEEDED = ("lat", "lon", "major_deg", "minor_deg")
#: What tells an ellipse.
ELLIPSE_KEYS = (*_NEEDED, "tilt_deg", "edge_db")


class Ellipse(Table):
    """An ellipse as the satellite sees it, a part of other tables; absent where none is told.

    Its widths are full ones, in which the level falls by ``edge_db`` from the centre.
    """

    lat: float | None = key(None, "Latitude of the ellipse's centre", "deg", ge=-90, le=90)
    lon: float | None = key(
        None, "Longitude of the ellipse's centre, east positive", "deg", ge=-180, le=360
    )
    major_deg: float | None = key(
        None, "Full width of the ellipse along its axis, seen from the satellite", "deg",
        ge=0.01, le=20,
    )  # fmt: skip
    minor_deg: float | None = key(
        None, "Full width of the ellipse across it, seen from the satellite", "deg", ge=0.01, le=20
    )
    tilt_deg: float = key(
        0.0, "Turn of the ellipse's axis from the satellite's east towards north", "deg",
        ge=-180, le=180,
    )  # fmt: skip
    edge_db: float = key(3.0, "Drop from the ellipse's centre at those widths", "dB", ge=0.5, le=20)

    @property
    def is_ellipse(self) -> bool:
        """Whether a key of the ellipse is given."""
        return any(name in self.model_fields_set for name in ELLIPSE_KEYS)

    def check_one_shape(self, file: str | None, *, called: str = "file") -> None:
        """Raise unless a file, by its key ``called``, or a whole ellipse is given.

        Raises
        ------
        ValueError
            With the keys, and what to do.
        """
        given = [name for name in ELLIPSE_KEYS if name in self.model_fields_set]
        if file is not None and given:
            raise ValueError(
                f"has {called} and {given[0]}: give a file, or an ellipse, and take the other out"
            )
        if file is None and not given:
            raise ValueError(
                f"has no shape: give {called}, or an ellipse by {', '.join(_NEEDED[:-1])} and"
                f" {_NEEDED[-1]}"
            )
        missing = [name for name in _NEEDED if getattr(self, name) is None]
        if file is None and missing:
            raise ValueError(
                f"has {given[0]} without {' and '.join(missing)}: an ellipse needs"
                f" {', '.join(_NEEDED[:-1])} and {_NEEDED[-1]}"
            )
