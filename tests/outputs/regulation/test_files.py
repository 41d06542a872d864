"""The folder regulation, read back: tables equal the plan's, drawings the licence's curves."""

from __future__ import annotations

import csv
import dataclasses
import math
import re
import shutil
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pytest
from lxml import etree

from siteplan.answers.licence import MaskCurves, MaskDrawing
from siteplan.api import plan_project
from siteplan.fields import lookup
from siteplan.inputs.sites.coordinates import parse_coordinates
from siteplan.jobs import products
from siteplan.jobs.plan import Outcome
from siteplan.outputs.escaping import as_given
from siteplan.outputs.regulation.drawing import drawing_text
from siteplan.outputs.regulation.files import write_regulation
from tests.samples import FROZEN

SVG = "{http://www.w3.org/2000/svg}"
#: A name that a spreadsheet would run and markup would break on.
HOSTILE = "=cmd('x') <b>\"&\u0001"
OWN = f"""
[[masks]]
name = {"'''" + HOSTILE.replace(chr(1), "") + "'''"}
reference_khz = 40
angle_from = "satellite"
segments = [[1.8, 7, 24, 25], [9, 48, 29, 25]]
"""
#: Half of a step of a drawing's coordinates.
HALF = 0.051


class Written(NamedTuple):
    """A project with masks, planned: its outcome and its folder."""

    project: Path
    outcome: Outcome

    @property
    def folder(self) -> Path:
        return self.outcome.folder / "regulation"


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def project_of(folder: Path, more: str) -> Path:
    """A sample of some sites with more keys, one of its names nasty."""
    sample = FROZEN / "river_clinics"
    shutil.copytree(sample, folder)
    sites = (folder / "sites.csv").read_text(encoding="utf-8").splitlines()
    sites[2] = re.sub("^([^,]*),[^,]*", r"\1,=1+1", sites[2])
    (folder / "sites.csv").write_text("\n".join(sites[:25]) + "\n", encoding="utf-8")
    (folder / "obstructions.csv").unlink(missing_ok=True)
    path = folder / "network.toml"
    path.write_text(path.read_text(encoding="utf-8") + more, encoding="utf-8")
    return folder


MASKED = f'[regulation]\nmasks = ["47cfr25_ku", "s728_1", {OWN.splitlines()[2][7:]}]\n{OWN}'


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Written:
    folder = tmp_path_factory.mktemp("regulation")
    project = project_of(folder / "project", MASKED)
    return Written(project, plan_project(project, folder / "out", with_sheets=False))


def test_the_hub_s_row_stands_first_in_both(written: Written) -> None:
    licence = known(written)
    for name in ("types.csv", "sites.csv"):
        first, *others = rows(written.folder / name)
        assert first["kind"] == "hub"
        assert {row["kind"] for row in others} == {"terminal"}
        for field in ("antenna_m", "off_axis_margin_db", "eirp_density_dbw_4khz"):
            assert float(first[field]) == pytest.approx(getattr(licence.hub, field), abs=0.051)
        assert first["emission"] == licence.hub.emission
    hub = rows(written.folder / "sites.csv")[0]
    assert (float(hub["lat"]), hub["lat_dms"]) == (-15.8, "15 48 00.00 S")


def known(written: Written) -> Any:
    assert written.outcome.plan is not None
    assert written.outcome.plan.facts.licence is not None
    return written.outcome.plan.facts.licence


def test_types_say_what_the_licence_holds(written: Written) -> None:
    found = rows(written.folder / "types.csv")[1:]
    for row, kind in zip(found, known(written).types, strict=True):
        for name, text in row.items():
            value = getattr(kind, name, None)
            if isinstance(value, float):
                decimals = len(text.partition(".")[2])
                assert float(text) == pytest.approx(value, abs=0.51 * 10**-decimals), name
            elif value is not None:
                assert as_given(text) == str(value)
    assert sum(int(row["sites"]) for row in found) == len(rows(written.folder / "sites.csv")) - 1


def test_the_sites_figures_are_those_of_the_plan_s_table(written: Written) -> None:
    table = {row["site_id"]: row for row in rows(written.outcome.folder / "sites.csv")}
    found = rows(written.folder / "sites.csv")[1:]
    served = [name for name, row in table.items() if row["off_axis_margin_db"]]
    assert [row["site_id"] for row in found] == served
    shared = [name for name in found[0] if name in table[served[0]]]
    assert len(shared) > 15
    for row in found:
        for name in shared:
            field = lookup(name)
            assert field is not None
            if field.is_text:
                assert row[name] == table[row["site_id"]][name]
            else:
                assert float(row[name]) == float(table[row["site_id"]][name]), name
        for name in ("feed_density_dbw", "eirp_density_dbw"):
            wide = float(row[f"{name}_40khz"]) - float(row[f"{name}_4khz"])
            assert wide == pytest.approx(10, abs=1e-9)  # as wide as ten of the other


