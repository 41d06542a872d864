"""What nobody gave of a network file, and is assumed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from pydantic import BaseModel

from siteplan.model import Assumption
from siteplan.network import (
    Antenna,
    Application,
    Carrier,
    Hub,
    Neighbour,
    Network,
    Outbound,
    OwnMask,
    Regulation,
    Terminal,
    Traffic,
)
from siteplan.network.beams.shapes import Ellipse
from siteplan.network.reference import is_list_table, key_rows, table_types, toml_text
from siteplan.network.spectrum.patterns import Patterned

#: Tables that choose what is drawn, who is called or how sites are read: no figures that a plan
#: rests on; and keys of other tables that are none.
_NO_FIGURES = ("coverage", "overlays", "sites", "contacts")
_NO_FIGURE = (
    *("name", "timezone", "units", "neighbours_deg", "columns", "lone_worker", "paper"),
    *("applications", "profile", "pick"),
    *("adaptive", "modcods", "redundancy", "antennas_m", "level_db", "clear_sky_reduction_db"),
)
#: What the range of the hub's power control rests on where its amplifier is given.
_OF_AMPLIFIER = ("tx_loss_db", "hpa_backoff_db", "carriers")
#: Of a limit of the operator's own only this may be assumed.
_OF_MASKS = ("angle_from",)
#: What a carrier needs to know only where its MODCOD follows the weather.
_OF_ADAPTIVE = ("hysteresis_db",)
#: What is assumed where a key has no default; nothing for other keys.
_ABSENT = {
    "date": "today",
    "lat": "not given",
    "lon": "not given",
    "install_date": "the plan's date",
    "hub_level_db": "as at the sites",
    "uplink_dbw_40khz": "not counted",
}


def assumptions(network: Network) -> tuple[Assumption, ...]:
    """Return every figure that nobody gave, with the value used instead.

    Parameters
    ----------
    network : Network

    Returns
    -------
    tuple of Assumption
        Keys such as ``outbound.satellite_eirp_dbw``; entries of lists count from 1:
        ``antennas.1.efficiency``.
    """
    found: list[Assumption] = []
    usual = {
        "site": {"wind_m_s": toml_text(network.design_wind_m_s)},
        "traffic": {"utilisation": toml_text(network.traffic.used)},
    }
    for table in table_types():
        if table in _NO_FIGURES:
            continue
        value = getattr(network, table)
        given = table in network.model_fields_set
        if not is_list_table(table):
            found += _assumed(network, table, table, value, absent=_ABSENT | usual.get(table, {}))
            continue
        for number, entry in enumerate(value, 1):
            found += _assumed(network, f"{table}.{number}", table, entry, whole=not given)
            found += _by_profile(f"{table}.{number}", entry)
    return tuple(found)


def _assumed(
    network: Network,
    prefix: str,
    table: str,
    model: BaseModel,
    *,
    whole: bool = False,
    absent: Mapping[str, str] = _ABSENT,
) -> Iterator[Assumption]:
    """Yield a table's figures that nobody gave; ``absent`` tells those that have no default."""
    for row in key_rows(table):
        value = getattr(model, row.key)
        if (row.key in model.model_fields_set and not whole) or _is_idle(network, model, row.key):
            continue
        text = absent.get(row.key, "") if value is None else toml_text(value).strip('"')
        if text:
            yield Assumption(f"{prefix}.{row.key}", text, row.unit, row.meaning)


def _by_profile(prefix: str, entry: BaseModel) -> Iterator[Assumption]:
    """Yield the figures that the profile of an application puts in."""
    if isinstance(entry, Application):
        rows = {row.key: row for row in key_rows("applications")}
        for name, value in entry.put_in().items():
            text = toml_text(value).strip('"')
            meaning = f"{rows[name].meaning}, by its profile: common practice, no source"
            yield Assumption(f"{prefix}.{name}", text, rows[name].unit, meaning)


def _is_idle(network: Network, model: BaseModel, key: str) -> bool:
    """Whether a default is not used: another key takes its place, or nothing makes it count."""
    by_figure = isinstance(model, Carrier) and (
        model.es_n0_db is not None or model.eb_n0_db is not None
    )
    fixed = isinstance(model, Carrier) and not model.adaptive
    by_gain = isinstance(model, Antenna) and model.gain_dbi is not None
    unamplified = isinstance(model, Hub) and model.hpa_w is None
    by_error = isinstance(model, Terminal) and model.pointing_error_deg is not None
    return (
        key in _NO_FIGURE
        or (by_figure and key in ("modcod", "waveform"))
        or (fixed and key in _OF_ADAPTIVE)
        or (by_gain and key == "efficiency")
        or (by_error and key == "pointing_loss_db")
        or (
            isinstance(model, Outbound) and key == "satellite_eirp_dbw" and _is_by_contours(network)
        )
        or (unamplified and key in _OF_AMPLIFIER)
        or (isinstance(model, Traffic) and key in _of_other_access(model))
        or (key == "processing_ms" and not network.times_delays)
        or (key == "discount_pct" and not network.costs.counts_life)
        or _is_silent(network, model, key)
    )


def _of_other_access(model: Traffic) -> tuple[str, ...]:
    """Return the keys that count with another access than the one that is used."""
    return ("utilisation",) if model.access == "circuit" else ("blocking_pct",)


def _is_silent(network: Network, model: BaseModel, key: str) -> bool:
    """Whether a default is one of interference, limits or an ellipse that nothing makes count."""
    limited, crossed = bool(network.regulation.masks), network.has_cross_polar
    if isinstance(model, Neighbour):
        return key == "downlink_level_db" and model.downlink_dbw_mhz is not None
    if isinstance(model, Regulation):
        return key == "masks" or not limited
    if isinstance(model, OwnMask):
        return key not in _OF_MASKS
    if isinstance(model, Ellipse):
        return not model.is_ellipse
    if isinstance(model, Patterned) and key == "pattern":
        return not limited and not network.neighbours
    return key == "xpi_db" and not crossed


def _is_by_contours(network: Network) -> bool:
    """Whether contours give every site's EIRP, and no neighbour stands over the file's."""
    return any(of.direction == "down" for of in network.contours) and not network.neighbours
