"""Every word, mark, unit and stand-in that a cell may hold is read: none may go from its list."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.inputs.files.cells import Findings, unknown_mask
from siteplan.inputs.sites.numbers import compass_direction, parse_number
from siteplan.inputs.sites.optional import (
    NUMBER_RULES,
    read_numbers,
    read_structures,
    read_timezones,
)
from siteplan.inputs.sites.spelling import parse_angle

RULES = {rule.key: rule for rule in NUMBER_RULES}

UNKNOWN = (
    "",
    *("-", "--", "---", "?", "??", "n/a", "na", "n.a.", "#n/a", "nan", "nil", "none", "null"),
    *("<na>", "nat", "unknown", "not known", "tbd", "tbc", "t.b.d.", "t.b.c.", "(blank)"),
)
BROKEN = ("#ref!", "#value!", "#div/0!", "#name?", "#num!", "#null!", "#spill!", "#calc!")
#: Numbers that people write for 'unknown', outside of what any column here can mean.
STAND_INS = ("99", "999", "9999", "99999", "-9", "-99", "-999", "-9999", "-99999", "0", "-1")

FOOT, KM_H, MPH, KNOT = 0.3048, 1000 / 3600, 0.44704, 1852 / 3600
#: Units that a cell may carry, with their factors (exact by definition), by column.
UNITS = {
    "altitude_m": {"m": 1, "metre": 1, "metres": 1, "meter": 1, "meters": 1,
                   "ft": FOOT, "feet": FOOT, "foot": FOOT},
    "wind_m_s": {"m/s": 1, "km/h": KM_H, "kmh": KM_H, "kph": KM_H, "mph": MPH, "kt": KNOT,
                 "kn": KNOT, "knots": KNOT},
    "wall_facing_deg": {"°": 1, "deg": 1, "degrees": 1},
    "availability_pct": {"%": 1, "pct": 1, "percent": 1},
    "fixed_buc_w": {"w": 1, "watt": 1},
}  # fmt: skip
COMPASS = (
    *("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE"),
    *("S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"),
)


def cells(*texts: str) -> np.ndarray:
    return np.array([*texts, None], dtype=object)[:-1]


def one(key: str, cell: str, **options) -> tuple[float, list[str], list[str]]:
    found = Findings()
    (value,) = read_numbers(cells(cell), RULES[key], found, **options)
    notes = [note.sentence for note in found.notes.get(0, [])]
    return float(value), [fault.reason for fault in found.faults.get(0, [])], notes


@pytest.mark.parametrize("capitals", [str, str.upper, str.title])
def test_every_word_for_unknown(capitals) -> None:
    words = [capitals(word) for word in UNKNOWN]
    assert unknown_mask(cells(*words)).all()
    for read in (read_structures, read_timezones):
        found = Findings()
        assert read(cells(*words), found).tolist() == [""] * len(words)
        assert found.notes == {}


def test_other_words_are_not_unknown() -> None:
    assert not unknown_mask(cells("wall", "0", ".", "x", "no")).any()


@pytest.mark.parametrize("word", BROKEN)
def test_every_broken_formula(word: str) -> None:
    assert one("altitude_m", word)[1] == [f"altitude_m '{word}' is a broken formula"]
    assert one("altitude_m", word.upper())[1] == [
        f"altitude_m '{word.upper()}' is a broken formula"
    ]


@pytest.mark.parametrize("key", RULES)
def test_every_stand_in_that_the_column_cannot_mean(key: str) -> None:
    """Also those that lie within its limits and are absurd: no wind at all, 999 m of cable."""
    rule = RULES[key]
    absurd = {"cable_m": {"999"}, "wind_m_s": {"0", "99"}, "fixed_buc_w": {"999"}}.get(key, set())
    for text in STAND_INS:
        value, faults, notes = one(key, text)
        if rule.low <= float(text) <= rule.high and text not in absurd:
            assert (value, faults, notes) == (float(text), [], [])
        else:
            assert np.isnan(value)
            assert faults == []
            assert notes == [f"{key} {text} looks like a placeholder: taken as unknown."]


@pytest.mark.parametrize("key", RULES)
def test_limits_belong_to_the_range(key: str) -> None:
    rule = RULES[key]
    for limit in (rule.low, rule.high):
        if f"{limit:g}" not in STAND_INS and key != "wall_facing_deg":
            assert one(key, repr(limit)) == (limit, [], [])
    for beyond in (rule.low - 0.0625, rule.high * 1.0625):
        value, faults, notes = one(key, repr(beyond))
        assert np.isnan(value)
        assert (faults, len(notes)) == ([], 1)


def test_every_unit_of_a_cell() -> None:
    for key, units in UNITS.items():
        assert dict(RULES[key].units) == pytest.approx(units, rel=1e-15)
        for unit, factor in units.items():
            number = 60.5
            value, faults, notes = one(key, f"{number} {unit.upper()}")
            assert value == pytest.approx(number * factor, rel=1e-15)
            told = [f"{key} '60.5 {unit.upper()}': converted from {unit.upper()}."]
            assert (faults, notes) == ([], told if factor != 1 else [])
    assert RULES["cable_m"].units == RULES["roof_height_m"].units == RULES["altitude_m"].units


def test_a_column_in_feet_with_decimal_commas() -> None:
    """The factor is for every number without a unit of its own, whatever its mark."""
    for text in ("1000,5", "1000.5", "1 000,5", "1000.5 ft", "1.0005e3"):
        options = {"factor": FOOT, "comma": "," in text}
        assert one("altitude_m", text, **options)[0] == pytest.approx(1000.5 * FOOT, rel=1e-15)
    for text in ("1000,5 m", "1000.5 m"):
        value, _, notes = one("altitude_m", text, factor=FOOT)
        assert value == 1000.5
        assert notes == [f"altitude_m '{text}': taken in m, as the cell says."]


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("12", 12), ("-12", -12), ("+12.5", 12.5), (".5", 0.5), ("12.", 12), ("1e3", 1000),
        ("1.5E-2", 0.015), ("12,5", 12.5), (",5", 0.5), ("0,123", 0.123), ("1234,567", 1234.567),
        ("−12", -12), ("–12", -12), ("‐12", -12), ("‑12", -12), ("﹣12", -12), ("－12", -12),
    ],
)  # fmt: skip
def test_numbers_without_a_note(text: str, number: float) -> None:
    assert parse_number(text) == (number, None)


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("1,234,567", 1234567), ("1.234.567", 1234567), ("1 234 567", 1234567),
        ("1'234'567", 1234567), ("1’234’567", 1234567), ("1\xa0234\xa0567", 1234567),
        ("1\u202f234", 1234), ("12,345.25", 12345.25), ("12.345,25", 12345.25),
        ("12 345.25", 12345.25), ("12 345,25", 12345.25), ("12'345,25", 12345.25),
        ("-1,234.5", -1234.5),
    ],
)  # fmt: skip
def test_every_thousands_mark(text: str, number: float) -> None:
    got, note = parse_number(text)
    assert got == number
    assert note is not None
    assert note(column="x", text=text).sentence == f"x '{text}': thousands marks left out."


def test_every_compass_point() -> None:
    for k, point in enumerate(COMPASS):
        assert compass_direction(point) == 22.5 * k
        assert compass_direction(point.lower()) == 22.5 * k
    for word, degrees in {"north": 0, "East": 90, "SOUTH": 180, "west": 270}.items():
        assert compass_direction(word) == degrees
    assert compass_direction("north-north-west") == 337.5
    assert compass_direction("NEN") is None
    assert compass_direction("N/W") is None


HEMISPHERES = {
    "N": "N North Nord Norte",
    "S": "S South Süd Sued Sud Sur Sul",
    "E": "E East Ost Est Este Leste",
    "W": "W West Ouest Oeste Ovest",
}


def test_every_word_for_a_hemisphere() -> None:
    for letter, words in HEMISPHERES.items():
        sign = -1 if letter in "SW" else 1
        for word in words.split():
            for text in (f"12.25 {word}", f"12.25{word}", f"{word} 12.25", f"12.25° {word}"):
                got = parse_angle(text)
                assert (got.degrees, got.letter, got.note) == (sign * 12.25, letter, None), text


ROUND = "°º˚∘⁰ᵒ"
SINGLE, DOUBLE = "'’‘‛′´`ʹʼ＇", '"”“‟″ʺ〃＂'
UNSEEN = "\u200b\u200c\u200d\u200e\u200f\ufeff\u00ad\u2060\u202a\u202b\u202c\u202d"


def test_every_mark_of_an_angle() -> None:
    truth = 12 + 34 / 60 + 56 / 3600
    texts = [
        f"12{mark}34'56\""
        for mark in (*ROUND, "Â°", "Âº", "d", " deg", " degs", " degree", " degrees", " deg.")
    ]
    texts += [
        f'12°34{mark}56"'
        for mark in (*SINGLE, "â€²", "â€™", "m", " min", " mins", " minute", " minutes", " min.")
    ]
    texts += [
        f"12°34'56{mark}"
        for mark in (
            *DOUBLE,
            "''",
            "â€³",
            "â€",
            " sec",
            " secs",
            " second",
            " seconds",
            " sec.",
            "",
        )
    ]
    texts += [f"12°34'{mark}56\"" for mark in UNSEEN]
    for text in texts:
        assert parse_angle(text).degrees == pytest.approx(truth, abs=1e-12), text
    for dash in "−–—‐‑‒﹣－-":
        assert parse_angle(f"{dash}12.5").degrees == -12.5, dash
    assert parse_angle("12٫5").degrees == 12.5
