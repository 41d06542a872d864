"""``[sites]``: how the table of sites is to be read."""

from __future__ import annotations

from pydantic import field_validator

from siteplan.network.table import Table, key


class SitesTable(Table):
    """``[sites]``: what the table of sites does not say itself."""

    crs: str | None = key(
        None,
        "Reference system of eastings and northings in the table of sites, for example EPSG:2056"
        " (absent: positions are degrees, WGS 84, or the table says)",
        max_length=400,
    )

    @field_validator("crs")
    @classmethod
    def _is_a_grid(cls, text: str | None) -> str | None:
        """Refuse what PROJ does not know, and what is no grid of metres."""
        import pyproj

        if text is None:
            return None
        try:
            found = pyproj.CRS.from_user_input(text)
        except pyproj.exceptions.CRSError:
            raise ValueError(
                f"crs = {text[:40]!r} is not known. Write the grid's code, such as EPSG:2056."
            ) from None
        if not found.is_projected:
            raise ValueError(
                f"crs = {text[:40]!r} is no grid of metres. Name a grid, such as EPSG:2056."
            )
        return text
