"""As built: what came back against the plan, by known mistakes made on purpose."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from siteplan.api import plan_sites, read_project
from siteplan.errors import SitesError
from siteplan.fields import ASBUILT_FIELDS, lookup
from siteplan.planning.asbuilt.differences import moved_m, sky_angle_deg, wrapped
from siteplan.results import Plan
from tests.planning.asbuilt.built import NETWORK, SITES, as_planned, compare


def test_as_planned(project: Path, planned: Plan) -> None:
    found = compare(project, *(as_planned(planned, k) for k in range(3)))
    c = found.columns
    assert c["verdict"].tolist() == ["accepted"] * 3
    assert c["causes"].tolist() == [""] * 3
    assert c["findings"].tolist() == ["As planned."] * 3
    assert np.abs(c["pointing_error_deg"]).max() < 0.01
    assert found.missing == ()
    assert np.isnan(c["replanned_margin_db"]).all()


@pytest.mark.parametrize(
    ("change", "verdict", "cause", "words"),
    [
        ({"azimuth_true_deg": 5.0, "c_n_db": -6.0}, "not accepted", "mispointed", "mispointed"),
        ({"azimuth_true_deg": 5.0}, "accepted", "", "check how the angles were read"),
        ({"elevation_deg": -22.0}, "accepted", "offset_reading", "offset angle"),
        ({"skew_deg": 12.0}, "accepted", "wrong_skew", "off by +12.0 deg"),
        ({"skew_deg": 90.0}, "not accepted", "wrong_skew", "other polarization"),
        ({"cross_polar_db": -15.0}, "not accepted", "wrong_skew", "do not transmit before"),
        ({"cable_loss_db": 6.0}, "accepted", "wet_cable", "water in it"),
        ({"buc_voltage_v": -3.0}, "accepted", "low_voltage", "bad connector"),
        ({"buc_voltage_v": -9.0}, "not accepted", "low_voltage", "needs 18 V"),
        ({"c_n_db": -4.0}, "not accepted", "unexplained", "Nothing else that came back"),
        ({"c_n_db": 5.0}, "accepted", "", "better than expected"),
        ({"c_n_db": -0.5}, "accepted", "", "As planned."),
    ],
)
def test_one_thing_off(
    project: Path, planned: Plan, change: dict[str, float], verdict: str, cause: str, words: str
) -> None:
    row = as_planned(planned)
    row |= {key: round(row[key] + value, 2) for key, value in change.items()}
    c = compare(project, row).columns
    assert (c["verdict"][0], c["causes"][0]) == (verdict, cause)
    assert words in c["findings"][0]


@pytest.mark.parametrize(
    ("column", "by", "difference"),
    [
        ("azimuth_true_deg", 0.5, "azimuth_error_deg"),
        ("elevation_deg", 0.5, "elevation_error_deg"),
        ("skew_deg", 2.0, "skew_error_deg"),
        ("c_n_db", 0.5, "c_n_difference_db"),
        ("cable_m", 2.0, "cable_difference_m"),
        ("cable_loss_db", 1.0, "cable_loss_difference_db"),
        ("buc_voltage_v", 1.0, "buc_voltage_difference_v"),
    ],
)
def test_a_difference_is_what_came_back_less_what_was_planned(
    project: Path, planned: Plan, column: str, by: float, difference: str
) -> None:
    row = as_planned(planned)
    before = compare(project, row).columns[difference][0]
    after = compare(project, row | {column: row[column] + by}).columns[difference][0]
    assert after - before == pytest.approx(by, abs=1e-6)


def test_skew_of_the_other_sign(project: Path, planned: Plan) -> None:
    row = as_planned(planned)
    row["skew_deg"] = -row["skew_deg"]
    c = compare(project, row).columns
    assert c["causes"][0] == "wrong_skew"
    assert "other sign" in c["findings"][0]


def test_compass_bearing_written_as_true(project: Path, planned: Plan) -> None:
    """At 9 degrees of declination: the magnetic bearing in the column of the true one."""
    c = planned.columns
    assert abs(c["magnetic_declination_deg"][2]) > 8
    row = as_planned(planned, 2) | {
        "azimuth_true_deg": round(float(c["azimuth_magnetic_deg"][2]), 1)
    }
    found = compare(project, row).columns
    assert found["causes"][0] == "magnetic_bearing"
    right = as_planned(planned, 2) | {
        "azimuth_true_deg": "",
        "azimuth_magnetic_deg": round(float(c["azimuth_magnetic_deg"][2]), 1),
    }
    found = compare(project, right).columns
    assert found["causes"][0] == ""
    assert abs(found["azimuth_error_deg"][0]) < 0.1


def test_on_the_neighbour(project: Path, planned: Plan) -> None:
    there = plan_sites(*read_project(project)[1:], with_tables=True).tables
    row = as_planned(planned) | {
        "azimuth_true_deg": round(float(there["neighbour_azimuth_deg"][0, 0]), 1),
        "elevation_deg": round(float(there["neighbour_elevation_deg"][0, 0]), 1),
        "c_n_db": 2,
    }
    c = compare(project, row).columns
    assert c["causes"][0] == "wrong_satellite"
    assert c["verdict"][0] == "not accepted"


def test_moved_sites_are_planned_anew(project: Path, planned: Plan) -> None:
    row = as_planned(planned) | {"lat": 46.20}
    found = compare(project, row, as_planned(planned, 1))
    c = found.columns
    assert c["moved_m"][0] == pytest.approx(11_115, abs=15)
    assert "moved" in c["causes"][0].split(";")
    there = found.replanned.columns
    for name in ("margin_db", "azimuth_true_deg", "elevation_deg", "skew_deg"):
        assert c[f"replanned_{name}"][0] == there[name][0]
        assert np.isnan(c[f"replanned_{name}"][1])
    assert c["replanned_elevation_deg"][0] < found.planned.columns["elevation_deg"][0]
    # The planned kit is judged there, not a new one picked.
    assert there["kit_source"][0] == "installed"
    assert there["antenna_m"][0] == found.planned.columns["antenna_m"][0]


def test_obstacles_that_came_back_block(project: Path, planned: Plan) -> None:
    c = planned.columns
    high = round(float(c["elevation_deg"][0]) + 3)
    row = as_planned(planned) | {
        "obstacle_azimuth_deg": round(float(c["azimuth_true_deg"][0])),
        "obstacle_elevation_deg": high,
    }
    found = compare(project, row)
    assert found.columns["causes"][0] == "blocked"
    assert found.columns["verdict"][0] == "not accepted"
    assert found.columns["clearance_deg"][0] < -3
    assert np.isnan(found.planned.columns["clearance_deg"][0])


def test_longer_cable_is_told(project: Path, planned: Plan) -> None:
    row = as_planned(planned) | {"cable_m": 35, "cable_loss_db": "", "buc_voltage_v": ""}
    found = compare(project, row)
    c = found.columns
    assert found.replanned.columns["ifl_length_m"][0] == 35
    assert found.planned.columns["ifl_length_m"][0] == 20
    assert c["cable_difference_m"][0] == 15
    assert "15 m longer" in c["findings"][0]


def test_without_a_level_it_is_incomplete(project: Path, planned: Plan) -> None:
    found = compare(project, as_planned(planned) | {"c_n_db": ""})
    assert found.columns["verdict"][0] == "incomplete"
    assert {verdict: n for verdict, n in found.counts.items() if n} == {"incomplete": 1}


def test_what_is_missing_and_what_is_refused(project: Path, planned: Plan) -> None:
    found = compare(
        project, as_planned(planned, 2), {"site_id": "A1"}, {"site_id": "X", "c_n_db": 3}
    )
    assert found.columns["site_id"].tolist() == ["A3"]
    assert found.missing == ("A1", "A2")
    assert found.blank == 1
    assert [r.site_id for r in found.rejects] == ["X"]


def test_every_column_is_in_its_dictionary(project: Path, planned: Plan) -> None:
    found = compare(project, as_planned(planned))
    assert set(found.columns) == set(ASBUILT_FIELDS)
    assert all(lookup(name) for name in found.columns)


def test_causes_are_counted(project: Path, planned: Plan) -> None:
    rows = [as_planned(planned, k) | {"c_n_db": 1} for k in range(2)]
    assert compare(project, *rows).cause_counts == {"unexplained": 2}


def test_nothing_came_back(project: Path) -> None:
    with pytest.raises(SitesError, match="nothing came back"):
        compare(project, {"site_id": "A1"})


def test_distances_against_pyproj() -> None:
    nan = np.nan
    found = moved_m(
        np.array([0.0, 0.0, 1.0]), np.zeros(3), np.array([0.0, 1.0, nan]), np.array([1.0, 0, 0])
    )
    # A degree along the equator, and along the meridian from it (WGS 84).
    np.testing.assert_allclose(found, [111_319.491, 110_574.389, nan], atol=0.01)


def test_angles_wrap() -> None:
    np.testing.assert_allclose(
        wrapped(np.array([359.0, -359.0, 181.0]), 360), [-1, 1, -179], atol=1e-12
    )
    np.testing.assert_allclose(wrapped(np.array([178.0, -91.0]), 180), [-2, 89], atol=1e-12)
    east = sky_angle_deg(*(np.array([x]) for x in (90.0, 0.0, 0.0, 0.0)))
    assert east[0] == pytest.approx(90, abs=1e-9)
    up = sky_angle_deg(*(np.array([x]) for x in (10.0, 89.0, 190.0, 89.0)))
    assert up[0] == pytest.approx(2, abs=1e-9)


def test_rows_of_no_use_are_told_apart_from_what_did_not_come_back(
    project: Path, planned: Plan
) -> None:
    found = compare(
        project,
        as_planned(planned),
        as_planned(planned, 1) | {"elevation_deg": "fifty"},
        as_planned(planned) | {"c_n_db": 3},
    )
    assert found.columns["site_id"].tolist() == ["A1"]
    assert (found.unusable, found.missing) == (("A2",), ("A3",))
    assert found.awaited is not None
    assert found.awaited.columns["site_id"].tolist() == ["A2", "A3"]
    # A second row of a site that has a good one takes nothing from it.
    assert [r.site_id for r in found.rejects] == ["A2", "A1"]


def test_good_work_at_a_site_that_the_plan_does_not_serve_is_counted_apart(tmp_path: Path) -> None:
    folder = tmp_path / "alp"
    folder.mkdir()
    network = f"{NETWORK}\n[[antennas]]\ndiameter_m = 0.6\n[[bucs]]\nrated_w = 0.1\n"
    (folder / "network.toml").write_text(network + "[[bucs]]\nrated_w = 8\n", encoding="utf-8")
    head, *rows = SITES.splitlines()
    stands = (",0.6,0.1", ",,", ",,")
    lines = [
        f"{head},fixed_antenna_m,fixed_buc_w",
        *(a + b for a, b in zip(rows, stands, strict=True)),
    ]
    (folder / "sites.csv").write_text("\n".join(lines), encoding="utf-8")
    _, site_list, read = read_project(folder)
    plan = plan_sites(site_list, read)
    margin = plan.columns["margin_db"]
    assert margin[0] < 0 <= margin[1]
    found = compare(folder, as_planned(plan), as_planned(plan, 1))
    assert found.columns["verdict"].tolist() == ["accepted but not served", "accepted"]
    assert f"misses the target here by {-margin[0]:.1f} dB" in found.columns["findings"][0]
    assert found.columns["findings"][1] == "As planned."
    # What is not done well is not accepted, whatever the plan says of the site.
    short = compare(folder, as_planned(plan) | {"c_n_db": 1.0})
    assert short.columns["verdict"][0] == "not accepted"
    assert "misses the target here" in short.columns["findings"][0]
