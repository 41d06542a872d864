"""The page of ``siteplan site``."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from siteplan.answers import Remedy
from siteplan.fields import FIELDS
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.outputs import console
from siteplan.outputs.console.site import SITE_BLOCKS
from siteplan.planning.plan import make_plan
from siteplan.results import Plan

#: Headings whose every field wants a key of network.toml.
OPTIONAL = (
    "Cost as the only site",
    "Satellite's beam",
    "Adaptive coding",
    "Interference",
    "Licence",
)


@pytest.fixture
def one(worked_plan: Plan) -> Plan:
    """A plan of one site that is seen."""
    columns = {name: values[5:6] for name, values in worked_plan.columns.items()}
    return Plan(columns, {}, worked_plan.network, ())


def told(plan: Plan, capsys: pytest.CaptureFixture[str]) -> list[str]:
    console.show_site(plan)
    return capsys.readouterr().out.splitlines()


def cells(lines: list[str]) -> list[list[str]]:
    """Return labels and values, which stand apart by a column as wide as the widest label."""
    return [re.split(" {2,}", line.strip(), maxsplit=1) for line in lines]


def test_blocks_in_order(one: Plan, capsys: pytest.CaptureFixture[str]) -> None:
    lines = told(one, capsys)
    all_headings = [h for h, _ in SITE_BLOCKS] + ["Margin with each antenna"]
    # Blocks whose every field wants a key of network.toml stand only where it is given.
    headings = [h for h in all_headings if h not in OPTIONAL]
    assert [line for line in lines if line in all_headings] == headings
    for _, names in SITE_BLOCKS:
        for name in [name for name in names if name in one.columns]:
            assert any(line.startswith(f"  {FIELDS[name].label}") for line in lines), name


def test_units_are_spelled_out(one: Plan, capsys: pytest.CaptureFixture[str]) -> None:
    elevation = float(one.columns["elevation_deg"][0])
    assert ["Elevation", f"{elevation:.2f} deg"] in cells(told(one, capsys))


def test_a_dash_where_there_is_no_answer(
    make_plan: Callable[..., Plan], one: Plan, capsys: pytest.CaptureFixture[str]
) -> None:
    columns = {**one.columns, "margin_db": np.array([np.nan])}
    columns["no_fit_reason"] = np.array(["Nothing fits."], dtype=object)
    lines = told(Plan(columns, {}, one.network, ()), capsys)
    assert [FIELDS["margin_db"].label, "-"] in cells(lines)
    assert "Nothing fits." in lines


def test_the_table_library_is_not_loaded() -> None:
    import subprocess
    import sys

    code = (
        "import sys; from siteplan.outputs import console; console.show_site;"
        "print(sorted({'rich', 'pandas'} & {m.split('.')[0] for m in sys.modules}))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_what_it_would_take_is_told_of_a_site_that_needs_it(
    one: Plan, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "What it would take" not in told(one, capsys)
    remedies = (
        Remedy("S", "buc", "8 W BUC instead of 4 W", 2.0, 0.3, True),
        Remedy("S", "target", "Target 99.3 % instead of 99.5 %", 1.0, -0.7, False),
    )
    lines = told(replace(one, facts=replace(one.facts, remedies=remedies)), capsys)
    at = lines.index("What it would take")
    assert lines[at + 1 : at + 3] == [
        "  8 W BUC instead of 4 W: +2.0 dB, then served",
        "  Target 99.3 % instead of 99.5 %: +1.0 dB, then still 0.7 dB short of the reserve",
    ]


def test_interference_and_licence_stand_where_they_are_given(
    capsys: pytest.CaptureFixture[str],
) -> None:
    network = Network.model_validate(
        {
            "network": {"date": "2026-03-01"},
            "satellite": {"longitude_deg": 13.0},
            "hub": {"lat": 50.1, "lon": 8.7},
            "neighbours": [{"longitude_deg": 15.0}],
            "regulation": {"masks": ["47cfr25_ku"]},
            "contours": [
                {
                    "direction": "down",
                    "lat": 45,
                    "lon": 9,
                    "major_deg": 4,
                    "minor_deg": 3,
                    "peak": 51,
                }
            ],
        }
    )
    plan = make_plan(Sites.at(np.array([45.0]), np.array([9.0])), network)
    lines = told(plan, capsys)
    assert "Satellite's beam" in lines
    assert f"  {FIELDS['satellite_eirp_dbw'].label:<32} 51.0 dBW" in lines
    assert "Interference" in lines
    assert "Licence" in lines
    for name in ("outbound_ci_db", "off_axis_margin_db", "emission"):
        assert any(line.startswith(f"  {FIELDS[name].label} ") for line in lines), name


def test_the_second_column_stands_straight_beside_the_widest_label(
    one: Plan, capsys: pytest.CaptureFixture[str]
) -> None:
    """A label of 32 letters, as of C/I from the other polarization, moves every value alike."""
    name = "outbound_ci_cross_polar_db"
    assert len(FIELDS[name].label) == 32
    lines = told(Plan({**one.columns, name: np.array([21.5])}, {}, one.network, ()), capsys)
    assert f"  {FIELDS[name].label} 21.5 dB" in lines
    rows = [line for line in lines if line.startswith("  ")]
    assert len(rows) > 15
    assert {line[2 + 32] for line in rows} == {" "}
    assert " " not in {line[2 + 32 + 1] for line in rows}
