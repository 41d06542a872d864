"""Sites outside the countries of the others: at sea, or abroad; and which slip would explain it."""

from __future__ import annotations

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, IntArray, TextArray
from siteplan.basemap.places import NO_COUNTRY, country_at, near_small_islands
from siteplan.inputs.sites.doubts.ground import (
    Ground,
    at_sea,
    km_from_land,
)
from siteplan.inputs.sites.doubts.points import Found
from siteplan.inputs.sites.doubts.slips import TOLD, digits, signs_and_swaps
from siteplan.model import Note

#: Fewer sites than this have no country of their own to be compared with.
MIN_GROUP = 3
#: A country with this share of the sites is where the list is at home.
MAIN_SHARE = 0.6
#: In a list at home in one country, another with less than this share is not one of the list's.
FEW_SHARE = 0.02
#: Sites of one country up to this share may all be slips.
SLIPS_SHARE = 0.05
#: A slip explains a site abroad where it would then stand so many times nearer to another one.
BETTER = 3.0
#: One digit off explains a site only where none is near it and one would be [km]: there are many
#: digits to change.
DIGIT_FAR_KM = 50.0
DIGIT_NEAR_KM = 25.0
#: Where more of the sites than this are at sea with no slip to explain it, the map is too coarse.
MOST_AT_SEA = 0.1
MANY_AT_SEA = 3
#: A site at sea that nothing explains is told of only farther than this from land [km]: river
#: mouths are drawn wider, capes shorter. Among small islands there may be one that no map has.
ALONE_KM, ALONE_AMONG_ISLANDS_KM = 10, 15


def outside(ground: Ground) -> Found:
    """Find sites at sea or in another country that a slip would put among the others.

    With a column of countries each site is compared with the others of its country.
    """
    everything = np.arange(len(ground))
    grouped = np.zeros(len(ground), dtype=bool)
    found: Found = []
    for members in ground.countries:
        grouped[members] = True
        found += _outside(ground, members, members, named=True)
    return found + _outside(ground, everything[~grouped], everything, named=False)


def _outside(ground: Ground, members: IntArray, others: IntArray, *, named: bool) -> Found:
    """Find them among ``members``, by the countries in which ``others`` lie."""
    if not len(members) or len(others) < MIN_GROUP:
        return []
    home, main = home_countries(ground, others)
    suspects = members[~np.isin(ground.here[members], home)]
    if not len(home) or not len(suspects):
        return []
    around = ground.around(suspects)
    sure = ~(np.isin(around, home) | (around == NO_COUNTRY)).any(axis=1)
    suspects, sea = suspects[sure], at_sea(around[sure])
    if not len(suspects):
        return []
    few = _few_of_its_country(ground, suspects, others)
    key = np.where(sea, "sea", np.where(few & main, "abroad", "may"))
    found = _explained(ground, suspects, key, home)
    # A site abroad may well be meant; only a column that says otherwise makes a digit likely.
    left = _untold(suspects, found) & (sea | (named & (key == "abroad")))
    found += one_digit(ground, suspects[left], key[left], home)
    if named:
        left = _untold(suspects, found) & (key == "abroad")
        note = Note.of("note.coordinate_doubt.abroad_alone")
        found += [(at, note) for at in suspects[left].tolist()]
    return found


def _untold(at: IntArray, found: Found) -> BoolArray:
    told = {k for k, _ in found}
    return np.array([k not in told for k in at.tolist()], dtype=bool)


def home_countries(ground: Ground, others: IntArray) -> tuple[IntArray, bool]:
    """Return the countries in which sites are at home, and whether one of them has most.

    A few sites in one country say that the list has sites there, but not where each of them would
    fit the main country much better if it had not lost a sign.
    """
    here = ground.here[others]
    every = np.bincount(here[here >= 0])
    countries = np.flatnonzero(every)
    counts = every[countries]
    if not len(countries):
        return countries, False
    home = counts >= max(2, FEW_SHARE * len(others))
    main = int(counts.argmax())
    if counts[main] < MAIN_SHARE * len(others):
        return countries[counts >= 2], False
    for k in np.flatnonzero(home & (counts <= max(3, SLIPS_SHARE * len(others)))).tolist():
        home[k] = not _all_slipped(ground, others[here == countries[k]], countries[main])
    home[main] = True
    return countries[home], True


