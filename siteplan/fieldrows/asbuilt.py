"""Rows of the fields that tell what came back from the sites against what was planned."""

from __future__ import annotations

from typing import Final

from siteplan.fieldrows import Row

_CREW = "returned by the crew"

#: What came back from the sites, against the plan.
ASBUILT: Final[tuple[Row, ...]] = (
    ("measured_lat", "Measured latitude", "deg", 6, "Latitude that came back", _CREW),
    ("measured_lon", "Measured longitude", "deg", 6, "Longitude that came back", _CREW),
    (
        "moved_m",
        "Moved",
        "m",
        0,
        "Distance between planned and measured position",
        "WGS 84 geometry",
    ),
    (
        "measured_azimuth_deg",
        "Measured azimuth",
        "deg",
        2,
        "True azimuth that came back, or the magnetic one turned into it",
        _CREW,
    ),
    (
        "azimuth_error_deg",
        "Azimuth difference",
        "deg",
        2,
        "Measured less planned for the measured position",
        "geometry",
    ),
    ("measured_elevation_deg", "Measured elevation", "deg", 2, "Elevation that came back", _CREW),
    (
        "elevation_error_deg",
        "Elevation difference",
        "deg",
        2,
        "Measured less planned for the measured position",
        "geometry",
    ),
    ("measured_skew_deg", "Measured skew", "deg", 1, "Skew that came back", _CREW),
    (
        "skew_error_deg",
        "Skew difference",
        "deg",
        1,
        "Measured less planned for the measured position, modulo 180",
        "geometry",
    ),
    (
        "pointing_error_deg",
        "Pointing difference",
        "deg",
        2,
        "Angle on the sky between measured and planned direction",
        "geometry",
    ),
    (
        "measured_c_n_db",
        "Measured C/N",
        "dB",
        1,
        "C/N of the outbound carrier that came back",
        _CREW,
    ),
    ("c_n_difference_db", "C/N difference", "dB", 1, "Measured less expected C/N", "siteplan"),
    ("measured_cable_m", "Measured cable", "m", 0, "Cable run that came back", _CREW),
    (
        "cable_difference_m",
        "Cable difference",
        "m",
        0,
        "Measured less planned cable run",
        "siteplan",
    ),
    ("measured_cable_loss_db", "Measured cable loss", "dB", 1, "Cable loss that came back", _CREW),
    (
        "cable_loss_difference_db",
        "Cable loss difference",
        "dB",
        1,
        "Measured loss less that of the class at the measured length, high end",
        "typical figures of [[cables]]",
    ),
    (
        "measured_buc_voltage_v",
        "Measured voltage",
        "V",
        1,
        "Voltage at the BUC that came back",
        _CREW,
    ),
    (
        "buc_voltage_difference_v",
        "Voltage difference",
        "V",
        1,
        "Measured less expected voltage at the BUC",
        "Kirchhoff",
    ),
    (
        "measured_cross_polar_db",
        "Measured isolation",
        "dB",
        1,
        "Cross-polar isolation that came back",
        _CREW,
    ),
    (
        "verdict",
        "Verdict",
        "",
        None,
        "accepted, not accepted, or incomplete (no C/N came back)",
        "siteplan",
    ),
    ("causes", "Likely causes", "", None, "Stable codes joined by a semicolon", "siteplan"),
    ("findings", "Findings", "", None, "What differs and why it may, in words", "siteplan"),
    (
        "replanned_margin_db",
        "Margin there",
        "dB",
        1,
        "margin_db at the measured position with the planned kit, for moved sites",
        "link budget, see README: method",
    ),
    (
        "replanned_azimuth_true_deg",
        "Azimuth there",
        "deg",
        2,
        "True azimuth at the measured position, for moved sites",
        "WGS 84 geometry",
    ),
    (
        "replanned_elevation_deg",
        "Elevation there",
        "deg",
        2,
        "Elevation at the measured position, for moved sites",
        "WGS 84 geometry",
    ),
    (
        "replanned_skew_deg",
        "Skew there",
        "deg",
        1,
        "Skew at the measured position, for moved sites",
        "WGS 84 geometry",
    ),
    ("remarks", "Remarks", "", None, "What the crew wrote", _CREW),
)

#: Fields of the plan that stand beside them.
ASBUILT_PLANNED: Final = (
    *("site_id", "name", "group", "lat", "lon"),
    *("expected_c_n_db", "acceptance_c_n_db", "clearance_deg"),
)
