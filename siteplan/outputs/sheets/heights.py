"""How high a sheet is in the usual type, and how much smaller its type must be to fit on paper.

Lines are counted by their characters; the heights of lines and blocks, and the characters that a
line holds, are those read off printed sheets in the usual type.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

#: Types from the usual to the smallest: how much lower the front gets at least, its drawings
#: keeping their size [mm], and what share of its height the back keeps.
TYPES = (("", 0, 1.0), ("dense", 13, 0.9), ("denser", 22, 0.84), ("densest", 44, 0.79))
#: What a page has within its margins, 9 mm above and below [mm].
PAGE_MM, LETTER_MM = 276.0, 259.5
#: Stands over the sun's hours, before their day and their zone.
_COMPASS = "Check the compass by the sun"
#: How much lower the smallest type makes a front whose drawings keep their size [mm].
_DRAWN = 36.0
#: Height of a line of the text, and of the small text [mm].
_LINE, _SMALL = 3.8, 3.3
#: Height of a line under a figure to point by; the first two are reckoned with always [mm].
_NOTE = 3.0
#: Height of a sketch that is worth the next smaller type [mm].
SKETCH_MM = 25.0
#: Types that a sketch may still make smaller by one: the usual alone.
_STEPS = 1


def density(found: dict[str, Any], *, letter: bool = False) -> str:
    """Return how small a sheet's type must be for each half to fit on a page.

    The sketch is worth one step, where either half then has room for it. Where the back alone asks
    for the smallest, the front's drawings stay as large as they are.
    """
    left = rooms_mm(found, letter=letter)
    first = next((k for k, room in enumerate(left) if min(room) > 0), len(TYPES) - 1)
    step = (
        first + 1
        if first < _STEPS and max(left[first]) < SKETCH_MM <= max(left[first + 1])
        else first
    )
    name, smallest = TYPES[step][0], TYPES[-1][0]
    drawn = name == smallest and half_heights_mm(found)[0] - _DRAWN < _page_mm(letter=letter)
    return f"{name} drawn" if drawn else name


def sketch_behind(found: dict[str, Any], density: str, *, letter: bool = False) -> bool:
    """Return whether the sketch stands on the back: where that leaves it more room."""
    at = [name for name, _, _ in TYPES].index(density.split(" ", maxsplit=1)[0])
    front, back = rooms_mm(found, letter=letter)[at]
    return back > front


def rooms_mm(found: dict[str, Any], *, letter: bool = False) -> list[tuple[float, float]]:
    """Return about how much front and back of a sheet leave free in each of the types [mm]."""
    page = _page_mm(letter=letter)
    front, back = half_heights_mm(found)
    return [(page - front + less, page - back * share) for _, less, share in TYPES]


def _page_mm(*, letter: bool) -> float:
    return LETTER_MM if letter else PAGE_MM


def half_heights_mm(found: dict[str, Any]) -> tuple[float, float]:
    """Return about how high front and back of a sheet are in the usual type [mm]."""
    top = _head_mm(found) + _flags_mm(found) + _cautions_mm(found)
    if not found["v"].has_kit:
        return 125 + top + _drawings_mm(found) + _survey_mm(found), 0.0
    return 182 + top + _tuning_mm(found) + _drawings_mm(found), 47 + _back_mm(found)


def _lines(text: str, holds: int) -> int:
    """Return how many lines a text takes; none where it is empty."""
    return math.ceil(len(text) / holds)


def _head_mm(found: dict[str, Any]) -> float:
    """Return what the head takes: the QR code's height, or that of what stands beside it."""
    name = len(found["name"])
    large, holds = (3.9, 92) if name > 150 else (4.7, 74) if name > 60 else (6.2, 56)
    above = f"{found['network']} group {found['group']} visit {found['visit']}"
    site = f"Site {found['site_id']} priority {found['priority']} {found['place']} above sea level"
    told = _SMALL * (_lines(above, 105) + _lines(found["satellite"], 75))
    told += large * max(_lines(found["name"], holds), 1) + 4.1 * _lines(site, 92)
    told += _SMALL * sum(_lines(text, 82) for _, text in found["calls"])
    told += _SMALL * sum(max(_lines(text, 82), _lines(n, 18)) for n, text in found["access"])
    return max(told + 3, 33.0) + _NOTE * max(_lines(found["azimuth_note"], 26) - 2, 0)