def _all_slipped(ground: Ground, at: IntArray, main: int) -> bool:
    """Whether each of some sites in one country would fit the main one better, by one slip."""
    lat, lon = ground.lat[at], ground.lon[at]
    own = np.median(ground.nearest_other_km(at))
    for slip in signs_and_swaps(lat, lon):
        there = (_country_of(slip.lat, slip.lon) == main).all()
        if there and BETTER * np.median(ground.nearest_km(slip.lat, slip.lon)) < own:
            return True
    return False


def _country_of(lat: FloatArray, lon: FloatArray) -> IntArray:
    """Return the country at points (n,); NaN is nowhere."""
    known = np.isfinite(lat)
    return np.where(known, country_at(np.where(known, lat, 0), np.where(known, lon, 0)), NO_COUNTRY)


def _few_of_its_country(ground: Ground, at: IntArray, others: IntArray) -> BoolArray:
    """Return at which points (k,) few of the others are in the same country."""
    counts = np.bincount(ground.here[others] - NO_COUNTRY)
    return counts[ground.here[at] - NO_COUNTRY] <= max(1, SLIPS_SHARE * len(others))


def _explained(ground: Ground, suspects: IntArray, key: TextArray, home: IntArray) -> Found:
    """Find the slip that would put each suspect nearest to another site of those countries."""
    slips = signs_and_swaps(ground.lat[suspects], ground.lon[suspects])
    far = np.full((len(slips), len(suspects)), np.inf)
    for k, slip in enumerate(slips):
        good = np.isin(_country_of(slip.lat, slip.lon), home)
        far[k, good] = ground.nearest_km(slip.lat[good], slip.lon[good])
    best, nearest = far.argmin(axis=0), far.min(axis=0)
    # At sea nothing stands; abroad a site may be right where it is about as near to the others.
    better = BETTER * nearest < ground.nearest_other_km(suspects)
    explained = np.isfinite(nearest) & (better | (key == "sea"))
    return [
        (int(suspects[k]), Note.of(TOLD[str(key[k]), slips[best[k]].name]))
        for k in np.flatnonzero(explained).tolist()
    ]


def one_digit(ground: Ground, suspects: IntArray, key: TextArray, home: IntArray) -> Found:
    """Find the one digit that would put each suspect right beside another site."""
    best: dict[int, tuple[float, Note]] = {}
    apart = ground.nearest_other_km(suspects) > DIGIT_FAR_KM
    suspects, key = suspects[apart], key[apart]
    if not len(suspects):
        return []
    for digit in digits(ground.lat[suspects], ground.lon[suspects]):
        far = ground.nearest_km(digit.lat, digit.lon)
        good = (far <= DIGIT_NEAR_KM) & np.isin(_country_of(digit.lat, digit.lon), home)
        for k in np.flatnonzero(good).tolist():
            at = int(digit.at[k])
            if at not in best or far[k] < best[at][0]:
                reading = round(float(digit.lat[k] if digit.column == "lat" else digit.lon[k]), 6)
                told = TOLD[str(key[at]), "digit"]
                best[at] = float(far[k]), Note.of(told, column=digit.column, reading=reading)
    return [(int(suspects[at]), note) for at, (_, note) in sorted(best.items())]


def sea_alone(ground: Ground, told: set[int]) -> tuple[Found, tuple[Note, ...]]:
    """Find sites at sea that nothing explains, or say once that the map is too coarse for them.

    It is too coarse where many sites of a country, or of the file, lie at sea.
    """
    wet = np.flatnonzero(ground.here < 0)
    wet = wet[at_sea(ground.around(wet))] if len(wet) else wet
    open_ = np.zeros(len(ground), dtype=bool)
    open_[wet] = True
    open_[list(told)] = False
    passed = 0
    for members in [*ground.countries, np.arange(len(ground))]:
        count = int(open_[members].sum())
        if count >= MANY_AT_SEA and count > MOST_AT_SEA * len(members):
            open_[members] = False
            passed += count
    alone = np.flatnonzero(open_)
    far = km_from_land(ground.lat[alone], ground.lon[alone])
    among_islands = near_small_islands(ground.lat[alone], ground.lon[alone])
    sure = far > np.where(among_islands, ALONE_AMONG_ISLANDS_KM, ALONE_KM)
    alone, far = alone[sure], far[sure]
    found = [
        (at, Note.of("note.coordinate_doubt.sea_alone", km=km))
        for at, km in zip(alone.tolist(), far.tolist(), strict=True)
    ]
    many = Note.of("note.coordinate_doubt.sea_many", count=passed, sites=len(ground))
    return found, (many,) if passed else ()
