"""The reference of the keys: all of them, each with unit, range and meaning; the page is it."""

from __future__ import annotations

import re
import tomllib
import typing
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from siteplan.cli import main
from siteplan.network import Network
from siteplan.network.__main__ import PAGE, page
from siteplan.network.reference import HEADINGS, KeyRow, network_reference, table_types, toml_text

ROWS = network_reference()
NUMBERS = [row for row in ROWS if row.kind == "number"]
#: The unit that the end of a key's name tells, longest first.
UNIT_OF_ENDING = {
    "_dbw_40khz": "dBW/40 kHz",
    "_kbit_s": "kbit/s",
    "_dbw_mhz": "dBW/MHz",
    "_dbw_m2": "dBW/m2",
    "_pa_per_m": "Pa/m",
    "_m_year": "m/a",
    "_kg_m2": "kg/m2",
    "_db_100m": "dB",
    "_ohm_km": "ohm/km",
    "_db_k": "dB/K",
    "_msps": "Msym/s",
    "_years": "a",
    "_m_s": "m/s",
    "_dbw": "dBW",
    "_dbm": "dBm",
    "_dbi": "dBi",
    "_ghz": "GHz",
    "_mhz": "MHz",
    "_khz": "kHz",
    "_deg": "deg",
    "_pct": "%",
    "_db": "dB",
    "_mm": "mm",
    "_ms": "ms",
    "_km": "km",
    "_pa": "Pa",
    "_kg": "kg",
    "_k": "K",
    "_m": "m",
    "_n": "N",
    "_h": "h",
    "_v": "V",
    "_w": "W",
}
#: Numbers whose name ends in no unit, with theirs; ratios have none.
UNIT_OF_NAME = {
    **{"lat": "deg", "lon": "deg", "bits_per_symbol": "bit"},
    **dict.fromkeys(("efficiency", "roll_off", "hub_outage_share", "buc_efficiency"), ""),
    **dict.fromkeys(("force_coefficient", "lift_coefficient", "friction", "safety_factor"), ""),
    **dict.fromkeys(("frame_base_ratio", "simultaneous_terminals", "frame_efficiency"), ""),
    **{"peak": "dBW or dB/K", "carriers": "", "activity": "", "utilisation": "", "years": "a"},
    **{"sessions": "", "sites_per_week": ""},
    **{"ratio": ""},
    # Money is the planner's own: no key names a currency.
    **dict.fromkeys(("price", *(row.key for row in ROWS if row.table == "costs")), ""),
    "discount_pct": "%",
}


def name_of(row: KeyRow) -> str:
    return f"{row.table}.{row.key}"


def told_unit(key: str) -> str:
    """Return the unit that a key's name tells."""
    if key in UNIT_OF_NAME:
        return UNIT_OF_NAME[key]
    return next(unit for ending, unit in UNIT_OF_ENDING.items() if key.endswith(ending))


