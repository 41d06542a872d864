"""Eastings and northings of projected grids, turned into degrees by PROJ."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

import numpy as np

from siteplan.arrays import FloatArray, TextArray

_ZONE = re.compile(
    r"(?:UTM)?\W*(?:ZONE)?\W*0?(\d{1,2})\s*([C-HJ-NP-X]|NORTH|SOUTH|NORTE|SUR|SUL)?\W*"
)
#: Words for the hemisphere of a zone, and the latitude bands that lie south of the equator.
_WORDS = {"NORTH": "N", "NORTE": "N", "SOUTH": "S", "SUR": "S", "SUL": "S"}
_SOUTHERN_BANDS = "CDEFGHJKLM"
#: Northings of the latitude band S, 32 to 40 degrees north (EPSG:326xx). [m]
BAND_S_NORTHINGS_M = (3_540_000.0, 4_430_000.0)


@lru_cache(maxsize=64)
def _forward(crs: str) -> Any:
    import pyproj

    return pyproj.Transformer.from_crs(crs, "EPSG:4326", always_xy=True)


def to_degrees(x: FloatArray, y: FloatArray, crs: str) -> tuple[FloatArray, FloatArray]:
    """Return latitude and longitude (n,) [deg] of eastings and northings [m].

    NaN where there is no position. The first of the two is the easting, whatever the order of
    the system's axes.
    """
    # As lists: pyproj tries an array of one as a number, of which numpy before 2.4 warns.
    lon, lat = (
        np.asarray(v, dtype=np.float64) for v in _forward(crs).transform(x.tolist(), y.tolist())
    )
    good = np.isfinite(lat) & np.isfinite(lon)
    return np.where(good, lat, np.nan), np.where(good, lon, np.nan)


def zone_of(text: str) -> tuple[int, str] | None:
    """Return the number and letter of a UTM zone, '' for no letter; None for another text.

    >>> zone_of("Zone 33 N")
    (33, 'N')
    """
    match = _ZONE.fullmatch(text.upper().removesuffix(".0"))
    if match is None or not 1 <= int(match[1]) <= 60:
        return None
    letter = match[2] or ""
    return int(match[1]), _WORDS.get(letter, letter)


def zone_codes(texts: TextArray, northing: FloatArray, south: str) -> TextArray:
    """Return the EPSG code of each zone (n,), '' for none.

    Parameters
    ----------
    texts : array (n,)
        For example ``33N``, ``21K``; each with a letter.
    northing : array (n,)
        S is the southern half of a zone where the northing is not of the band S. [m]
    south : str
        What the letter S means where it could be either: ``half`` or ``band``.
    """
    known = {text: zone_of(text) for text in set(texts)}
    low, high = BAND_S_NORTHINGS_M
    out = np.full(len(texts), "", dtype=object)
    for at, text in enumerate(texts):
        zone = known[text]
        if zone is None:
            continue
        half = south == "half" or not low <= northing[at] <= high
        southern = half if zone[1] == "S" else zone[1] in _SOUTHERN_BANDS
        out[at] = utm_code(zone[0], southern=southern)
    return out


def utm_code(number: int, *, southern: bool) -> str:
    """Return the EPSG code of a UTM zone on WGS 84.

    >>> utm_code(19, southern=True)
    'EPSG:32719'
    """
    return f"EPSG:{32700 + number if southern else 32600 + number}"
