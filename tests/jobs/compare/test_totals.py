"""Money and quantities of two plans that were made: what differs is told, in parts too."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from siteplan.answers.differences import TotalChange
from siteplan.jobs.compare.plans import compare_outputs, compare_plans
from tests.jobs.compare.conftest import NETWORK, Planned

PRICES: dict[str, Any] = {
    "antennas": [{**a, "price": 1000 * a["diameter_m"]} for a in NETWORK["antennas"]],
    "bucs": [{**b, "price": 100 * b["rated_w"]} for b in NETWORK["bucs"]],
    "cables": [{"name": "75 ohm, series 11", "price": 2}, {"name": "75 ohm, series 59", "price": 1},
               {"name": "75 ohm, series 6", "price": 1}],
    "mounts": [{"kind": k, "price": 50} for k in ("pole", "ground", "non_penetrating", "wall")],
    "costs": {"modem": 1200, "lnb": 80, "visit": 300},
}  # fmt: skip
DEARER = PRICES | {"costs": PRICES["costs"] | {"modem": 2400}}


def by_part(totals: tuple[TotalChange, ...]) -> dict[str, TotalChange]:
    return {change.part: change for change in totals}


@pytest.mark.parametrize("options", [{}, {"workers": 0}])
def test_a_dearer_modem_changes_no_site_and_is_no_nothing(
    options: dict[str, Any], planned: Planned, tmp_path: Path
) -> None:
    old, new = planned(PRICES, **options), planned(DEARER, **options)
    found, folder = compare_outputs(old, new, tmp_path / "out")
    assert found.same_sites
    assert not found.is_empty
    modem = by_part(found.totals)["modem"]
    assert modem.old == modem.new > 0
    assert (modem.old_cost, modem.new_cost) == (1200 * modem.old, 2400 * modem.new)
    assert {*by_part(found.totals)} <= {"cost", "priced", "spares", "modem"}
    key = "cost" if "cost" in by_part(found.totals) else "priced"
    change = by_part(found.totals)[key]
    assert change.new_cost - change.old_cost == pytest.approx(1200 * modem.old, abs=0.01)
    assert "Nothing changed" not in (folder / "differences.html").read_text(encoding="utf-8")


def test_parts_tell_the_same_totals_as_the_whole(planned: Planned) -> None:
    keys = {**PRICES, "antennas": PRICES["antennas"][1:]}
    whole = compare_plans(planned(PRICES), planned(keys))
    parts = compare_plans(planned(PRICES, workers=0), planned(keys, workers=0))
    assert whole.ordered
    assert parts.ordered
    assert repr(parts.totals) == repr(whole.totals)  # NaN is no other NaN
    assert {"antenna", "BUC"} & {change.part for change in whole.totals}


def test_the_summary_s_order_is_that_of_the_kit_list(planned: Planned, tmp_path: Path) -> None:
    """So that an earlier version's output, which has the list alone, is compared by it."""
    older = tmp_path / "older"
    shutil.copytree(planned(PRICES), older)
    path = older / "summary.json"
    summary = json.loads(path.read_text(encoding="utf-8"))
    del summary["order"]
    path.write_text(json.dumps(summary), encoding="utf-8")
    assert compare_plans(older, planned(PRICES)).is_empty
    (older / "kit.csv").unlink()
    found = compare_plans(older, planned(DEARER))
    assert not found.ordered
    assert found.told == (
        "older does not tell what was to be ordered: that is not compared. Make that plan again to"
        " compare it.",
    )
    assert "modem" not in by_part(found.totals)


def test_an_antenna_that_came_into_the_catalogue_is_named(planned: Planned) -> None:
    found = compare_plans(
        planned(), planned({"antennas": [*NETWORK["antennas"], {"diameter_m": 3.7}]})
    )
    assert [(c.key, c.old, c.new) for c in found.inputs] == [
        ("[[antennas]] diameter_m = 3.7", "", "{ diameter_m = 3.7 }")
    ]


def test_installed_kit_is_exchanged_and_planned_kit_is_not(planned: Planned) -> None:
    def stood(found: Any) -> dict[str, str]:
        return {site.site_id: site.stood for site in found.other_kit}

    stands = {"C": {"fixed_antenna_m": 2.4, "fixed_buc_w": 6}}
    assert stood(compare_plans(planned({}, stands), planned())) == {"C": "old"}
    assert stood(compare_plans(planned(), planned({}, stands))) == {"C": "new"}
    smaller = {"antennas": [{"diameter_m": d} for d in (1.1, 1.3, 2.0, 2.6)]}
    found = stood(compare_plans(planned(), planned(smaller)))
    assert found
    assert set(found.values()) == {""}