def test_types_and_sites_agree(written: Written) -> None:
    sites = rows(written.folder / "sites.csv")[1:]
    for kind in rows(written.folder / "types.csv")[1:]:
        of = [
            s for s in sites if (s["antenna_m"], s["buc_w"]) == (kind["antenna_m"], kind["buc_w"])
        ]
        assert int(kind["sites"]) == len(of)
        assert float(kind["off_axis_margin_db"]) == min(float(s["off_axis_margin_db"]) for s in of)
        for name in ("tx_power_w", "feed_density_dbw_4khz", "eirp_density_dbw_40khz"):
            assert float(kind[name]) == max(float(s[name]) for s in of)


def test_dms_reads_back(written: Written) -> None:
    found = rows(written.folder / "sites.csv")
    texts = {k: np.array([row[k] for row in found], dtype=object) for k in ("lat_dms", "lon_dms")}
    back = parse_coordinates(texts["lat_dms"], texts["lon_dms"])
    for name, values in (("lat", back.lat), ("lon", back.lon)):
        # A hundredth of a second of arc is 0.3 m, the sixth decimal 0.1 m.
        told = [float(row[name]) for row in found]
        assert values == pytest.approx(told, abs=0.006 / 3600 + 5e-7)


def test_countries_near_are_told(written: Written) -> None:
    """RC001 stands at the three borders of the upper Amazon; the figures are kilometres."""
    first = rows(written.folder / "sites.csv")[1]["countries_within_100_km"]
    told = dict(re.fullmatch(r"(.+) (\d+) km", one).groups() for one in first.split("; "))  # type: ignore[union-attr]
    assert set(told) == {"Peru", "Colombia"}
    assert all(0 <= int(km) <= 100 for km in told.values())


def test_no_cell_is_a_formula(written: Written) -> None:
    sites = rows(written.folder / "sites.csv")
    assert [row["name"] for row in sites if "1+1" in row["name"]] == ["'=1+1"]
    masks = {row["off_axis_mask"] for row in sites}
    masks |= {row["off_axis_mask"] for row in rows(written.folder / "types.csv")}
    assert masks == {"'" + HOSTILE.replace("\x01", ""), "47cfr25_ku"}


# --- drawings -------------------------------------------------------------------------------


def points_of(path: Any) -> np.ndarray[Any, Any]:
    pairs = re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", path.get("d"))
    return np.array(pairs, dtype=float)


def panels(drawing: MaskDrawing, root: Any) -> list[tuple[MaskCurves, dict[str, list[Any]]]]:
    """Each panel's curves with the lines that are drawn of it, but for the legend's."""
    found: list[dict[str, list[Any]]] = []
    for element in root.iter(f"{SVG}text", f"{SVG}path", f"{SVG}circle"):
        if element.get("class") == "name":
            found.append({})
        elif found and element.get("class") in ("mask", "allowed", "used", "touch"):
            found[-1].setdefault(element.get("class"), []).append(element)
    return list(zip(drawing.panels, found, strict=True))


def drawn(written: Written) -> list[tuple[str, MaskDrawing]]:
    licence = known(written)
    named = [(f"mask_{d.antenna_m:g}_m.svg", d) for d in licence.drawings]
    return [*named, ("mask_hub.svg", licence.hub_drawing)]


def test_every_antenna_in_use_is_drawn(written: Written) -> None:
    assert {p.name for p in written.folder.glob("*.svg")} == {name for name, _ in drawn(written)}


def test_the_drawn_curves_are_the_licence_s_and_touch_the_mask(written: Written) -> None:
    for name, drawing in drawn(written):
        root = etree.parse(written.folder / name).getroot()
        assert root.tag == f"{SVG}svg"
        assert root.find(f"{SVG}title").text.endswith("EIRP density off the axis")
        touched = 0
        for curves, lines in panels(drawing, root):
            scale = scale_of(curves.allowed, points_of(lines["allowed"][0]))
            for css in ("allowed", "used"):
                expected = np.array([scale(*p) for p in getattr(curves, css)])
                assert points_of(lines[css][0]) == pytest.approx(expected, abs=2 * HALF)
            for part, line in zip(curves.limit, lines["mask"][:-1], strict=True):
                assert points_of(line) == pytest.approx(
                    np.array([scale(*p) for p in part]), abs=2 * HALF
                )
            if not math.isnan(curves.touches_deg):
                touched += 1
                mark = lines["touch"][0]
                at = (float(mark.get("cx")), float(mark.get("cy")))
                met = [p for part in curves.limit for p in part if p[0] == curves.touches_deg]
                met = met or [p for p in curves.allowed if p[0] == curves.touches_deg]
                assert at == pytest.approx(scale(*met[0]), abs=2 * HALF)
        assert touched == 1


