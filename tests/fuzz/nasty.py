"""Values that nobody meant: what cells, keys and properties are replaced by."""

from __future__ import annotations

import datetime as dt
import json
from random import Random
from typing import Any

#: Texts as they turn up in tables, or as someone with a grudge would write them.
TEXTS = (
    *("", " ", "\t", "\n", "\r\n", "\0", "\x07", "\x1b[31m", "\ufeff", "\ufffe", "\x85", "\u2028"),
    *("nan", "NaN", "inf", "-inf", "Infinity", "1e309", "-1e309", "1e-400", "1e5", "0x1F", "1_000"),
    *("9" * 400, "0." + "3" * 400, "-0", "+.5", ".", "-", "--", "1.2.3", "1,234.5", "1.234,5"),
    *("=1+1", "+cmd", "-2+3", "@SUM(A1)", "\uff1dA1", '=HYPERLINK("x")', "'007", "#REF!", "#N/A"),
    *("\u05e9\u05dc\u05d5\u05dd", "\u202eabc", "\u0661\u0662.\u0663", "\U0001f4e1", "e\u0301", "ß"),
    *(
        '"',
        '""',
        "'",
        "a,b",
        "a;b",
        "a|b",
        "\\",
        "</script>",
        "&amp;",
        "<b>",
        "%s",
        "{0}",
        "{",
        "}",
    ),
    *("2026-02-30", "31/12/2026", "2026-01-01T00:00:00Z", "24:00", "36:49:12", "TRUE", "null"),
    *(
        "N",
        "S",
        "E",
        "W",
        "O",
        "12 N",
        "N 12 30 59.9999 E",
        "91",
        "-181",
        "361",
        "12°60'",
        "12d30m",
    ),
    *("../../etc", "C:\\x", "/dev/null", "con", "a" * 300, "å" * 5_000, "x\ny,z\n1,2"),
    *("[1, 2]", '{"a": 1}', "POINT (1 2)", "1 2", "-3.1, -60", "123456", "0", "1"),
)
#: Numbers at the ends of their kinds.
NUMBERS = (
    *(0, -0.0, 1, -1, 0.1, 90, 90.0001, -90, 180, 180.0001, 360, 361, 1e-320, 5e-324, 1e15, 1e16),
    *(2**31, 2**53 + 1, -(2**63), 2**63 - 1, 1e300, -1e308, 1.7976931348623157e308),
)
#: Numbers that are none.
NO_NUMBERS = (float("nan"), float("inf"), float("-inf"))
MOMENTS = (
    dt.datetime(2026, 2, 28, 12, 30),
    dt.datetime(1900, 1, 1),
    dt.date(9999, 12, 31),
    dt.time(23, 59, 59),
    dt.timedelta(hours=36, minutes=49, seconds=12),
)
NESTED: tuple[Any, ...] = ([], {}, [1, [2, [3]]], {"a": {"b": None}}, [None], ["x", 1, True])
#: JSON that no writer of it makes.
RAW_JSON = ("NaN", "Infinity", "1e309", "-1e999", "01", "'a'", "tru", "[" * 5_000, '"\\ud800"',
            "1" * 400, '"\\u0000"', "{" * 10, "", ",", '{"a":1,"a":2}')  # fmt: skip


def text(rng: Random) -> str:
    """Return a nasty text, now and then of random letters or a long one."""
    if rng.random() < 0.1:
        return "".join(chr(rng.randrange(0x3000)) for _ in range(rng.randrange(1, 12)))
    if rng.random() < 0.02:
        return rng.choice("x9 å") * rng.choice((200_000, 1_100_000))
    return rng.choice(TEXTS)


def number(rng: Random) -> float:
    """Return a number at the end of a range, or any."""
    if rng.random() < 0.2:
        return float(f"{rng.uniform(-400, 400):.{rng.randrange(9)}f}")
    return rng.choice((*NUMBERS, *NO_NUMBERS))


def cell(rng: Random, *, typed: bool) -> Any:
    """Return a value for a cell; ``typed`` where the file has kinds of values."""
    if not typed or rng.random() < 0.5:
        return text(rng)
    return rng.choice((number(rng), number(rng), rng.choice(MOMENTS), True, None))


def as_json(rng: Random) -> str:
    """Return a piece of JSON, valid or not."""
    pick = rng.random()
    if pick < 0.3:
        return rng.choice(RAW_JSON)
    if pick < 0.5:
        return json.dumps(rng.choice(NESTED))
    return json.dumps(text(rng) if pick < 0.75 else number(rng))
