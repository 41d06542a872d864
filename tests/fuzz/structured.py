"""Changes that keep a file well formed, or nearly: cells, JSON, XML, TOML, databases, metadata."""

from __future__ import annotations

import io
import json
import re
import sqlite3
from collections.abc import Sequence
from random import Random
from typing import Any
from xml.sax.saxutils import escape

from tests.fuzz import nasty
from tests.fuzz.tables import Rows

_JSON = re.compile(r'"(?:[^"\\]|\\.)*"|-?\d+(?:\.\d+)?(?:e-?\d+)?|true|false|null|\[\]|\{\}')
_XML = re.compile(r">([^<]*)<|=\"([^\"]*)\"|<(/?[A-Za-z]+)")
_TOML_VALUES = ("nan", "inf", "-inf", "1e309", "9" * 40, "-1", "0", "true", '""', "[]",
                "{}", "[[]]",
                "2026-13-01", "2026-01-01", "07:32:00", "1979-05-27T07:32:00Z",
                "'''x'''", "[1, 'a']",
                "{a = {b = 1}}", "[" * 5_000, "[" * 400 + "]" * 400, "0x10", "1_0", "\"\\u0000\"",
                '"\\ud800"', "x", "1,5", "12°", '"a\nb"', "[nan]", "[inf, 1]",
                "1e-320")  # fmt: skip


def cells_changed(
    rng: Random, headings: Sequence[str], rows: Rows, *, typed: bool
) -> tuple[list[str], list[list[Any]]]:
    """Return a table of which some cells, a heading, a row or a column are not what they were."""
    names, table = list(headings), [list(row) for row in rows]
    for _ in range(rng.choice((1, 2, 3, 6, 12))):
        table[rng.randrange(len(table))][rng.randrange(len(names))] = nasty.cell(rng, typed=typed)
    pick = rng.random()
    if pick < 0.12:
        names[rng.randrange(len(names))] = nasty.text(rng)
    elif pick < 0.18:
        names[rng.randrange(len(names))] = rng.choice(names)
    elif pick < 0.26:
        table.insert(rng.randrange(len(table)), list(rng.choice([names, *table])))
    elif pick < 0.32:
        at = rng.randrange(len(names))
        value = nasty.cell(rng, typed=typed)
        for row in table:
            row[at] = value
    elif pick < 0.36:
        table = table[: rng.randrange(2)] * rng.choice((1, 1, 150))
    return names, table


def json_changed(rng: Random, data: bytes) -> bytes:
    """Return JSON with some values or keys replaced, or a whole branch."""
    text = data.decode("utf-8", "replace")
    if rng.random() < 0.4:
        text = _branch_changed(rng, text)
    for _ in range(rng.choice((0, 1, 1, 2, 5))):
        found = list(_JSON.finditer(text))
        if found:
            at = rng.choice(found)
            text = text[: at.start()] + nasty.as_json(rng) + text[at.end() :]
    return text.encode("utf-8", "replace")


def _branch_changed(rng: Random, text: str) -> str:
    try:
        tree = json.loads(text)
    except (ValueError, RecursionError):
        return text
    place, key = tree, None
    for _ in range(rng.randrange(1, 9)):
        below: Any = place if key is None else place[key]
        if not isinstance(below, dict | list) or not below:
            break
        keys = list(below) if isinstance(below, dict) else range(len(below))
        place, key = below, rng.choice(keys)
    if key is None:
        return text
    if rng.random() < 0.3:
        del place[key]
    else:
        place[key] = rng.choice(
            (rng.choice(nasty.NESTED), nasty.number(rng), nasty.text(rng), None)
        )
    return json.dumps(tree, ensure_ascii=False)


def xml_changed(rng: Random, data: bytes) -> bytes:
    """Return XML with some texts, attributes or tags replaced."""
    text = data.decode("utf-8", "replace")
    for _ in range(rng.choice((1, 1, 2, 5))):
        found = [m for m in _XML.finditer(text) if m.lastindex]
        if not found:
            break
        at = rng.choice(found)
        start, end = at.span(at.lastindex or 0)
        new = escape(nasty.text(rng)) if rng.random() < 0.8 else rng.choice(_XML_PIECES)
        text = text[:start] + new + text[end:]
    return text.encode("utf-8", "replace")


_XML_PIECES = ("&lol;", "&#0;", "&#xD800;", "<![CDATA[", "<!--", "<a>" * 3_000, "Polygon", "Track",
               "gx:coord", "1,2 3,4", ",", "1,2,3,4", "Placemark",
               "<!DOCTYPE x [<!ENTITY a 'b'>]>&a;")  # fmt: skip


