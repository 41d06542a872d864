"""Outputs that are not whole, not of one piece or not in order: said, and never mistaken."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from siteplan.cli import main
from siteplan.errors import OutputError, ProjectError
from siteplan.jobs.compare.earlier import open_earlier, told_apart
from siteplan.jobs.compare.plans import compare_outputs, compare_plans
from tests.jobs.compare.conftest import Planned

ALONE = "The plans are compared by their results only, and no cause is known."
DAMAGED = "In the folder inputs of old, {} cannot be read or is missing."
APART = "The folder inputs of old holds other sites than its table of results."


def copied(folder: Path, to: Path) -> Path:
    """Return a copy of a plan's output, to be changed."""
    shutil.copytree(folder, to)
    return to


def made(folder: Path, **other: Any) -> None:
    """Change what a plan tells of how it was made."""
    path = folder / "inputs" / "methods.json"
    told = json.loads(path.read_text(encoding="utf-8"))
    path.write_text(json.dumps(told | other), encoding="utf-8")


def lines(change: Callable[[list[str]], list[str]]) -> Callable[[Path], None]:
    """Change the lines of the sites that a plan kept."""

    def edit(folder: Path) -> None:
        path = folder / "inputs" / "sites.csv"
        path.write_text("\n".join(change(path.read_text("utf-8").splitlines())) + "\n", "utf-8")

    return edit


def without(name: str) -> Callable[[Path], None]:
    return lambda folder: (folder / "inputs" / name).unlink()


def written(name: str, text: str) -> Callable[[Path], None]:
    return lambda folder: (folder / "inputs" / name).write_text(text, "utf-8") and None


@pytest.mark.parametrize(
    ("damage", "told"),
    [
        (without("methods.json"), DAMAGED.format("methods.json")),
        (written("methods.json", 'date = "x"'), DAMAGED.format("methods.json")),
        (without("network.toml"), DAMAGED.format("network.toml")),
        (without("sites.csv"), DAMAGED.format("sites.csv")),
        (lines(lambda all_: all_[:-1]), APART),
        (lines(lambda all_: [all_[0], all_[2], all_[1], *all_[3:]]), APART),
        (
            lambda folder: made(folder, format=99),
            "The folder inputs of old was written in another form than this version writes.",
        ),
        (
            written("network.toml", "[satelite]\nlongitude_deg = 3\n"),
            "The network in the folder inputs of old cannot be read any more (network.toml: unknown"
            " table [satelite]. Did you mean [satellite]?)",
        ),
    ],
)
def test_inputs_of_no_use_are_told_for_what_they_are(
    damage: Callable[[Path], None], told: str, planned: Planned, tmp_path: Path
) -> None:
    old = copied(planned(), tmp_path / "old")
    damage(old)
    found = compare_plans(old, planned())
    assert found.by_results
    assert found.told == (told, ALONE)
    assert found.is_empty
    assert (found.common, found.added, found.gone) == (6, (), ())


@pytest.mark.parametrize(
    ("damage", "where"),
    [
        (lambda folder: made(folder, date="x"), "old/inputs/methods.json"),
        (lambda folder: made(folder, date="2026-13-01"), "old/inputs/methods.json"),
        (lines(lambda all_: [*all_[:-1], all_[-1][:20]]), "old/inputs/sites.csv"),
        (written("obstructions.csv", "site_id,from_deg\nA,x\n"), "old/inputs/obstructions.csv"),
    ],
)
def test_a_file_cut_off_or_changed_names_its_plan(
    damage: Callable[[Path], None], where: str, planned: Planned, tmp_path: Path
) -> None:
    old = copied(planned(), tmp_path / "old")
    damage(old)
    with pytest.raises(ProjectError, match="it is not as a plan writes it") as caught:
        compare_plans(old, planned())
    assert caught.value.where == where


def test_guards_of_ids_are_no_other_sites(planned: Planned) -> None:
    """What the tables put before ids that would run as formulas does not tell them apart."""
    cells = {name: {"lat": -5, "lon": -60 + k} for k, name in enumerate(("=1", "'=2", "'' x"))}
    assert open_earlier(planned({}, cells)).why == ""


def test_an_id_that_was_renamed_is_told_by_its_place(planned: Planned) -> None:
    place = {"name": "Harbour", "lat": -3.1, "lon": -60.02, "structure": "ground"}
    found = compare_plans(planned(), planned({}, {"A": None, "A-new": place}))
    assert [(s.site_id, s.why) for s in found.gone] == [("A", "its place has the id A-new now")]
    assert [(s.site_id, s.why) for s in found.added] == [("A-new", "its place had the id A")]
    assert found.sites == ()


def test_folders_of_one_name_are_told_apart(planned: Planned, tmp_path: Path) -> None:
    old, new = (copied(planned(), tmp_path / k / "output" / "x") for k in ("may", "june"))
    found = compare_plans(old, new)
    assert (found.old.folder, found.new.folder) == ("may/output/x", "june/output/x")
    shutil.rmtree(new / "inputs")
    assert compare_plans(old, new).told[0].startswith("june/output/x has no folder inputs")
    assert told_apart(old, old) == ("x", "x")
    assert told_apart(old, tmp_path / "y") == ("x", "y")


def test_plans_in_the_wrong_order_are_told(planned: Planned) -> None:
    later = planned({"network": {"date": "2026-10-01"}})
    told = "The new plan is of 2026-09-01, before the old one of 2026-10-01: did the two folders"
    assert compare_plans(later, planned()).told[0] == f"{told} change places?"
    assert compare_plans(planned(), later).told == ()


def test_differences_are_not_laid_among_the_inputs(planned: Planned, tmp_path: Path) -> None:
    old = copied(planned(), tmp_path / "old")
    before = sorted(p.name for p in (old / "inputs").iterdir())
    with pytest.raises(OutputError, match=r"sites\.csv is read from there"):
        compare_outputs(old, planned(), old / "inputs")
    assert sorted(p.name for p in (old / "inputs").iterdir()) == before


def test_the_screen_tells_inputs_that_change_no_result(
    planned: Planned, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    new = planned({"costs": {"visit": 100}})
    assert main(["compare", str(planned()), str(new), "--output", str(tmp_path / "out")]) == 0
    shown = capsys.readouterr().out
    assert "Nothing changed: 6 sites come to the same." in shown
    assert "[costs] visit" in shown


def test_long_values_alike_at_their_beginning_are_told_apart(planned: Planned) -> None:
    """Two files of contours that differ far behind show as two, not as the same twice."""
    from siteplan.planning.differences.told import both_told

    first = [f"point {k}" for k in range(60)]
    was, is_ = both_told(first, [*first[:-1], "another"])
    assert was != is_
    assert was[:80] == is_[:80]
    assert "(contents " in was
    assert both_told(None, 1.5) == ("", "1.5")
    found = compare_plans(planned(), planned({"terminal": {"lnb_noise_k": 200}}))
    assert [(c.key, c.new) for c in found.inputs] == [("[terminal] lnb_noise_k", "200")]
