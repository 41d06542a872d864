"""What is said of a table whose position has no reading, or more than one.

Each sentence says what was found and what to do; a test follows each piece of advice.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from siteplan.errors import SitesError
from siteplan.inputs.headings.meaning import meaning_of
from siteplan.inputs.headings.words import tokens
from siteplan.inputs.layout.candidates import Candidate
from siteplan.inputs.layout.evidence import Evidence
from siteplan.inputs.layout.facts import Facts
from siteplan.inputs.layout.grids import utm_code
from siteplan.inputs.layout.packed import spelled

_DEGREES_FIX = "or write decimal degrees, WGS 84, in columns lat and lon."
_LONG = {"lat": "latitude", "lon": "longitude"}
_SRID = re.compile(r"(?i)^SRID=(\d+);")


def two_columns(key: str, one: Candidate, other: Candidate, rows: int, where: str) -> SitesError:
    """Say that two columns may be the latitude and say different places."""
    return SitesError(
        f"two columns may be {key}: '{one.written}' and '{other.written}', and they differ in"
        f" {rows} row{'s' if rows > 1 else ''}.",
        where=where,
        fix=f"Keep one, or rename the other so that it does not mean {key}.",
    )


def letter_o_in_heading(candidate: Candidate, where: str) -> SitesError:
    """Say that O may be east or west."""
    return SitesError(
        f"'{candidate.written}' may be east (German Ost) or west (Spanish Oeste, French Ouest).",
        where=where,
        fix="Call the column 'Longitude E' or 'Longitude W'.",
    )


def signs_against_heading(candidate: Candidate, facts: Facts, where: str) -> SitesError:
    """Say that a heading names a hemisphere and the values carry signs of both."""
    side = {"S": "south", "W": "west"}[candidate.meaning.side]
    key = candidate.meaning.key
    return SitesError(
        f"'{candidate.written}' says {side}, and {facts.negative} of its {facts.numbers} values"
        " carry a minus.",
        where=where,
        fix=f"If the signs are right, call the column {key}; if all lie {side}, take them out.",
    )


def packed(
    pair: Sequence[Candidate], facts: Sequence[Facts], forms: Sequence[str], where: str
) -> SitesError:
    """Say that the numbers are degrees, minutes and seconds run together."""
    shown = ", ".join(
        f"{c.written} {f.example} is {spelled(float(f.example.replace(',', '.')), forms[0])}?"
        for c, f in zip(pair, facts, strict=True)
    )
    what = f"degrees, minutes and seconds look run together ({shown})"
    if not any(f.negative for f in facts):
        what += ", and no sign or letter tells north from south, east from west"
    return SitesError(
        f"{what}.",
        where=where,
        fix="Put form and hemispheres into the headings, as in 'Latitude DMS (N)' and 'Longitude"
        " DMS (W)', each with its own letter; " + _DEGREES_FIX,
    )


def open_order(candidate: Candidate, facts: Facts, where: str) -> SitesError:
    """Say that one column holds both, in an order that nothing tells."""
    return SitesError(
        f"'{candidate.written}' holds two numbers ({facts.example}): which is the latitude?",
        where=where,
        fix="Call the column lat_lon or lon_lat, in the order of its numbers.",
    )


def metres(
    x: Candidate,
    y: Candidate,
    facts: Sequence[Facts],
    zone: tuple[int, str] | None,
    where: str,
    *,
    zones: str = "",
) -> SitesError:
    """Say that two columns hold metres of a projected grid, and how to name the grid."""
    what = (
        f"'{x.written}' and '{y.written}' hold metres of a projected grid"
        f" ({facts[0].example}, {facts[1].example}), and nothing tells which."
    )
    fix = 'Name it by the key crs of the network: [sites] crs = "EPSG:..." with its code'
    if zone:
        north, south = (utm_code(zone[0], southern=s) for s in (False, True))
        fix = (
            f'Name it by the key crs of the network: [sites] crs = "{north}"'
            f' (UTM zone {zone[0]} north) or "{south}" (south)'
        )
    elif zones:
        fix += f", or write north or south behind each number of '{zones}', as in 19 south"
    return SitesError(what, where=where, fix=f"{fix}; {_DEGREES_FIX}")


def outside_area(x: Candidate, y: Candidate, crs: str, where: str) -> SitesError:
    """Say that the named reference system does not hold these values."""
    return SitesError(
        f"'{x.written}' and '{y.written}' do not lie in the area of {crs}.",
        where=where,
        fix="Check the network's key [sites] crs, and which column is the easting.",
    )


def which_axis(x: Candidate, y: Candidate, crs: str, where: str) -> SitesError:
    """Say that X may be the easting or the northing."""
    return SitesError(
        f"'{x.written}' and '{y.written}' lie in the area of {crs} either way, and {crs} itself"
        " calls its northing X.",
        where=where,
        fix="Call the two columns easting and northing, each for what it holds.",
    )


def named_system(example: str, crs: str, heading: str, where: str) -> str:
    """Return the reference system of points as text: their own, else WGS 84."""
    found = _SRID.match(example)
    if found and int(found[1]) not in (0, 4326):
        return f"EPSG:{found[1]}"
    numbers = [abs(float(n)) for n in re.findall(r"[-+]?\d+(?:\.\d+)?", example)]
    beyond = example[:1].isalpha() and not found and any(n > 360 for n in numbers[:2])
    if beyond and not crs:
        raise SitesError(
            f"the points of '{heading}' are metres of a projected grid ({example}).",
            where=where,
            fix='Name it by the key crs of the network: [sites] crs = "EPSG:..." with its code.',
        )
    return crs if beyond else "EPSG:4326"


def no_position(evidence: Evidence) -> SitesError:
    """Say that there is no position, and what may be one."""
    headings = evidence.candidates.headings
    found = ", ".join(f"'{h}'" for h in headings[:30]) or "none"
    missing = [key for key in ("lat", "lon") if not evidence.candidates.whole(key)]
    if any(re.fullmatch(r"[+-]?\d+([.,]\d+)?", heading.strip()) for heading in headings):
        fix = "The first line looks like a site: put a line of headings above it."
    else:
        fix = _hints(evidence, missing)
    if len(missing) == 2:
        what = f"there are no coordinates that can be read. Columns found: {found}."
    else:
        what = f"no column for {' and '.join(missing)}. Columns found: {found}."
    return SitesError(what, where=evidence.source, fix=fix)


def _hints(evidence: Evidence, missing: Sequence[str]) -> str:
    """Return which columns to rename: those that speak of a position and whose values fit."""
    hints: dict[str, str] = {}
    for key in missing:
        for heading in evidence.candidates.headings:
            facts = evidence.of(heading)
            if _speaks_of(heading, key) and facts.fits(key) and heading not in hints.values():
                hints.setdefault(key, heading)
    if hints and len(hints) == len(missing):
        told = " and ".join(f"'{heading}' to {key}" for key, heading in hints.items())
        return f"If that is where the sites are, rename {told}."
    return f"Add the columns {' and '.join(missing)}, in decimal degrees, WGS 84."


def _speaks_of(heading: str, key: str) -> bool:
    """Whether a heading holds a word for latitude or longitude among others that are unknown."""
    keys = {m.key for word in tokens(heading) if (m := meaning_of(word))}
    return keys & {"lat", "lon"} == {key}
