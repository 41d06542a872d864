"""The groups of inputs that are switched one after the other, and what belongs to each.

Every table of network.toml, every key of the tables that several groups share, and every column of
the sites belongs to one group: a test holds that a new one is given its place here.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import fields, replace
from types import MappingProxyType
from typing import Any, Final

import numpy as np
from pydantic import ValidationError

from siteplan.model import Note, Obstructions, Sites, Surroundings
from siteplan.network import Network
from siteplan.network.reference import is_list_table, table_types

#: The groups, in the order in which they are switched.
GROUPS: Final = (
    "place",
    "satellite",
    "carriers",
    "interference",
    "regulation",
    "catalogue",
    "rules",
)
#: What no group switches: both plans are made anew by the methods and maps at hand.
METHOD: Final = "method"

#: The group of each table whose keys all belong to one.
TABLES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "sites": "place",
        "site": "place",
        "climate": "place",
        "beams": "satellite",
        "contours": "satellite",
        "hub": "carriers",
        "traffic": "carriers",
        "lease": "carriers",
        "applications": "carriers",
        "neighbours": "interference",
        "regulation": "regulation",
        "masks": "regulation",
        "terminal": "catalogue",
        "antennas": "catalogue",
        "bucs": "catalogue",
        "ifl": "catalogue",
        "cables": "catalogue",
        "mounts": "catalogue",
        "costs": "catalogue",
        "rollout": "rules",
        "uncertainty": "rules",
        "rules": "rules",
        "network": "rules",
        "contacts": "rules",
        "sheets": "rules",
        "coverage": "rules",
        "overlays": "rules",
        "methods": METHOD,
    }
)
_TRANSPONDER = (
    *("satellite_eirp_dbw", "satellite_g_t_db_k", "sfd_dbw_m2", "transponder_mhz"),
    *("input_backoff_db", "output_backoff_db"),
)
_CARRIER = (
    *("uplink_ghz", "downlink_ghz", "uplink_polarization", "downlink_polarization"),
    *("symbol_rate_msps", "roll_off", "waveform", "modcod", "es_n0_db", "eb_n0_db"),
    *("bits_per_symbol", "implementation_loss_db", "adaptive", "modcods", "max_modcod"),
    *("hysteresis_db", "frame_efficiency", "level_db", "clear_sky_reduction_db", "power_share"),
)
_CARRIERS = {
    **dict.fromkeys(_TRANSPONDER, "satellite"),
    **dict.fromkeys(_CARRIER, "carriers"),
    **dict.fromkeys(("ci_db", "cross_polar_level_db"), "interference"),
}
#: The group of each key of the tables that several groups share.
KEYS: Final[Mapping[str, Mapping[str, str]]] = MappingProxyType(
    {
        "outbound": _CARRIERS,
        "inbound": _CARRIERS,
        "satellite": {
            **dict.fromkeys(
                ("name", "longitude_deg", "tilt_deg", "station_keeping_deg"), "satellite"
            ),
            **dict.fromkeys(("neighbours_deg", "xpi_db"), "interference"),
        },
    }
)
#: The group of each column of the sites.
COLUMNS: Final[Mapping[str, str]] = MappingProxyType(
    {
        **dict.fromkeys(
            (
                *("site_id", "name", "lat", "lon", "altitude_m", "structure", "wall_facing_deg"),
                *("roof_height_m", "cable_m", "wind_m_s", "priority", "group", "timezone"),
                *("source_row", "notes", "extra"),
            ),
            "place",
        ),
        "beam": "satellite",
        "outbound_kbit_s": "carriers",
        "inbound_kbit_s": "carriers",
        "applications": "carriers",
        "power_availability_pct": "place",
        "line_cost_month": "catalogue",
        "line_km": "catalogue",
        "fixed_antenna_m": "catalogue",
        "fixed_buc_w": "catalogue",
        "fixed_efficiency": "catalogue",
        "fixed_buc_backoff_db": "catalogue",
        "availability_pct": "rules",
    }
)
#: Columns in which a difference changes no result.
UNTOLD: Final = frozenset({"source_row", "notes", "extra"})


def group_of_key(table: str, key: str = "") -> str:
    """Return the group of a table of network.toml, or of a key of one.

    Raises
    ------
    KeyError
        If it was given no place.

    Examples
    --------
    >>> group_of_key("outbound", "ci_db"), group_of_key("antennas")
    ('interference', 'catalogue')
    """
    return TABLES[table] if table in TABLES else KEYS[table][key]


# --- inputs with some groups of one plan and the rest of another ----------------------------


def mixed_network(old: Network, new: Network, switched: Collection[str]) -> Network | None:
    """Return the old network with the groups that are switched from the new one.

    None where the two do not go together, such as a mask and a frequency in which it does not hold.
    Methods are always the new one's.
    """
    taken = {*switched, METHOD}
    tables: dict[str, Any] = {}
    for table in table_types():
        if table in TABLES:
            source = new if TABLES[table] in taken else old
            if table in source.model_fields_set:
                tables[table] = getattr(source, table)
        elif {table} & (old.model_fields_set | new.model_fields_set):
            tables[table] = _mixed_keys(table, old, new, taken)
    try:
        return Network.model_validate(tables)
    except ValidationError:
        return None


def _mixed_keys(table: str, old: Network, new: Network, taken: Collection[str]) -> dict[str, Any]:
    """Return the keys given in a table, each from the network that its group is taken from."""
    keys = {}
    for key, group in KEYS[table].items():
        source = getattr(new if group in taken else old, table)
        if key in source.model_fields_set:
            keys[key] = getattr(source, key)
    return keys


def mixed_sites(old: Sites, new: Sites, switched: Collection[str]) -> Sites:
    """Return sites (n,) with the columns of the groups that are switched from the new ones.

    ``old`` and ``new`` are the same sites in the same order.
    """
    columns = {
        f.name: getattr(new if COLUMNS[f.name] in switched else old, f.name)
        for f in fields(Sites)
        if f.name != "notes"
    }
    found: dict[int, tuple[Note, ...]] = {}
    for source, wanted in ((old, False), (new, True)):
        for index, notes in source.notes.items():
            kept = tuple(n for n in notes if (_group_of_note(n) in switched) == wanted)
            found[index] = (*found.get(index, ()), *kept)
    return replace(old, **columns, notes=MappingProxyType({k: v for k, v in found.items() if v}))


def _group_of_note(note: Note) -> str:
    """Return the group of the column that a note is on; without one that of the place."""
    return COLUMNS.get(str(dict(note.values).get("column", "")), "place")


def mixed_around(old: Surroundings, new: Surroundings, switched: Collection[str]) -> Surroundings:
    """Return the surroundings of the old plan, or of the new one where places are switched."""
    return new if "place" in switched else old


# --- which groups differ --------------------------------------------------------------------


def differing(old: Network, new: Network) -> dict[tuple[str, str], str]:
    """Return the group of each key in which two networks differ; of a list with an empty key.

    What is compared is what holds, whether it was given or is a default.
    """
    found = {}
    for table in table_types():
        one, other = getattr(old, table), getattr(new, table)
        if one == other:
            continue
        if is_list_table(table):
            found[table, ""] = TABLES[table]
            continue
        for key in type(one).model_fields:
            if getattr(one, key) != getattr(other, key):
                found[table, key] = group_of_key(table, key)
    return found


def changed_rows(old: Sites, new: Sites) -> dict[str, np.ndarray[Any, np.dtype[np.bool_]]]:
    """Return where (n,) the same sites differ in each column; columns without any are left out."""
    found = {}
    for name in (f.name for f in fields(Sites) if f.name not in UNTOLD):
        where = unlike(getattr(old, name), getattr(new, name))
        if where.any():
            found[name] = where
    return found


def unlike(one: Any, other: Any) -> np.ndarray[Any, np.dtype[np.bool_]]:
    """Return where two arrays (n,) differ; what is unknown in both does not."""
    differs: np.ndarray[Any, np.dtype[np.bool_]] = np.asarray(one != other)
    if one.dtype.kind == "f":
        differs &= ~(np.isnan(one) & np.isnan(other))
    return differs


def same_around(one: Obstructions | None, other: Obstructions | None) -> bool:
    """Whether two tables of obstacles say the same; the rows that they stood in do not count."""
    if one is None or other is None:
        return (one is None or not len(one)) and (other is None or not len(other))
    return len(one) == len(other) and not any(
        unlike(getattr(one, f.name), getattr(other, f.name)).any()
        for f in fields(Obstructions)
        if f.name != "source_row"
    )
