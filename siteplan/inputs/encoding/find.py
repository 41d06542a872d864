"""Which encoding a text file is in: by its mark, as UTF-8, else by what its letters make.

Files that are not UTF-8 come in code pages of a language or a country, and a few names are little
to tell them by. A code page is possible where its letters make words of a language that is written
in it (alphabets.csv): no capital within a word, no sign among letters, no letter of another
language. Where more than one is possible, Windows-1252 comes first, as such files come; among
scripts charset-normalizer decides, where there are words enough. What stays open is told.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterable
from itertools import accumulate, islice
from pathlib import Path
from typing import IO, TYPE_CHECKING, NamedTuple

from siteplan.errors import SitesError
from siteplan.model import Note

if TYPE_CHECKING:
    from siteplan.inputs.encoding.letters import Reading

#: What the encodings are called, by Python's name; the commonest first.
NAMES = {
    "cp1252": "Windows-1252",
    "cp1250": "Windows-1250",
    "cp1254": "Windows-1254",
    "cp1251": "Windows-1251",
    "cp1253": "Windows-1253",
    "cp1256": "Windows-1256",
    "mac_roman": "Mac Roman",
    "cp850": "CP850",
    "cp437": "CP437",
    "koi8_r": "KOI8-R",
    "cp866": "CP866",
    "shift_jis": "Shift-JIS",
    "gb18030": "GB18030",
    "big5": "Big5",
    "euc_kr": "EUC-KR",
}
#: What a byte that is no UTF-8 becomes in a file that otherwise is.
LOST = "\ufffd"
BAD_BYTE = Note.of("note.input_mended.bad_byte")


_BLOCK = 1 << 20
#: So many distinct lines with foreign bytes tell the code page.
_MOST_LINES = 2_000
#: Fewer words than this leave a choice between scripts open.
_FEWEST_WORDS = 4
#: Of a line of more bytes than this only foreign cells of so many are looked at, and so much of
#: them: longer ones are no words.
_LONG_LINE, _LONG_CELL, _MUCH = 10_000, 500, 100_000
#: Bytes that part cells and old lines, and are within no character of any code page.
_CELLS = re.compile(rb"[,;\t\r]+")
#: More of a word is not told.
_LONGEST = 60
_SAVE = "Save it as UTF-8 (in a spreadsheet: CSV UTF-8)."
_SEQUENCE = re.compile(
    rb"[\xc2-\xdf][\x80-\xbf]|[\xe0-\xef][\x80-\xbf]{2}|[\xf0-\xf4][\x80-\xbf]{3}"
)


class Encoding(NamedTuple):
    """How a file's text is decoded: Python's name, what bad bytes become, what is said of it."""

    name: str
    errors: str = "strict"
    remarks: tuple[Note, ...] = ()


_WITH_FAULTS = Encoding("utf-8", "replace")


def find_encoding(path: Path) -> Encoding:
    """Return the encoding of a text file.

    Raises
    ------
    SitesError
        Where more than one code page may be meant, or none is known: all that may be, the rows.
    """
    with path.open("rb") as file:
        name = _by_mark(file.read(4096))
        return Encoding(name) if name else encoding_of(file, path)


def encoding_of(file: IO[bytes], path: Path) -> Encoding:
    """Return the encoding of a text without a mark, open as bytes, of the file ``path``.

    Raises
    ------
    SitesError
        As `find_encoding`.
    """
    if _decodes(file, "utf-8"):
        return Encoding("utf-8")
    from siteplan.inputs.encoding.letters import reading

    lines = _foreign_lines(file)
    good, bad = _utf8_sequences(lines)
    if good > 1 and good >= 2 * bad:
        return _WITH_FAULTS
    possible = list(NAMES)
    while possible:
        found = [r for page in possible if (r := reading(page, list(lines))) is not None]
        if not found:
            break
        chosen = _encoding(found, lines, path)
        if _decodes(file, chosen.name):
            return chosen
        possible.remove(chosen.name)
    if good and good >= bad:
        return _WITH_FAULTS
    raise _unknown(lines, [page for page in NAMES if _decodes(file, page)], path)


def _by_mark(head: bytes) -> str:
    for mark, name in (
        (codecs.BOM_UTF32_LE, "utf-32"),
        (codecs.BOM_UTF8, "utf-8-sig"),
        (codecs.BOM_UTF16_LE, "utf-16"),
        (codecs.BOM_UTF16_BE, "utf-16"),
    ):
        if head.startswith(mark):
            return name
    if len(head) > 3 and head[1::2].count(0) > len(head) / 4:
        return "utf-16-le"
    return "utf-16-be" if len(head) > 3 and head[0::2].count(0) > len(head) / 4 else ""


def _decodes(file: IO[bytes], encoding: str) -> bool:
    decoder = codecs.getincrementaldecoder(encoding)()
    file.seek(0)
    try:
        while block := file.read(_BLOCK):
            decoder.decode(block)
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    return True


def _foreign_lines(file: IO[bytes]) -> dict[bytes, int]:
    """Return distinct lines that are not ASCII, each with the number of its first."""
    file.seek(0)
    found: dict[bytes, int] = {}
    foreign = ((n, line) for n, line in enumerate(file, 1) if not line.isascii())
    for number, line in islice(foreign, 50 * _MOST_LINES):
        found.setdefault(_short(line.strip()), number)
        if len(found) >= _MOST_LINES:
            break
    return found


def _short(line: bytes) -> bytes:
    """Return a line, or if it is very long those of its cells that may tell something."""
    if len(line) <= _LONG_LINE:
        return line
    cells = [c for c in _CELLS.split(line) if len(c) <= _LONG_CELL and not c.isascii()]
    ends = accumulate(map(len, cells))
    kept = b";".join(c for c, end in zip(cells, ends, strict=True) if end <= _MUCH)
    return kept or line[:_LONG_CELL]


def _utf8_sequences(lines: Iterable[bytes]) -> tuple[int, int]:
    """Return how many sequences are UTF-8, rare in other encodings, and how many bytes are not."""
    good = bad = 0
    for line in lines:
        good += len(_SEQUENCE.findall(line))
        bad += sum(byte > 0x7F for byte in _SEQUENCE.sub(b"", line))
    return good, bad


def _encoding(found: list[Reading], lines: dict[bytes, int], path: Path) -> Encoding:
    """Return the encoding of the likeliest reading, those of one text counted as one."""
    unlike: dict[tuple[str, ...], Reading] = {}
    for one in found:
        unlike.setdefault(one.texts, one)
    readings = list(unlike.values())
    chosen = _chosen(readings, b"\n".join(lines))
    if chosen is None:
        raise _open(lines, readings, path)
    return Encoding(chosen.page, "strict", (_remark(chosen, readings),))


def _remark(chosen: Reading, readings: list[Reading]) -> Note:
    named = NAMES[chosen.page]
    others = [
        one
        for one in readings
        if one.texts != chosen.texts
        and (one.group, one.cost <= chosen.cost) == (chosen.group, True)
    ]
    if not others:
        return Note.of("note.input_mended.encoding", encoding=named)
    at = next(i for i, text in enumerate(chosen.texts) if text != others[0].texts[i])
    word, other = _unlike(chosen.texts[at], others[0].texts[at])
    return Note.of(
        "note.input_mended.encoding_of_two",
        encoding=named,
        word=word,
        other=NAMES[others[0].page],
        otherwise=other,
    )


def _unlike(text: str, other: str) -> tuple[str, str]:
    """Return the first words that two readings of a line have unlike."""
    cells = zip(re.split(r"[,;\t|\"]", text), re.split(r"[,;\t|\"]", other), strict=False)
    a, b = next(((a, b) for a, b in cells if a != b), (text, other))
    return a.strip()[:_LONGEST], b.strip()[:_LONGEST]


def _chosen(readings: list[Reading], data: bytes) -> Reading | None:
    """Return the reading that is meant, None where that is open."""
    least = min(reading.cost for reading in readings)
    likely = [reading for reading in readings if reading.cost == least]
    if len(likely) == 1 or likely[0].page == "cp1252":
        return likely[0]
    if all(reading.group == "latin" for reading in likely):
        return None
    return _ranked(likely, data)


def _ranked(readings: list[Reading], data: bytes) -> Reading | None:
    """Return the reading that charset-normalizer holds for the likeliest, of words enough."""
    from charset_normalizer import from_bytes

    from siteplan.inputs.encoding.letters import WORD

    words = sum(len(WORD.findall(text)) for text in readings[0].texts)
    if words < _FEWEST_WORDS:
        return None
    best = from_bytes(data, cp_isolation=[reading.page for reading in readings]).best()
    return next((r for r in readings if best is not None and r.page == best.encoding), None)


def _rows(lines: dict[bytes, int]) -> str:
    numbers = sorted(lines.values())
    shown = ", ".join(map(str, numbers[:5]))
    return f"line{'s' if len(numbers) > 1 else ''} {shown}{', ...' if len(numbers) > 5 else ''}"


def _open(lines: dict[bytes, int], readings: list[Reading], path: Path) -> SitesError:
    first = readings[0].texts[0]
    shown = "; ".join(
        f"{NAMES[reading.page]} ({_unlike(reading.texts[0], other)[0]})"
        for reading in readings[:6]
        for other in (
            next((r.texts[0] for r in readings if r.texts[0] != reading.texts[0]), first),
        )
    )
    what = f"the file is not UTF-8, and its letters ({_rows(lines)}) may be of several: {shown}."
    return SitesError(what, where=path.name, fix=_SAVE)


def _unknown(lines: dict[bytes, int], possible: list[str], path: Path) -> SitesError:
    named = ", ".join(NAMES[name] for name in possible) or "none that is known"
    what = (
        f"the file is not UTF-8, and its letters ({_rows(lines)}) make no words in the code pages"
        f" that have all of its bytes: {named}."
    )
    return SitesError(what, where=path.name, fix=_SAVE)