def model_of(annotation: typing.Any) -> type[BaseModel]:
    """Return the table's type, told apart in another way than the reference does."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    found, _ = typing.get_args(annotation)
    assert issubclass(found, BaseModel)
    return found


def keys_of(model: type[BaseModel]) -> list[str]:
    """Return the keys of a table, without what another file holds and what is only asked."""
    inner = ("pattern_gains", "lines", "area_wkt")
    return [key for key in model.model_fields if key not in inner]


def test_the_reference_has_every_key_of_the_types_and_no_other() -> None:
    keys = [
        (table, key)
        for table, info in Network.model_fields.items()
        for key in keys_of(model_of(info.annotation))
    ]
    assert [(row.table, row.key) for row in ROWS] == keys


@pytest.mark.parametrize("row", ROWS, ids=name_of)
def test_each_key_has_unit_range_and_meaning(row: KeyRow) -> None:
    assert len(row.meaning) > 5
    assert not row.meaning.endswith(".")
    if row.kind in ("number", "numbers"):
        assert row.unit == told_unit(row.key)
        assert re.search(r"\d", row.range)
    else:
        assert not row.unit
        assert row.range
    if row.kind == "number":
        ends = [text for text in re.split(r" to |, ", row.range) if re.search(r"\d", text)]
        assert len(ends) == 2, "both ends of the range"


@pytest.mark.parametrize("row", NUMBERS, ids=name_of)
def test_both_ends_of_a_range_are_enforced(row: KeyRow) -> None:
    model, known = table_types()[row.table], _partners(row)
    low, high = (float(text) for text in re.findall(r"-?[\d.]+", row.range))
    step = 1e-6 * (high - low)
    for value in (low - step, high + step):
        with pytest.raises(ValidationError, match=f"{row.key}\n"):
            model.model_validate(known | {row.key: value})
    inside = float(row.default) if row.default else (low + high) / 2
    assert low <= inside <= high
    assert getattr(model.model_validate(known | {row.key: inside}), row.key) == inside
    if row.range.startswith("above"):
        with pytest.raises(ValidationError, match=f"{row.key}\n"):
            model.model_validate(known | {row.key: low})


def _partners(row: KeyRow) -> dict[str, typing.Any]:
    """Return what must be given with a key for its table to hold."""
    needed = {"satellite": {"longitude_deg": 1}, "antennas": {"diameter_m": 1}}
    needed |= {"bucs": {"rated_w": 1}, "cables": {"name": "a"}, "mounts": {"kind": "pole"}}
    needed |= {"neighbours": {"longitude_deg": 1}, "applications": {"name": "a"}}
    needed |= {"masks": {"name": "a", "reference_khz": 4, "segments": [[1, 180, 0, 0]]}}
    ellipse = {"lat": 0, "lon": 0, "major_deg": 1, "minor_deg": 1}
    needed |= {"contours": {"direction": "down", "peak": 50, **ellipse}}
    needed |= {"beams": {"name": "a", **ellipse}}
    pairs = {"lat": {"lon": 0}, "lon": {"lat": 0}}
    pairs |= {"eb_n0_db": {"bits_per_symbol": 1}, "bits_per_symbol": {"eb_n0_db": 1}}
    pairs |= {"equipment_mtbf_h": {"equipment_mttr_h": 1}}
    pairs |= {"equipment_mttr_h": {"equipment_mtbf_h": 100}}
    # What makes the middle of either range an efficiency of 0.65: 45 dBi at 14.66 GHz for 1.44 m.
    pairs |= {"gain_dbi": {"gain_ghz": 14.66, "diameter_m": 1.44}}
    pairs |= {"gain_ghz": {"gain_dbi": 45.0, "diameter_m": 0.75}}
    return needed.get(row.table, {}) | pairs.get(row.key, {})


def test_what_must_be_given_is_the_longitude_and_the_first_key_of_lists() -> None:
    firsts = {
        table: next(iter(model.model_fields))
        for table, model in table_types().items()
        if any(row.is_list for row in ROWS if row.table == table)
    }
    needed = {(row.table, row.key) for row in ROWS if row.required}
    of_masks = {("masks", "reference_khz"), ("masks", "segments")}
    assert needed == {("satellite", "longitude_deg"), *firsts.items(), *of_masks}
    lists = {"antennas", "bucs", "cables", "mounts", "overlays", "neighbours", "masks"}
    lists |= {"applications"}
    lists |= {"beams", "contours"}
    assert set(firsts) == lists


def test_the_page_is_what_the_code_makes() -> None:
    assert PAGE.read_text(encoding="utf-8") == page()  # else: python -m siteplan.network


def test_the_page_s_table_is_the_one_that_the_program_prints(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["fields", "--network", "--markdown"]) == 0
    printed = capsys.readouterr().out.strip()
    text = PAGE.read_text(encoding="utf-8")
    on_page = text[text.index("| Table |") : text.index("\n\n## Typical cables")]
    assert on_page == printed


def test_page_and_types_have_the_same_keys_both_ways() -> None:
    """Read from the page alone: a key that is gone may not stay, a new one must be there."""
    lines = PAGE.read_text(encoding="utf-8").split("\n## ")[0].splitlines()
    cells = [[c.strip() for c in line.split("|")[1:-1]] for line in lines if line.startswith("| ")]
    heading, rule, *rows = cells
    assert tuple(heading) == HEADINGS
    assert set(rule) == {"---"}
    assert all(len(row) == len(HEADINGS) for row in rows)
    assert [tuple(row[:2]) for row in rows] == [
        (table, key) for table, model in table_types().items() for key in keys_of(model)
    ]
    for row in rows:
        assert row[3] or told_unit_or_none(row[1]) == ""
        assert row[4]
        assert row[5]


def told_unit_or_none(key: str) -> str:
    """Return the unit that a key's name tells, '' for texts, dates and switches too."""
    return told_unit(key) if any(row.key == key for row in NUMBERS) else ""


def test_the_readme_leads_to_the_page() -> None:
    root = Path(__file__).parents[2]
    readme = (root / "README.md").read_text(encoding="utf-8")
    assert "(siteplan/network/README.md)" in readme
    assert root / "siteplan" / "network" / "README.md" == PAGE


@given(st.text(max_size=60))
def test_toml_text_of_texts_round_trips(text: str) -> None:
    plain = "".join(c for c in text if c.isprintable())
    assert tomllib.loads(f"x = {toml_text(plain)}")["x"] == plain


def test_a_list_tells_how_many_and_what_each_may_be() -> None:
    ranges = {(row.table, row.key): row.range for row in ROWS}
    assert ranges["hub", "antennas_m"] == "0 to 20 numbers, each above 0.3, up to 35"
    assert ranges["outbound", "modcods"] == "0 to 100 texts"
    assert not any("None" in told for told in ranges.values())