def _flags_mm(found: dict[str, Any]) -> float:
    """Return what banners and flags take."""
    stops = found["stops"]
    holds = 110 if len(stops) <= 2 else 50
    lines = [_lines(f"{flag['word']}: {flag['meaning']}", holds) for flag in stops]
    tall = 4.2 * sum(lines) / (1 if len(stops) <= 2 else 2) + (2 if len(stops) > 2 else 0)
    tall += 4.2 * _lines(found["takes"], 120) if found.get("takes") else 0
    return tall + sum(_box_mm(over.word, over.reason) for over in found["banners"])


def _box_mm(word: str, reason: str) -> float:
    """Return what a banner takes; one of many words stands in the usual type."""
    line, holds = (4.6, 106) if len(reason) > 200 else (5.6, 84)
    return 4 + line * _lines(f"{word} {reason}", holds)


def _cautions_mm(found: dict[str, Any]) -> float:
    """Return what the planner's words for lone workers, and the gust, add to the cautions."""
    return _SMALL * (_lines(found["lone_worker"], 46) / 3 + _lines(found["abort"], 120)) + 2


def _drawings_mm(found: dict[str, Any]) -> float:
    """Return what long captions and long days add to the drawings."""
    sky = 38 + _SMALL * _lines(found["sky_note"], 47) if found["sky"] else 0.0
    zone = _SMALL * max(_lines(f"{_COMPASS} {found['sun_day']}", 40) - 2, 0)
    hours = 20 + 4.15 * len(found["sun_hours"]) + zone if found["sun_hours"] else 0.0
    turned = _SMALL * max(_lines(found["bar"], 44) - 1, 0)
    return max(sky - 48, hours - 48, 0.0) + turned


def _tuning_mm(found: dict[str, Any]) -> float:
    """Return what kit, carriers, and the wrong satellites take."""
    rows = sum(max(_lines(t, 42) for t in (row.receive, row.transmit)) for row in found["tune"])
    told = sum(_lines(note, 112) for note in found["tune_notes"])
    beside = "; ".join(found["neighbours"])
    return 3.9 * rows + _SMALL * (told + _lines(beside, 122))


def _survey_mm(found: dict[str, Any]) -> float:
    """Return what a sheet without kit tells of what was tried, and of a new survey."""
    tried = max(_rows_mm(half) for half in found["tried_rows"])
    left = _rows_mm(found["known"]) + 5.2 * len(found["measured"]) + 5
    notes = _SMALL * _lines(found["notes"], 122)
    return tried + max(left, 49.0) + notes + (7 if notes else 0)


def _back_mm(found: dict[str, Any]) -> float:
    """Return what the back's two columns and the lines under them take."""
    v = found["v"]
    blocks = ("build", "wind", "bare_loads", "cable", "exposure")
    column = sum(_rows_mm(found[name]) for name in blocks) + _rows_mm(found["sun"], (26, 31))
    column += _SMALL * 1.25 * sum(_lines(part, 62) for part in found["parts"])
    column += 5.2 * len(found["measured"])
    column += _LINE * sum(_lines(found[name], 60) for name in ("reason", "question"))
    column += _SMALL * 1.25 * sum(_lines(item, 62) for item in found["made_fast"][2:])
    small = ("cable_advice", "cable_clad_steel", "exposure_basis")
    column += _SMALL * sum(_lines(v[name], 68) for name in small)
    column += _SMALL * sum(_lines(option, 66) for option in found["options"])
    column += _SMALL * _lines(found["wind_basis"], 68) + 4.5 * _lines(found["mount"], 42)
    told = _SMALL * _lines(found["notes"], 122)
    return (column + 122) / 2 + told


def _rows_mm(rows: Iterable[Sequence[str]], holds: tuple[int, int] = (36, 29)) -> float:
    """Return the height of rows of label and value."""
    lines = (max(_lines(name, holds[0]), _lines(text, holds[1]), 1) for name, text in rows)
    return sum(3.5 * n + 0.25 for n in lines)
