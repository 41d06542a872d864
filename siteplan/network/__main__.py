"""Writes README.md beside this file: ``python -m siteplan.network``."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from siteplan.network.reference import HEADINGS, reference_rows
from siteplan.network.site import typical_cables
from siteplan.network.spectrum.regulation import MASK_BANDS_GHZ
from siteplan.words import markdown_table

#: Where the page stands.
PAGE: Final = Path(__file__).with_name("README.md")

_HEAD = """\
# The keys of network.toml

Made from the types in this folder by `python -m siteplan.network`; `siteplan fields --network`
prints the same keys. Only `[satellite] longitude_deg` must be given; a default that is used is
reported as assumed. Tables that can be given more than once (`antennas`, `bucs`, `cables`,
`mounts`, `overlays`, `neighbours`, `masks`, `beams`, `contours`) are written with double brackets,
such as `[[antennas]]`, and each of them needs its first key; one of `masks` also `reference_khz`
and `segments`. Every other key with a blank default may be left out.
"""

_LIMITS = """\
## Limits off axis

Each of `[[masks]]` must be named in `[regulation] masks`, so that none is passed over unseen; the
operator's own are told first, then the published ones, both in the order of that list. Published
ones hold in these bands alone, and one that does not hold the inbound uplink is refused:
"""

_CABLES = """\
## Typical cables

The classes of `cables.csv`. Those marked as defaults are used where the file lists no
`[[cables]]`; the maker's data sheet comes first.
"""

_CABLE_HEADINGS = (
    *("Name", "Default", "Impedance, ohm", "Diameter, mm", "Loss of 100 m at 1 GHz, dB"),
    *("Centre conductor, mm", "Shield, ohm/km", "Source"),
)


def page() -> str:
    """Return the reference page in Markdown."""
    keys = markdown_table(HEADINGS, reference_rows())
    cables = markdown_table(_CABLE_HEADINGS, _cable_rows())
    bands = markdown_table(("Mask", "Uplink, GHz"), _band_rows())
    return "\n".join([_HEAD, f"{keys}\n", _CABLES, f"{cables}\n", _LIMITS, f"{bands}\n"])


def _band_rows() -> list[tuple[str, ...]]:
    """Return the bands of the published masks as rows of text."""
    return [
        (name, ", ".join(f"{low:g} to {high:g}" for low, high in bands))
        for name, bands in MASK_BANDS_GHZ.items()
    ]


def _cable_rows() -> list[tuple[str, ...]]:
    """Return the typical cables as rows of text."""
    return [
        (
            row.cable.name,
            "yes" if row.is_default else "",
            f"{row.impedance_ohm:g}",
            f"{row.cable.diameter_mm:g}",
            f"{row.cable.loss_db_100m:g}",
            f"{row.cable.core_mm:g}",
            f"{row.cable.shield_ohm_km:g}",
            row.source,
        )
        for row in typical_cables()
    ]


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8", newline="\n")
