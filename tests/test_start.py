"""What a small plan does without: modules of other commands, kinds of files and answers."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

CLINICS = Path(__file__).parent / "frozen" / "inputs" / "river_clinics"
#: Of a folder with its sites in a CSV file, one beam and no coverage.
UNUSED = (
    *("answers.budget", "answers.licence", "answers.outages", "answers.rollout"),
    *("basemap.make", "outputs.coverage.contours", "outputs.coverage.files"),
    *("outputs.map.overlays", "outputs.map.relief", "outputs.report", "outputs.sheets.files"),
    *("outputs.workbook", "outputs.regulation", "outputs.compare", "outputs.differences"),
    *("inputs.eaten", "inputs.encoding.letters", "inputs.overlays", "inputs.sites.spelling"),
    *("inputs.files.arrowtables", "inputs.files.frames", "inputs.files.geofiles"),
    *("inputs.files.kml", "inputs.files.parquet", "inputs.files.points"),
    *("inputs.area", "inputs.files.inside", "inputs.files.shapes"),
    *("inputs.files.spreadsheets", "inputs.files.zipped", "inputs.workbook.book"),
    *("jobs.asbuilt", "jobs.budget", "jobs.compare.slots", "jobs.operations"),
    *("jobs.parts.beside", "jobs.parts.gathered", "jobs.parts.part", "jobs.parts.spread"),
    *("planning.asbuilt", "planning.beams.area", "planning.beams.assign", "planning.beams.nest"),
    *("planning.compare", "planning.coverage", "planning.differences", "planning.link.curve"),
    *("outputs.tables.parquet", "planning.link.lines", "planning.report.composed"),
    *("physics.radio.masks", "physics.radio.off_axis", "planning.report.licences"),
    *("planning.rollout.periods", "planning.site_budget", "reported"),
)
#: Of other libraries.
FOREIGN = ("astropy", "distributed", "folium", "itur", "openpyxl", "rich", "scipy")


def test_a_small_plan_reads_in_what_it_uses(tmp_path):
    """Each module costs its share of a start: who needs one only at times imports it there."""
    asked = ["plan", str(CLINICS), "--output", str(tmp_path / "out"), "--quiet"]
    code = (
        "import sys; from siteplan.cli import main;"
        f"code = main({[*asked, '--no-sheets', '--no-report']!r});"
        f"unused = {[f'siteplan.{name}' for name in UNUSED] + list(FOREIGN)!r};"
        "print(code, sorted(set(unused) & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "0 []"
