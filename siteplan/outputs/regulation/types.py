"""types.csv: one row an antenna and BUC in use, and the hub's; read by who writes the licence."""

from __future__ import annotations

from pathlib import Path

from siteplan.answers.licence import Licence, Station
from siteplan.outputs.regulation.rows import cell, decimals_of, write_table

HEADINGS = (
    *("kind", "antenna_m", "buc_w", "sites", "efficiency", "tx_gain_dbi", "rx_gain_dbi"),
    *("tx_pattern", "rx_pattern", "power_taken", "tx_power_w", "feed_w", "allowed_feed_w"),
    *("eirp_dbw", "feed_density_dbw_4khz", "feed_density_dbw_40khz"),
    *("eirp_density_dbw_4khz", "eirp_density_dbw_40khz"),
    *("horizon_density_dbw", "horizon_density_khz", "emission", "symbol_rate_msps"),
    *("uplink_ghz", "uplink_polarization", "downlink_ghz", "downlink_polarization"),
    *("least_elevation_deg", "greatest_elevation_deg"),
    *("off_axis_margin_db", "off_axis_mask", "off_axis_angle_deg"),
)
#: What the powers of a row are.
_TAKEN = {
    "hub": "clear sky and the range of power control",
    "terminal": "clear sky, the greatest of the sites",
}


def write_types(licence: Licence, path: Path) -> None:
    """Write what each kind of station radiates as CSV, the hub's first; figures as `Station`.

    Of a plan of many beams the stations of other carriers follow, each hub before its terminals.
    """
    every = (licence, *licence.others)
    headings = HEADINGS if len(every) == 1 else (*HEADINGS, "beams")
    rows = (
        [*_row(of), *(["; ".join(one.beams)] if len(every) > 1 else [])]
        for one in every
        for of in (one.hub, *one.types)
    )
    write_table(path, headings, rows)


def _row(of: Station) -> list[str]:
    return [
        _TAKEN[of.kind] if name == "power_taken" else cell(getattr(of, name), decimals_of(name))
        for name in HEADINGS
    ]
