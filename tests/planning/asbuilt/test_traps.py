"""Accepted means accepted: each mistake that a crew can make, end to end through the files."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from siteplan.api import asbuilt_project, plan_sites, read_project
from siteplan.results import AsBuilt, Plan
from tests.planning.asbuilt.built import NETWORK, SITES, as_planned, compare


def only(found: AsBuilt) -> tuple[str, str, str]:
    """Return verdict, causes and findings of the only site."""
    c = found.columns
    return c["verdict"][0], c["causes"][0], c["findings"][0]


def shifted(row: dict[str, Any], **by: float) -> dict[str, Any]:
    return row | {key: round(row[key] + value, 3) for key, value in by.items()}


def test_a_dish_on_the_neighbours_satellite_is_not_accepted(project: Path) -> None:
    """With the C/N that its own satellite would give: the neighbour has a carrier there too."""
    planned = plan_sites(*read_project(project)[1:], with_tables=True)
    row = as_planned(planned) | {
        "azimuth_true_deg": round(float(planned.tables["neighbour_azimuth_deg"][0, 0]), 1),
        "elevation_deg": round(float(planned.tables["neighbour_elevation_deg"][0, 0]), 1),
    }
    verdict, causes, findings = only(compare(project, row))
    assert (verdict, causes) == ("not accepted", "wrong_satellite")
    assert "Do not transmit" in findings


@pytest.mark.parametrize("turn", [180.0, 178.0, -178.0])
def test_a_dish_180_degrees_off_is_not_accepted(project: Path, planned: Plan, turn: float) -> None:
    row = as_planned(planned)
    row["azimuth_true_deg"] = round((row["azimuth_true_deg"] + turn) % 360, 2)
    verdict, causes, findings = only(compare(project, row))
    assert (verdict, causes) == ("not accepted", "turned_round")
    assert "Read it again from behind" in findings


def test_a_site_657_km_away_is_not_accepted(project: Path, planned: Plan) -> None:
    """Its angles and C/N are those of that place: a neat report of another site."""
    far = {"lat": round(float(planned.columns["lat"][0]) + 5.91, 4)}
    there = compare(project, as_planned(planned) | far).replanned.columns
    row = as_planned(planned) | far
    row |= {k: round(float(there[k][0]), 2) for k in ("azimuth_true_deg", "elevation_deg")}
    row |= {
        "skew_deg": round(float(there["skew_deg"][0]), 1),
        "c_n_db": round(float(there["expected_c_n_db"][0]), 1),
    }
    verdict, causes, findings = only(compare(project, row))
    assert (verdict, causes) == ("not accepted", "moved;far_away")
    assert "657." in findings
    assert "have the position read again" in findings


def test_a_linear_site_without_isolation_is_incomplete(project: Path, planned: Plan) -> None:
    row = as_planned(planned) | {"cross_polar_db": ""}
    verdict, causes, findings = only(compare(project, row))
    assert (verdict, causes) == ("incomplete", "")
    assert "No cross-polar isolation came back" in findings
    assert "30 dB or more" in findings


def test_a_circular_site_needs_no_isolation(tmp_path: Path) -> None:
    (tmp_path / "alp").mkdir()
    circular = NETWORK + '[inbound]\nuplink_polarization = "circular"\n'
    (tmp_path / "alp" / "network.toml").write_text(circular, encoding="utf-8")
    (tmp_path / "alp" / "sites.csv").write_text(SITES, encoding="utf-8")
    planned = plan_sites(*read_project(tmp_path / "alp")[1:])
    row = as_planned(planned) | {"cross_polar_db": ""}
    assert only(compare(tmp_path / "alp", row)) == ("accepted", "", "As planned.")


@pytest.mark.parametrize(
    ("turned", "cause", "words"),
    [
        (lambda lat, lon: (lon, lat), "swapped_position", "each other's place"),
        (lambda lat, lon: (-lat, lon), "sign_lost", "sign lost or added"),
        (lambda lat, lon: (lat, -lon), "sign_lost", "sign lost or added"),
        (lambda lat, lon: (-lat, -lon), "sign_lost", "sign lost or added"),
        (lambda lat, lon: (-lon, lat), "swapped_position", "each other's place"),
    ],
)
def test_a_position_swapped_or_with_a_sign_lost_is_read_right_and_left_open(
    project: Path, planned: Plan, turned: Any, cause: str, words: str
) -> None:
    lat, lon = (float(planned.columns[k][0]) for k in ("lat", "lon"))
    wrong = turned(lat + 0.0004, lon)
    found = compare(project, as_planned(planned) | {"lat": wrong[0], "lon": wrong[1]})
    verdict, causes, findings = only(found)
    assert (verdict, causes) == ("incomplete", cause)
    assert words in findings
    assert "read as 46.10040, 6.20000" in findings
    # Compared at the place that was meant: as planned there. What came back stays on record.
    c = found.columns
    assert c["moved_m"][0] == pytest.approx(44.5, abs=0.2)
    assert abs(c["azimuth_error_deg"][0]) < 0.02
    assert (c["measured_lat"][0], c["measured_lon"][0]) == pytest.approx(wrong, abs=1e-9)


def test_a_site_on_another_continent_is_not_taken_for_a_slip(project: Path, planned: Plan) -> None:
    verdict, causes, _ = only(compare(project, as_planned(planned) | {"lat": -33.0, "lon": 18.0}))
    assert verdict == "not accepted"
    assert "far_away" in causes.split(";")


@pytest.mark.parametrize("times", [-2.0, 2.0])
def test_declination_applied_the_wrong_way(project: Path, planned: Plan, times: float) -> None:
    declination = float(planned.columns["magnetic_declination_deg"][2])
    assert declination > 8
    row = shifted(as_planned(planned, 2), azimuth_true_deg=times * declination)
    verdict, causes, findings = only(compare(project, row))
    assert (verdict, causes) == ("accepted", "declination_reversed")
    assert "twice the declination" in findings
    assert "compass plus declination" in findings
    # With the signal short it is no slip of the pen: the dish looks there.
    assert only(compare(project, shifted(row, c_n_db=-6)))[0] == "not accepted"


def test_declination_not_applied(project: Path, planned: Plan) -> None:
    declination = float(planned.columns["magnetic_declination_deg"][2])
    row = shifted(as_planned(planned, 2), azimuth_true_deg=-declination)
    verdict, causes, findings = only(compare(project, row))
    assert (verdict, causes) == ("accepted", "magnetic_bearing")
    assert "Write the true one" in findings


def test_a_true_bearing_in_the_compass_column(project: Path, planned: Plan) -> None:
    row = as_planned(planned, 2)
    row["azimuth_magnetic_deg"] = row.pop("azimuth_true_deg")
    verdict, causes, findings = only(compare(project, row))
    assert (verdict, causes) == ("accepted", "true_bearing")
    assert "Write it as the true one" in findings


def test_90_minus_elevation(project: Path, planned: Plan) -> None:
    row = as_planned(planned, 2)
    assert 15 < row["elevation_deg"] < 30
    row["elevation_deg"] = round(90 - row["elevation_deg"], 2)
    verdict, causes, findings = only(compare(project, row))
    assert (verdict, causes) == ("accepted", "zenith_angle")
    assert "write the one above level" in findings


def test_angles_far_off_with_a_good_signal_are_left_open(project: Path, planned: Plan) -> None:
    verdict, causes, findings = only(
        compare(project, shifted(as_planned(planned), azimuth_true_deg=40))
    )
    assert (verdict, causes) == ("incomplete", "misread")
    assert "differ from plan, by far," in findings
    assert "read again what differs" in findings


def test_polarization_rotated_by_90_degrees(project: Path, planned: Plan) -> None:
    verdict, causes, findings = only(compare(project, shifted(as_planned(planned), skew_deg=90)))
    assert (verdict, causes) == ("not accepted", "wrong_skew")
    assert "do not transmit" in findings


def test_cable_in_feet(project: Path, planned: Plan) -> None:
    row = as_planned(planned)
    row["cable_m"] = round(row["cable_m"] / 0.3048)
    found = compare(project, row)
    verdict, causes, findings = only(found)
    assert (verdict, causes) == ("incomplete", "feet")
    assert "came back as 66 m, which is the planned 20 m in feet" in findings
    # Loss and voltage are compared over the run that was meant.
    assert found.replanned.columns["ifl_length_m"][0] == pytest.approx(20.1, abs=0.05)
    assert found.columns["cable_difference_m"][0] == pytest.approx(0.1, abs=0.05)
    assert found.columns["measured_cable_m"][0] == 66


def test_a_cable_that_loses_what_66_m_lose_is_no_slip_of_units(
    project: Path, planned: Plan
) -> None:
    row = as_planned(planned)
    row |= {"cable_m": 66, "cable_loss_db": round(row["cable_loss_db"] * 66 / 20, 1)}
    _, causes, findings = only(compare(project, row))
    assert "feet" not in causes
    assert "46 m longer than planned" in findings


def test_altitude_in_feet(project: Path, planned: Plan) -> None:
    altitude = float(planned.columns["altitude_m"][0])
    assert altitude > 100
    found = compare(project, as_planned(planned) | {"altitude_m": round(altitude / 0.3048)})
    verdict, causes, findings = only(found)
    assert (verdict, causes) == ("incomplete", "feet")
    assert "set the instrument to metres" in findings
    assert abs(found.columns["altitude_difference_m"][0]) < 1
    right = compare(project, as_planned(planned) | {"altitude_m": round(altitude) + 25})
    assert only(right) == ("accepted", "", "As planned.")


def test_cable_loss_far_too_low(project: Path, planned: Plan) -> None:
    row = as_planned(planned)
    assert row["cable_loss_db"] > 4
    verdict, causes, findings = only(compare(project, row | {"cable_loss_db": 0.3}))
    assert (verdict, causes) == ("incomplete", "low_loss")
    assert "measure again" in findings


@pytest.mark.parametrize(
    ("isolation", "verdict", "told"),
    [(29.96, "not accepted", "is 29.96 dB, less than the 30 dB"), (30, "accepted", "As planned.")],
)
def test_isolation_that_rounds_to_the_limit(
    project: Path, planned: Plan, isolation: float, verdict: str, told: str
) -> None:
    row = as_planned(planned) | {"cross_polar_db": isolation}
    found = only(compare(project, row))
    assert found[0] == verdict
    assert told in found[2]


def test_a_voltage_that_rounds_to_the_limit(project: Path, planned: Plan) -> None:
    found = only(compare(project, as_planned(planned) | {"buc_voltage_v": 17.97}))
    assert found[0] == "not accepted"
    assert "gets 17.97 V and needs 18 V" in found[2]


def test_the_c_n_that_the_sheet_asks_for_is_accepted(project: Path, planned: Plan) -> None:
    """The sheet tells one decimal: who reads it is accepted, a hundredth under it is not."""
    for k in range(3):
        asked = round(float(planned.columns["acceptance_c_n_db"][k]), 1)
        right = only(compare(project, as_planned(planned, k) | {"c_n_db": asked}))
        assert right == ("accepted", "", "As planned.")
        under = round(asked - 0.01, 2)
        verdict, _, findings = only(compare(project, as_planned(planned, k) | {"c_n_db": under}))
        assert verdict == "not accepted"
        assert f"C/N is {under:.2f} dB, less than the {asked:.1f} dB that are accepted" in findings


def unkitted(tmp_path: Path, columns: str, row: str, kit: str = ",") -> Any:
    """Compare what came back from A1, where the satellite is in view and nothing fits."""
    (tmp_path / "alp").mkdir()
    weak = NETWORK + "\n[outbound]\nsatellite_eirp_dbw = 30\n"
    (tmp_path / "alp" / "network.toml").write_text(weak, encoding="utf-8")
    (tmp_path / "alp" / "sites.csv").write_text(
        f"site_id,lat,lon,fixed_antenna_m,fixed_buc_w\nA1,46,7,{kit}\nA2,46,7.1,,\n",
        encoding="utf-8",
    )
    path = tmp_path / "returned.csv"
    path.write_text(f"site_id,{columns}\nA1,{row}\n", encoding="utf-8")
    return asbuilt_project(tmp_path / "alp", path)


def test_a_terminal_that_nobody_planned_gets_no_verdict(tmp_path: Path) -> None:
    """Its C/N came back, but the plan has no kit there: no figure exists to judge it by."""
    found = unkitted(tmp_path, "c_n_db,cross_polar_db,cable_m,cable_loss_db", "9,33,30,8")
    verdict, causes, findings = only(found)
    assert (verdict, causes) == ("nothing to accept", "unplanned_kit")
    assert findings.startswith("Figures of a terminal came back, but no antenna with a BUC is")
    assert "Keep its transmitter off" in findings
    for name in ("expected_c_n_db", "acceptance_c_n_db", "c_n_difference_db",
                 "cable_loss_difference_db", "buc_voltage_difference_v"):  # fmt: skip
        assert np.isnan(found.columns[name][0]), name
    assert found.counts["nothing to accept"] == 1


def test_a_new_survey_of_a_site_without_kit_gets_a_plain_word(tmp_path: Path) -> None:
    """Moved to where kit might fit: the position counts, and nothing is judged."""
    found = unkitted(tmp_path, "lat,lon,azimuth_true_deg,elevation_deg", "46.004,7,10,70")
    verdict, causes, findings = only(found)
    assert (verdict, causes) == ("nothing to accept", "moved")
    assert "no kit is planned for it" in findings
    assert "there is nothing to accept" in findings
    assert "margin" not in findings
    assert "mispointed" not in findings
    assert np.isnan(found.columns["replanned_margin_db"][0])
    assert found.columns["replanned_elevation_deg"][0] > 0


def test_a_site_without_kit_is_not_waited_for(tmp_path: Path) -> None:
    """Nothing is built there, so nothing has to come back."""
    assert unkitted(tmp_path, "c_n_db", "9").missing == ()


def test_installed_kit_that_misses_is_judged(tmp_path: Path) -> None:
    """It stands and is planned with: its C/N has figures to stand against."""
    found = unkitted(tmp_path, "c_n_db,cross_polar_db", "-9,33", kit="1.2,1")
    verdict, _, findings = only(found)
    assert verdict == "not accepted"
    assert "less than the" in findings
    assert np.isfinite(found.columns["expected_c_n_db"][0])


def test_nothing_expected_nothing_to_accept_by(tmp_path: Path) -> None:
    """Installed where the satellite is out of sight: no C/N to compare with what came back."""
    (tmp_path / "alp").mkdir()
    (tmp_path / "alp" / "network.toml").write_text(NETWORK, encoding="utf-8")
    (tmp_path / "alp" / "sites.csv").write_text(
        "site_id,lat,lon,fixed_antenna_m,fixed_buc_w\nA1,46,-150,1.2,1\nA2,46,7,,\n",
        encoding="utf-8",
    )
    path = tmp_path / "returned.csv"
    path.write_text("site_id,c_n_db,cross_polar_db\nA1,9,33\n", encoding="utf-8")
    verdict, _, findings = only(asbuilt_project(tmp_path / "alp", path))
    assert verdict == "incomplete"
    assert "The plan expects no C/N here" in findings
    assert "No C/N came back" not in findings


def test_a_grave_cause_overrules_what_is_left_open(project: Path, planned: Plan) -> None:
    row = shifted(as_planned(planned), skew_deg=90) | {"c_n_db": "", "cross_polar_db": ""}
    verdict, _, findings = only(compare(project, row))
    assert verdict == "not accepted"
    assert "No C/N came back" in findings
    assert np.isnan(compare(project, row).columns["c_n_difference_db"][0])
