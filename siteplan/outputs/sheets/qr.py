"""QR codes (ISO/IEC 18004), drawn by segno; which of the eight masks is best is found here.

segno tries and scores the masks module by module, which takes most of a sheet's time. Here all
eight are scored at once; the symbol with the best of them differs from the one with mask 0 by a
pattern that is the same for all words, and segno draws it: the one that it finds alone.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, IntArray

_MASKS = 8
#: Points of a run, of a block, of a finder's likeness and of a step off balance (Table 11).
_RUN, _BLOCK, _LIKENESS, _BALANCE = 3, 3, 40, 10
_SHORTEST_RUN = 5
#: Stands at both ends of a line of modules, which are 0 (light) and 1.
_EDGE = 2
_AHEAD = (rb"\x00{4}", *(rb"\x02\x00{%d}" % k for k in range(4)))
#: The finder's 1:1:3:1:1, with four light modules or the symbol's edge before or behind it.
_FINDER = re.compile(
    rb"\x01\x00\x01\x01\x01\x00\x01"
    rb"(?:(?=\x00{4}|\x00{0,3}\x02)"
    + b"".join(rb"|(?<=%s.{7})" % ahead for ahead in _AHEAD)
    + b")",
    re.DOTALL,
)

Modules = NDArray[np.uint8]


def qr_code(words: str) -> str:
    """Return a QR code of error correction M as SVG, with its quiet zone."""
    import segno

    code = segno.make_qr(words, error="m", mask=0)
    plain = _modules(code)
    code.mask = best_mask(plain, int(code.version))
    changed = plain ^ _changed_by_masks(int(code.version))[code.mask]
    code.matrix = tuple(bytearray(row) for row in changed)
    return str(code.svg_inline(omitsize=True, border=4, svgclass=None, lineclass=None))


def best_mask(modules: Modules, version: int) -> int:
    """Return the mask of the fewest penalty points, the first of several (ISO/IEC 18004, 7.8.3).

    Parameters
    ----------
    modules : array (n, n)
        A symbol with mask 0: 1 for dark modules. Its format information does not count.
    version : int
        Of the symbol.
    """
    tried = modules ^ _changed_by_masks(version)
    tried[:, _holds_format(len(modules))] = 0
    return int(np.argmin(penalties(tried)))


@cache
def _changed_by_masks(version: int) -> Modules:
    """Return where (8, n, n) symbols with each mask differ from one with mask 0.

    The format information differs alike too, whatever the level of correction: its code is linear.
    """
    import segno

    codes = [segno.make_qr("0", error="m", version=version, mask=k) for k in range(_MASKS)]
    return np.array([_modules(code) ^ _modules(codes[0]) for code in codes])


def _modules(code: Any) -> Modules:
    return np.array([np.frombuffer(row, dtype=np.uint8) for row in code.matrix])


@cache
def _holds_format(n: int) -> BoolArray:
    """Return where (n, n) the format information is, with the dark module beside it (7.9.1)."""
    held = np.zeros((n, n), dtype=bool)
    places = [*range(6), 7, 8, *range(n - 8, n)]
    held[8, places] = held[places, 8] = True
    return held


def penalties(symbols: Modules) -> IntArray:
    """Return the penalty points (k,) of symbols (k, n, n) (ISO/IEC 18004, Table 11)."""
    lines = np.concatenate([symbols, symbols.swapaxes(1, 2)], axis=1)
    return _runs(lines) + _blocks(symbols) + _likenesses(lines) + _balance(symbols)


def _runs(lines: Modules) -> IntArray:
    """Return the points of modules of one colour in a row: 3 for five, 1 for each further one."""
    alike = lines[..., 1:] == lines[..., :-1]
    width = _SHORTEST_RUN - 1
    stretches = alike[..., : 1 - width].copy()
    for k in range(1, width):
        stretches &= alike[..., k : alike.shape[-1] - width + 1 + k]
    begun = stretches.copy()
    begun[..., 1:] &= ~stretches[..., :-1]
    count: IntArray = stretches.sum(axis=(1, 2)) + (_RUN - 1) * begun.sum(axis=(1, 2))
    return count


def _blocks(symbols: Modules) -> IntArray:
    """Return the points of blocks of two by two modules of one colour."""
    fours = symbols[:, 1:, 1:] + symbols[:, 1:, :-1] + symbols[:, :-1, 1:] + symbols[:, :-1, :-1]
    count: IntArray = ((fours == 0) | (fours == 4)).sum(axis=(1, 2))
    return _BLOCK * count


def _likenesses(lines: Modules) -> IntArray:
    """Return the points of what looks like a finder pattern."""
    edged = np.pad(lines, ((0, 0), (0, 0), (1, 1)), constant_values=_EDGE)
    return _LIKENESS * np.array([len(_FINDER.findall(symbol.tobytes())) for symbol in edged])


def _balance(symbols: Modules) -> IntArray:
    """Return the points of dark modules being more or fewer than half, by steps of 5 %."""
    off_pct = np.abs(symbols.mean(axis=(1, 2)) * 100 - 50)
    steps: IntArray = (off_pct / 5).astype(np.intp)
    return _BALANCE * steps
