"""Changes of a file's bytes: bits, cuts, insertions, pieces swapped; inside of a ZIP, too."""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Callable, Mapping
from random import Random

#: What a bad editor, a bad line or another program puts into a file.
_PIECES = (b"\0", b"\xff", b"\xfe\xff", b"\xef\xbb\xbf", b"\r", b"\n", b'"', b"'", b",",
           b";", b"\t",
           b"<", b"&", b"]]>", b"[" * 5_000, b"{" * 5_000,
           b"\xed\xa0\x80", b"\x80", b"\xc3", b"1e309",
           b"=", b"[[", b"-", b"9" * 40, b"\x1a",
           b"\x00\x00\x00\x00", b"\xff\xff\xff\x7f")  # fmt: skip
_MOMENT = re.compile(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ")
#: The same moment in every ZIP, so that a case is the same each time.
_WHEN = (2026, 1, 1, 0, 0, 0)


def _flip(rng: Random, data: bytearray) -> bytearray:
    for _ in range(rng.choice((1, 1, 2, 5, 30))):
        at = rng.randrange(len(data))
        data[at] ^= 1 << rng.randrange(8)
    return data


def _set(rng: Random, data: bytearray) -> bytearray:
    for _ in range(rng.choice((1, 1, 3))):
        data[rng.randrange(len(data))] = rng.choice((0, 255, 127, 128, rng.randrange(256)))
    return data


def _cut_end(rng: Random, data: bytearray) -> bytearray:
    return data[: rng.randrange(len(data))]


def _cut_out(rng: Random, data: bytearray) -> bytearray:
    at = rng.randrange(len(data))
    del data[at : at + rng.choice((1, 2, 7, 50, 1000))]
    return data


def _blank(rng: Random, data: bytearray) -> bytearray:
    at = rng.randrange(len(data))
    size = min(rng.choice((1, 4, 16, 512, 4096)), len(data) - at)
    data[at : at + size] = bytes([rng.choice((0, 255, 32))]) * size
    return data


def _insert(rng: Random, data: bytearray) -> bytearray:
    at = rng.randrange(len(data) + 1)
    data[at:at] = rng.choice(_PIECES)
    return data


def _double(rng: Random, data: bytearray) -> bytearray:
    at = rng.randrange(len(data))
    piece = data[at : at + rng.choice((1, 9, 60, 700))]
    to = rng.randrange(len(data) + 1)
    data[to:to] = piece * rng.choice((1, 1, 2, 40))
    return data


def _swap(rng: Random, data: bytearray) -> bytearray:
    a, b, c, d = sorted(rng.randrange(len(data) + 1) for _ in range(4))
    return data[:a] + data[c:d] + data[b:c] + data[a:b] + data[d:]


_CHANGES: tuple[Callable[[Random, bytearray], bytearray], ...] = (
    _flip, _set, _cut_end, _cut_out, _blank, _insert, _double, _swap,
)  # fmt: skip


def changed(rng: Random, data: bytes) -> bytes:
    """Return bytes with one change or a few; those of a ZIP, half of the time, inside of it."""
    if data[:2] == b"PK" and rng.random() < 0.6 and (inner := _inside(rng, data)) is not None:
        return inner
    out = bytearray(data)
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        if out:
            out = rng.choice(_CHANGES)(rng, out)
    return bytes(out)


def _inside(rng: Random, data: bytes) -> bytes | None:
    """Return a ZIP of which one member was changed or left out, its checksums right."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = {name: archive.read(name) for name in archive.namelist()}
    except (zipfile.BadZipFile, zlib.error, ValueError, NotImplementedError, RuntimeError):
        return None
    if not members:
        return None
    name = rng.choice(sorted(members))
    if rng.random() < 0.1:
        del members[name]
    else:
        members[name] = changed(rng, members[name])
    return zipped(members)


def zipped(members: Mapping[str, bytes]) -> bytes:
    """Return a ZIP of members by name, the same bytes each time."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(zipfile.ZipInfo(name, _WHEN), content, zipfile.ZIP_DEFLATED)
    return out.getvalue()


def rezipped(data: bytes) -> bytes:
    """Return a workbook without the moment at which it was made."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    return zipped({name: _MOMENT.sub(b"2026-01-01T00:00:00Z", content)
                   if name == "docProps/core.xml" else content
                   for name, content in members.items()})  # fmt: skip


#: What a file turns out to be that was saved or sent as another kind.
OTHERS = (b"", b"\n", b"PK\x05\x06" + b"\0" * 18, b"%PDF-1.7\n", b"<!DOCTYPE html><html></html>",
          b"SQLite format 3\0", b"PAR1", b"PAR1\0\0\0\0PAR1", b"II*\0", b"\xd0\xcf\x11\xe0" * 200,
          b"GIF89a", b"{}", b"[]", b"null", b"\xff\xfe", b"\0" * 2000,
          b"version https://x\n")  # fmt: skip
