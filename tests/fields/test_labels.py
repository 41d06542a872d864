"""Labels and decimals of the result fields: brothers are told alike."""

from __future__ import annotations

import re

from siteplan.fields import read_rows

#: How finely figures of a unit are told, and the fields that are told more or less finely.
DECIMALS = {
    "deg": 2,
    "m": 1,
    "m/s": 1,
    "W": 1,
    "": 0,
    "dB": 1,
    "%": 3,
    "km": 0,
    "mm/h": 1,
    "dBW": 1,
    "dBW/m2": 1,
    "dBW/4 kHz": 1,
    "MHz": 3,
    "kHz": 0,
    "dB/K": 1,
    "Pa": 0,
    "N": 0,
    "Nm": 0,
    "kg": 0,
    "m/m": 2,
    "V": 1,
    "A": 2,
    "dBm": 1,
    "W/m2": 1,
    "min": 1,
    "kbit/s": 1,
    "ms": 0,
}
OTHER_DECIMALS = {
    ("", 1): ("outages_over_10_s outages_over_10_min"),
    ("", 2): (
        "fixed_efficiency site_cost capex monthly_cost life_cost"
        " line_month line_life_cost cheaper_by"
    ),
    ("%", 1): ("margin_confidence_pct year_risk_pct"),
    ("%", 4): (
        "outbound_site_outage_pct outbound_hub_outage_pct inbound_site_outage_pct "
        "inbound_hub_outage_pct annual_target_pct outbound_no_service_pct inbound_no_service_pct"
    ),
    ("V", 2): ("measured_buc_voltage_v"),
    ("W", 0): ("buc_dc_w"),
    ("W", 2): ("tx_power_w"),
    ("W", 3): ("allowed_feed_w"),
    ("dB", 2): (
        "uplink_attenuation_db downlink_attenuation_db uplink_gas_db uplink_cloud_db "
        "uplink_rain_db uplink_scintillation_db downlink_gas_db downlink_cloud_db "
        "downlink_rain_db downlink_scintillation_db loss_0_1_deg_db measured_c_n_db "
        "measured_cross_polar_db margin_spread_db"
    ),
    ("deg", 0): ("wall_facing_deg"),
    ("deg", 1): (
        "azimuth_magnetic_deg skew_deg horizon_at_satellite_deg clearance_deg "
        "inclinometer_deg measured_skew_deg skew_error_deg replanned_skew_deg"
    ),
    ("deg", 6): ("lat lon measured_lat measured_lon"),
    ("km", 2): ("rain_height_km"),
    ("m", 0): (
        "altitude_m cable_m ifl_length_m moved_m measured_altitude_m "
        "altitude_difference_m measured_cable_m cable_difference_m"
    ),
    ("m", 2): (
        "other_beam_antenna_m fixed_antenna_m antenna_m required_antenna_m next_antenna_m "
        "tried_antenna_m pole_embedment_m"
    ),
}
#: What a name says of its field, and the word of the label that says it.
SAID = {
    "buc": "BUC", "ifl": "IFL", "outbound": "utbound", "inbound": "nbound", "uplink": "plink",
    "downlink": "ownlink", "low": "low", "high": "high", "first": "from", "last": "to",
    "azimuth": "zimuth", "elevation": "levation", "skew": "kew", "cable": "able", "roof": "oof",
    "hub": "hub", "antenna": "ntenna", "ballast": "allast", "voltage": "oltage",
    "margin": "argin", "public": "ublic", "controlled": "ontrolled", "measured": "easured",
    "difference": "ifference",
}  # fmt: skip
#: Names of which a part is not said: the label is shorter, and still alone of its kind.
SHORTER = {
    *("fixed_buc_backoff_db", "cable_clad_steel", "measured_buc_voltage_v"),
    "buc_voltage_difference_v",
}
ABBREVIATIONS = {"BUC", "EIRP", "IFL", "MODCOD", "UTC"}


def test_figures_of_a_unit_are_told_alike() -> None:
    """A field of more or of fewer decimals than others of its unit is one on purpose."""
    other = {name: key for key, names in OTHER_DECIMALS.items() for name in names.split()}
    told = {
        r["name"]: (r["unit"], int(r["decimals"])) for r in read_rows("fields.csv") if r["decimals"]
    }
    assert other.keys() <= told.keys()
    assert told == {n: other.get(n, (u, DECIMALS[u])) for n, (u, _) in told.items()}


def test_a_label_says_what_the_name_says() -> None:
    for row in read_rows("fields.csv"):
        if row["name"] in SHORTER or "{" in row["name"]:
            continue
        for part in row["name"].split("_"):
            assert SAID.get(part, "") in row["label"], row["name"]


def test_labels_abbreviate_nothing_new() -> None:
    found = {w for r in read_rows("fields.csv") for w in re.findall(r"\b[A-Z]{3,}\b", r["label"])}
    assert found == ABBREVIATIONS
