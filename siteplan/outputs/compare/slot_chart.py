"""The dish mix by satellite: bars of one length, a tone and a figure for each diameter."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.answers.slots import Slot
from siteplan.outputs.sheets.words import cut
from siteplan.outputs.shown import amount
from siteplan.outputs.svg import box, drawing, line, text

#: The paper [units]: all of it, where bars begin, a row, the key above, and what is kept free.
WIDTH, START, ROW, HEAD = 640.0, 190.0, 30.0, 30.0
#: Tones of the style, light to dark; from here on figures on them are white.
TONES, WHITE_FROM = 7, 4
#: Characters of a name beside its bar, and the width of one in a segment.
_NAME, _CHARACTER = 29, 6.0


def dish_mix(slots: Sequence[Slot], sites: int, sizes: Sequence[float]) -> str:
    """Return the antennas that each satellite asks for, and the sites without kit.

    Parameters
    ----------
    slots : sequence of Slot
        Those that can be planned.
    sites : int
        How many sites there are: the length of a bar.
    sizes : sequence of float
        Diameters that any satellite asks for, rising: each has its tone. [m]
    """
    parts = _key(sizes)
    for k, slot in enumerate(slots):
        parts += _bar(slot, HEAD + k * ROW, sizes, (WIDTH - START - 4) / max(sites, 1))
    height = HEAD + len(slots) * ROW + 4
    parts.append(line((START, HEAD - 4), (START, height - 4)))
    return drawing(WIDTH, height, "Antennas by satellite, in sites", parts)


def tone(index: int, count: int) -> int:
    """Return which tone one of ``count`` sizes has, spread evenly from light to dark.

    >>> [tone(k, 3) for k in range(3)]
    [0, 3, 6]
    """
    return round(index * (TONES - 1) / (count - 1)) if count > 1 else TONES // 2


def _key(sizes: Sequence[float]) -> list[str]:
    """Return what each tone stands for."""
    x, parts = START, []
    labels = [(f"tone{tone(k, len(sizes))}", amount(d, "m")) for k, d in enumerate(sizes)]
    for css, label in [*labels, ("empty", "no kit")]:
        wide = 16 + len(label) * _CHARACTER + 12
        if x + wide > WIDTH:
            break
        parts += [box((x, 6), 12, 12, css), text((x + 16, 16), label, "small", anchor="start")]
        x += wide
    return parts


def _bar(slot: Slot, top: float, sizes: Sequence[float], unit: float) -> list[str]:
    """Return a satellite's name and its bar."""
    name = cut(slot.name, _NAME)
    parts = [text((START - 8, top + 15), name, "small", anchor="end")]
    has, x = dict(slot.antennas), START
    counts = [(f"tone{(t := tone(k, len(sizes)))}", has.get(d, 0), amount(d, "m"), t >= WHITE_FROM)
              for k, d in enumerate(sizes)]  # fmt: skip
    for css, count, label, dark in [*counts, ("empty", slot.without_kit, "no kit", False)]:
        wide = count * unit
        if count:
            parts.append(box((x, top), wide, ROW - 9, css))
            parts += _figure(x, top, wide, (str(count), label), dark=dark)
        x += wide
    return parts


def _figure(x: float, top: float, wide: float, told: tuple[str, str], *, dark: bool) -> list[str]:
    """Return the count in a segment, with its size where there is room."""
    count, label = told
    both = f"{count} × {label}" if label != "no kit" else f"{count} {label}"
    fitting = [words for words in (both, count) if len(words) * _CHARACTER <= wide - 3]
    css = "small onto" if dark else "small plain"
    return [text((x + wide / 2, top + 14.5), words, css) for words in fitting[:1]]
