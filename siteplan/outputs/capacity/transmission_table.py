"""transmission_plan.csv: a row a carrier, a hub, a type of terminals, for the operator's forms."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from siteplan.answers.transmission import (
    CarrierGroup,
    HubStation,
    TerminalStation,
    Transmission,
)
from siteplan.outputs.escaping import CsvWriter
from siteplan.outputs.shown import fixed

#: Decimals by column; None for a text.
_DECIMALS: dict[str, int | None] = {
    **dict.fromkeys(("kind", "beam", "direction"), None),
    **dict.fromkeys(("number", "carriers", "sites"), 0),
    "uplink_ghz": 9,
    "uplink_polarization": None,
    "downlink_ghz": 9,
    "downlink_polarization": None,
    "centre_offset_mhz": 6,
    "symbol_rate_msps": 6,
    "roll_off": 3,
    **dict.fromkeys(("modcod", "modcods"), None),
    "required_es_n0_db": 2,
    "information_rate_kbit_s": 3,
    "emission": None,
    **dict.fromkeys(("occupied_mhz", "power_equivalent_mhz", "leased_mhz", "transponder_mhz"), 6),
    **dict.fromkeys(("input_backoff_db", "output_backoff_db"), 2),
    **dict.fromkeys(("eirp_dbw", "greatest_eirp_dbw", "flux_dbw_m2", "sfd_dbw_m2"), 2),
    "satellite_g_t_db_k": 2,
    **dict.fromkeys(("carrier_input_backoff_db", "carrier_output_backoff_db"), 2),
    **dict.fromkeys(("least_satellite_eirp_dbw", "satellite_eirp_dbw"), 2),
    **dict.fromkeys(("least_carrier_eirp_dbw", "carrier_eirp_dbw"), 2),
    **dict.fromkeys(("lat", "lon"), 6),
    **dict.fromkeys(("antenna_m", "buc_w", "efficiency"), 3),
    **dict.fromkeys(("tx_gain_dbi", "g_t_db_k"), 2),
    **dict.fromkeys(("feed_w", "greatest_feed_w", "allowed_feed_w"), 3),
    "mask": None,
    **dict.fromkeys(("hpa_w", "needed_hpa_w"), 2),
    **dict.fromkeys(("hpa_backoff_db", "power_control_db"), 2),
    "redundancy": None,
    **dict.fromkeys(("cross_polar_db", "acceptance_db"), 1),
    "assumed": None,
}
HEADINGS = tuple(_DECIMALS)


def write_transmission_csv(of: Transmission, path: Path) -> None:
    """Write the transmission plan as CSV (UTF-8), for who fills in the operator's forms.

    ``kind`` is carrier, hub or terminal; what a kind has not, and what is not known, is blank.
    Columns are named as the attributes of `siteplan.answers.transmission`; ``carriers`` is how many
    there are of a direction in a beam, or share a hub's amplifier. ``assumed`` are the keys that
    nobody gave and that figures of the row rest on.
    """
    with path.open("w", encoding="utf-8", errors="replace", newline="") as file:
        writer = CsvWriter(file)
        writer.writerow(HEADINGS)
        for row in _rows(of):
            writer.writerow([_cell(row.get(name), name) for name in HEADINGS])


def _rows(of: Transmission) -> Iterator[dict[str, Any]]:
    for group in of.groups:
        yield from _carriers(of, group)
    for hub in of.hubs:
        yield _hub(of, hub)
    for station in of.terminals:
        yield _terminal(of, station)


def _carriers(of: Transmission, group: CarrierGroup) -> Iterator[dict[str, Any]]:
    """Yield a row a carrier; the access test's limits stand with those that are tested."""
    shared = {name: getattr(group, name, None) for name in HEADINGS}
    acceptance = of.acceptance_db if group.direction == "outbound" else math.nan
    for centre in group.centres:
        yield shared | {
            "kind": "carrier",
            "beam": "; ".join(group.beams),
            "number": centre.number,
            "carriers": len(group.centres),
            "uplink_ghz": centre.uplink_ghz,
            "downlink_ghz": centre.downlink_ghz,
            "centre_offset_mhz": centre.offset_mhz,
            "modcods": " to ".join(group.modcods),
            "cross_polar_db": of.cross_polar_db,
            "acceptance_db": acceptance,
            "assumed": "; ".join(group.basis[1]),
        }


def _hub(of: Transmission, hub: HubStation) -> dict[str, Any]:
    shared = {name: getattr(hub, name, None) for name in HEADINGS}
    more = {"beam": "; ".join(hub.beams), "cross_polar_db": of.cross_polar_db}
    return shared | more | {"kind": "hub", "assumed": "; ".join(hub.basis[1])}


def _terminal(of: Transmission, station: TerminalStation) -> dict[str, Any]:
    """Return a type of terminals; levels at the satellite are those of its strongest."""
    type_ = station.type
    names = ("antenna_m", "buc_w", "efficiency", "sites", "g_t_db_k", "power_equivalent_mhz",
             "flux_dbw_m2", "sfd_dbw_m2", "eirp_dbw", "feed_w", "allowed_feed_w")  # fmt: skip
    return {name: getattr(type_, name) for name in names} | {
        "kind": "terminal",
        "beam": "; ".join(station.beams),
        "uplink_ghz": station.uplink_ghz,
        "tx_gain_dbi": station.tx_gain_dbi,
        "greatest_feed_w": type_.faded_feed_w,
        "greatest_eirp_dbw": type_.faded_eirp_dbw,
        "cross_polar_db": of.cross_polar_db,
        "assumed": "; ".join(station.basis[1]),
    }


def _cell(value: Any, name: str) -> str:
    """Return a value as a cell: a text, or a bare number; '' for what is not known."""
    decimals = _DECIMALS[name]
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    return str(value) if decimals is None else fixed(round(value, decimals) + 0.0, decimals)