def scale_of(line: Any, points: np.ndarray[Any, Any]) -> Any:
    """The drawing's scales, from the curve itself: straight lines in log of angle and in dB."""
    values = np.array(line)
    x = np.polyfit(np.log10(values[:, 0]), points[:, 0], 1)
    y = np.polyfit(values[:, 1], points[:, 1], 1)
    return lambda angle, dbw: (np.polyval(x, np.log10(angle)), np.polyval(y, dbw))


def test_axes_have_units_and_lines_a_second_cue(written: Written) -> None:
    root = etree.parse(written.folder / "mask_hub.svg").getroot()
    texts = [element.text for element in root.iter(f"{SVG}text")]
    assert "EIRP density [dBW in 4 kHz]" in texts
    assert "EIRP density [dBW in 40 kHz]" in texts
    assert "Angle from the line to the satellite [deg]" in texts
    assert "Angle from the dish's axis [deg]" in texts
    style = root.find(f"{SVG}style").text
    dashes = {c: re.search(rf"\.{c}{{[^}}]*dasharray:([\d ]+)", style) for c in ("allowed", "used")}
    assert dashes["allowed"]
    assert dashes["used"]
    assert dashes["allowed"][1] != dashes["used"][1]


def test_a_nasty_name_stays_a_name_in_a_drawing(written: Written) -> None:
    drawing = known(written).drawings[0]
    nasty = dataclasses.replace(drawing.panels[0], mask=HOSTILE)
    text = drawing_text(dataclasses.replace(drawing, panels=(nasty,)), simultaneous=10)
    root = etree.fromstring(text.encode())
    texts = [element.text for element in root.iter(f"{SVG}text")]
    assert "Mask =cmd('x') <b>\"&\\x01" in texts
    assert any(t.endswith("masks less 10.0 dB for 10 terminals") for t in texts if t)
    assert root.find(f".//{SVG}b") is None


def test_each_limit_says_its_edition(written: Written) -> None:
    root = etree.parse(written.folder / "mask_hub.svg").getroot()
    texts = [element.text for element in root.iter(f"{SVG}text")]
    told = [t for t in texts if t and t.startswith("Mask: ")]
    assert told == [
        "Mask: the operator's own",
        "Mask: 47 CFR 25.218(f), 2018 (copy)",
        "Mask: ITU-R S.728-1, 1995 (from memory)",
    ]


# --- when it is written ---------------------------------------------------------------------


def test_without_masks_nothing_is_written_and_an_old_folder_goes(tmp_path: Path) -> None:
    project = project_of(tmp_path / "project", MASKED)
    out = plan_project(project, tmp_path / "out", with_sheets=False, with_map=False).folder
    assert (out / "regulation" / "types.csv").is_file()
    path = project / "network.toml"
    path.write_text(path.read_text("utf-8").replace(MASKED, ""), encoding="utf-8")
    outcome = plan_project(project, out, with_sheets=False, with_map=False)
    assert not (out / "regulation").exists()
    assert outcome.plan is not None
    write_regulation(outcome.plan, tmp_path / "none")
    assert not (tmp_path / "none").exists()


@pytest.mark.parametrize("read_back", [True, False])
def test_parts_write_the_same(
    written: Written, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, read_back: bool
) -> None:
    from siteplan.jobs.parts import spread

    monkeypatch.setattr(spread, "PART_SITES", 7)
    if not read_back:
        monkeypatch.setattr(products, "READ_BACK_UP_TO", 0)
    out = plan_project(
        written.project, tmp_path / "out", workers=0, with_sheets=False, with_map=False
    )
    assert (out.plan is not None) == read_back
    here = out.folder / "regulation"
    assert {p.name for p in here.iterdir()} == {p.name for p in written.folder.iterdir()}
    for path in sorted(written.folder.iterdir()):
        assert (here / path.name).read_bytes() == path.read_bytes(), path.name
    assert out.summary["licence"] == written.outcome.summary["licence"]
