"""Times as the crew reads them: in the site's zone where it has one, else UTC."""

from __future__ import annotations

import datetime as dt
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

_MONTHS = "JanFebMarAprMayJunJulAugSepOctNovDec"


@lru_cache(maxsize=600)
def zone(name: str) -> dt.tzinfo:
    """Return a time zone by its IANA name; UTC for an empty or unknown one."""
    try:
        return ZoneInfo(name) if name else dt.UTC
    except (ValueError, OSError, LookupError):
        return dt.UTC


def local(moment: Any, name: str) -> dt.datetime | None:
    """Return a UTC moment (datetime64) in a zone; None for NaT."""
    if np.isnat(moment):
        return None
    plain: dt.datetime = np.datetime64(moment, "s").item()
    return plain.replace(tzinfo=dt.UTC).astimezone(zone(name))


def zone_words(name: str) -> str:
    """Return what stands beside a time: the zone's name, or UTC."""
    return "UTC" if zone(name) is dt.UTC else name


def day_words(day: dt.date) -> str:
    """Return a date that reads the same everywhere, such as ``6 Mar 2026``."""
    return f"{day.day} {_MONTHS[3 * day.month - 3 : 3 * day.month]} {day.year}"