def toml_changed(rng: Random, data: bytes) -> bytes:
    """Return TOML with some values replaced, lines doubled, moved or left out."""
    lines = data.decode("utf-8", "replace").split("\n")
    for _ in range(rng.choice((1, 1, 2, 4))):
        at = rng.randrange(len(lines))
        pick = rng.random()
        if pick < 0.7 and "=" in (line := lines[at].partition("#")[0]):
            value = rng.choice(_TOML_VALUES) if rng.random() < 0.6 else nasty.as_json(rng)
            lines[at] = f"{line.partition('=')[0]}= {value}"
        elif pick < 0.8:
            lines.insert(rng.randrange(len(lines)), lines[at])
        elif pick < 0.9 and len(lines) > 1:
            del lines[at]
        else:
            table = nasty.text(rng) if rng.random() < 0.5 else rng.choice(("site", "hub.x", "hub"))
            lines[at] = rng.choice(("[{}]", "[[{}]]", "{} = 1", "{}.a.b = 2")).format(table)
    return "\n".join(lines).encode("utf-8", "replace")


def database_changed(rng: Random, data: bytes) -> bytes:
    """Return an SQLite database of which cells were replaced: it holds any value in any column."""
    base = sqlite3.connect(":memory:")
    try:
        base.deserialize(data)
        for (name,) in base.execute(
            "SELECT name FROM sqlite_master WHERE type='trigger'"
        ).fetchall():
            base.execute(f'DROP TRIGGER "{name}"')
        tables = [n for (n,) in base.execute("SELECT name FROM sqlite_master WHERE type='table'")
                  if not n.startswith(("rtree", "sqlite"))]  # fmt: skip
        for _ in range(rng.choice((1, 1, 2, 4))):
            _cell_of(rng, base, rng.choice(tables))
        return bytes(base.serialize())
    except sqlite3.Error:
        return data
    finally:
        base.close()


def _cell_of(rng: Random, base: sqlite3.Connection, table: str) -> None:
    columns = [row[1] for row in base.execute(f'PRAGMA table_info("{table}")')]
    value = rng.choice((None, nasty.text(rng), nasty.number(rng), b"GP\0\1", b"", 4326, -1, 3857))
    if isinstance(value, int) and not -(2**63) <= value < 2**63:
        value = 0
    where = f"WHERE rowid = {rng.randrange(1, 13)}" if rng.random() < 0.6 else ""
    try:
        base.execute(f'UPDATE "{table}" SET "{rng.choice(columns)}" = ? {where}', (value,))
    except (sqlite3.Error, UnicodeEncodeError):
        base.execute(f'DELETE FROM "{table}" {where}')


def parquet_changed(rng: Random, data: bytes) -> bytes:
    """Return a Parquet file with a column of an odd kind, or other metadata of its geometry."""
    import pyarrow.parquet as pq

    table = pq.read_table(io.BytesIO(data))
    metadata = dict(table.schema.metadata or {})
    if b"geo" in metadata and rng.random() < 0.6:
        metadata[b"geo"] = json_changed(rng, metadata[b"geo"])
        table = table.replace_schema_metadata(metadata)
    else:
        column = _odd_column(rng, table.num_rows)
        at = rng.randrange(table.num_columns)
        table = table.set_column(at, table.schema.names[at], column)
    out = io.BytesIO()
    pq.write_table(table, out)
    return out.getvalue()


def _odd_column(rng: Random, count: int) -> Any:
    import datetime as dt
    import decimal

    import pyarrow as pa

    when = dt.datetime(2026, 2, 3, 4, 5, 6)
    value, kind = rng.choice((
        ([1, 2], pa.list_(pa.int64())), ({"x": 1.0, "y": 2.0}, None), (b"\xff\0", pa.binary()),
        (b"\1\1\0\0\0", pa.binary()), (decimal.Decimal("58.25"), pa.decimal128(9, 4)),
        (when, pa.timestamp("ns", tz="Asia/Kathmandu")), (when, pa.timestamp("s")),
        (dt.time(3), pa.time64("us")), (dt.timedelta(1), pa.duration("ms")), (True, pa.bool_()),
        (None, pa.null()), (7, pa.uint64()), (1.5, pa.float32()), (None, pa.float64()),
        ([("a", 1)], pa.map_(pa.string(), pa.int64())), (float("inf"), pa.float64()),
        (2**63, pa.uint64()), (dt.date(1, 1, 1), pa.date32()), ("x", pa.large_string()),
    ))  # fmt: skip
    values = [value if rng.random() < 0.9 else None for _ in range(count)]
    if rng.random() < 0.2 and isinstance(value, str):
        return pa.array(values).dictionary_encode()
    return pa.array(values, kind)
