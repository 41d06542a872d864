"""What a slip of the pen would have made of coordinates: a lost sign, a swap, one digit off."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from siteplan.arrays import FloatArray, IntArray

#: What is said of a site that lies far from the others, at sea, in another country, or apart in a
#: wide spread (where it may be right), by the slip that would put it among them.
TOLD = {
    ("far", "lat_sign"): "note.coordinate_doubt.far_lat_sign",
    ("far", "lon_sign"): "note.coordinate_doubt.far_lon_sign",
    ("far", "swapped"): "note.coordinate_doubt.far_swapped",
    ("far", "both_signs"): "note.coordinate_doubt.far_both_signs",
    ("far", "digit"): "note.coordinate_doubt.far_digit",
    ("sea", "lat_sign"): "note.coordinate_doubt.sea_lat_sign",
    ("sea", "lon_sign"): "note.coordinate_doubt.sea_lon_sign",
    ("sea", "swapped"): "note.coordinate_doubt.sea_swapped",
    ("sea", "both_signs"): "note.coordinate_doubt.sea_both_signs",
    ("sea", "digit"): "note.coordinate_doubt.sea_digit",
    ("abroad", "lat_sign"): "note.coordinate_doubt.abroad_lat_sign",
    ("abroad", "lon_sign"): "note.coordinate_doubt.abroad_lon_sign",
    ("abroad", "swapped"): "note.coordinate_doubt.abroad_swapped",
    ("abroad", "both_signs"): "note.coordinate_doubt.abroad_both_signs",
    ("abroad", "digit"): "note.coordinate_doubt.abroad_digit",
    ("may", "lat_sign"): "note.coordinate_doubt.may_lat_sign",
    ("may", "lon_sign"): "note.coordinate_doubt.may_lon_sign",
    ("may", "swapped"): "note.coordinate_doubt.may_swapped",
    ("may", "both_signs"): "note.coordinate_doubt.may_both_signs",
}


class Slip(NamedTuple):
    """A slip, and where each of n points would lie without it (NaN: nowhere). [deg]"""

    name: str
    lat: FloatArray
    lon: FloatArray


class Digit(NamedTuple):
    """One digit of ``column`` changed at points ``at`` (k,), and what is read then. [deg]"""

    column: str
    at: IntArray
    lat: FloatArray
    lon: FloatArray


def signs_and_swaps(lat: FloatArray, lon: FloatArray) -> tuple[Slip, ...]:
    """Return the slips of signs and order, the likeliest first, for points (n,). [deg]"""
    swapped = np.abs(lon) <= 90
    return (
        Slip("lat_sign", -lat, lon),
        Slip("lon_sign", lat, -lon),
        Slip("swapped", np.where(swapped, lon, np.nan), np.where(swapped, lat, np.nan)),
        Slip("both_signs", -lat, -lon),
    )


def digits(lat: FloatArray, lon: FloatArray) -> Iterator[Digit]:
    """Yield points (n,) with one digit of their whole degrees changed. [deg]"""
    for column, values, most, places in (
        ("lat", lat, 90.0, (1.0, 10.0)),
        ("lon", lon, 180.0, (1.0, 10.0, 100.0)),
    ):
        whole = np.abs(values)
        for place in places:
            digit = np.floor(whole / place) % 10
            for other in range(10):
                changed = whole + (other - digit) * place
                at = np.flatnonzero((digit != other) & (changed <= most))
                read = np.copysign(changed, values)[at]
                if column == "lat":
                    yield Digit(column, at, read, lon[at])
                else:
                    yield Digit(column, at, lat[at], read)
