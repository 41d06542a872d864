"""Degrees, minutes and seconds run together in one number: 373621, 485200000, 3736.35.

A form says where the digits part. ``s0`` is DDDMMSS with any decimals of the seconds behind a
mark, ``s1`` to ``s3`` have one to three such decimals without the mark, ``m`` is DDDMM.mmm, as
receivers of positions write it (NMEA 0183's form of an angle).
"""

from __future__ import annotations

import numpy as np

from siteplan.arrays import BoolArray, FloatArray

#: All forms, in the order in which they are tried.
FORMS = ("s0", "s1", "s2", "s3", "m")
#: Seconds and minutes are rounded to this many decimals, as the digits after the point are short.
_DECIMALS = 6


#: No angle is written with so many digits.
_MOST = 1e12


def unpacked(numbers: FloatArray, form: str) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return degrees, minutes and seconds (n,) without the sign.

    Parameters
    ----------
    numbers : array (n,)
        Packed.
    form : str
        One of ``FORMS``.
    """
    size = np.abs(numbers)
    if form == "m":
        whole = np.floor(size / 100)
        return whole, np.round(size - 100 * whole, _DECIMALS), np.zeros_like(size)
    size = size / 10 ** int(form[1])
    degrees = np.floor(size / 1e4)
    minutes = np.floor((size - 1e4 * degrees) / 100)
    return degrees, minutes, np.round(size - 1e4 * degrees - 100 * minutes, _DECIMALS)


def packed_degrees(numbers: FloatArray, form: str, highest: float) -> FloatArray:
    """Return signed degrees (n,), NaN where the digits are no angle up to ``highest``."""
    numbers = np.where(np.abs(numbers) < _MOST, numbers, np.nan)
    degrees, minutes, seconds = unpacked(numbers, form)
    out = np.sign(numbers) * (degrees * 3600 + minutes * 60 + seconds) / 3600
    good: BoolArray = (minutes < 60) & (seconds < 60) & (np.abs(out) <= highest)
    if form in ("s1", "s2", "s3"):
        good &= numbers == np.round(numbers)
    return np.where(good, out, np.nan)


def spelled(number: float, form: str) -> str:
    """Return one packed number as degrees, minutes and seconds.

    >>> spelled(373621, "s0")
    '37°36\\'21"'
    """
    parts = unpacked(np.array([float(number)]), form)
    degrees, minutes, seconds = (float(part[0]) for part in parts)
    tail = f"{minutes:g}'" if form == "m" else f"{int(minutes):02d}'{seconds:02g}\""
    return f"{'-' if number < 0 else ''}{int(degrees)}°{tail}"
