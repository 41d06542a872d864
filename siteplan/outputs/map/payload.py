"""map.html: the offline map, one file with the sites on a canvas, to open without a network.

Written into the output folder; read by planner and crew in any browser.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

from siteplan.fields import COORDINATE_DOUBT, FIELDS, FLAGS, Field, lookup
from siteplan.network import Network
from siteplan.outputs import taking
from siteplan.outputs.filenames import safe_names
from siteplan.outputs.map import backdrop as behind
from siteplan.outputs.map import dataset, page
from siteplan.outputs.map.backdrop import Behind
from siteplan.outputs.map.card import ASKED, BY_NAME, CARD, card_groups
from siteplan.outputs.map.classing import flagged, layer_specs
from siteplan.outputs.map.extent import first_view
from siteplan.outputs.map.layers import layers_of
from siteplan.outputs.map.looks import plain_look
from siteplan.outputs.shown import NOT_REACHED, NOWHERE, amount, share_of_time, target_of, unit_sign
from siteplan.prices import kind_prices
from siteplan.results import Plan
from siteplan.words import of_month, orbital_position

#: Up to so many sites every result field travels; beyond, those of card and layers only.
EVERY_FIELD_SITES = 5000

#: Tables of a plan that the map takes; sites along axis 0.
MAP_TABLES = (
    *("whatif_site_margin_db", "whatif_clear_db", "whatif_wet_pct", "whatif_wet_db"),
    *("budget_db", "horizon_deg"),
)
#: Targets closer than this are the same [%].
_SAME_TARGET_PCT = 1e-6
#: Least and greatest outage [%] that the map's what-if answers for.
WHATIF_REACH_PCT = 0.01, 5.0
#: Decimals of the percentage of time up to which dishes are wet; the map's script knows them too.
WET_PCT_DECIMALS = 5
#: What a hundredth of a decibel in 16 bits holds [dB]; nobody tells margins beyond apart.
_SHORT_DB = -320.0, 320.0
#: Steps in which margins of one kit everywhere travel [dB].
PAIR_STEP_DB = 0.05
#: Stop flags that hang on the kit: with another pair its margin decides, or nobody worked it out.
OF_THE_KIT = ("margin_negative", "no_fit", "mount_engineered")


def write_map(
    plan: Plan,
    path: Path,
    *,
    title: str = "",
    tiles: str = "",
    plain: bool = False,
    backing: Behind | None = None,
    opens_on: str = "",
) -> None:
    """Write the map of ``plan`` to ``path``, one file that needs nothing else.

    Parameters
    ----------
    plan : Plan
        The results; sites along axis 0.
    path : pathlib.Path
        The HTML file to write.
    title : str, optional
        Heading of the page, else the plan's name.
    tiles : str, optional
        Address of online map tiles with {z}, {x} and {y}. Only with it may the page ask for
        anything, and then for that host's images alone.
    plain : bool
        Leave the data uncompressed whatever its size, for browsers from before 2020 to 2023.
    backing : Behind, optional
        Coverage and overlays to draw behind the sites.
    opens_on : str, optional
        Field of the layer that is shown first, else the first of the list.

    Raises
    ------
    OutputError
        If the address of the tiles cannot be used.
    """
    heading = title or plan.facts.name or "Site plan"
    whole = payload(plan, heading, tiles=tiles)
    whole["behind"] = behind.payload(backing or behind.NOTHING, other_targets=_other_targets(plan))
    whole["opens_on"] = opens_on
    text = page.render(heading, whole, tiles=tiles, plain=plain)
    path.write_text(text, encoding="utf-8", newline="\n")


def payload(plan: Plan, heading: str, *, tiles: str = "") -> dict[str, Any]:
    """Return everything the page knows of ``plan``, ready for JSON."""
    names = tuple(name for name in dict.fromkeys(_names(plan)) if name in plan.columns)
    rules = plan.network.rules
    flags = plan.columns.get("flags", np.full(len(plan), "", dtype=object))
    doubted = flagged(flags, {COORDINATE_DOUBT})
    view, far = first_view(plan.columns["lat"], plan.columns["lon"], doubted)
    return {
        "heading": heading,
        "count": len(plan),
        "facts": headline(plan),
        "verdict": _verdict(plan),
        "hub": _hub(plan.network),
        "fields": {name: _described(field) for name, field in _known(names)},
        "columns": dataset.field_columns(plan.columns, names),
        "extra": [
            {"label": str(name), **dataset.extra_column(values)}
            for name, values in plan.extra.items()
        ],
        "card": [{"heading": head, "fields": fields} for head, fields in card_groups(names)],
        "layers": layer_specs(
            plan.columns, bounds_db=rules.margin_classes_db, reserve_db=rules.reserve_db
        ),
        "flags": {f.code: {"severity": f.severity, "meaning": f.meaning} for f in FLAGS.values()},
        "remarks": list(plan.facts.remarks),
        "assumptions": [a.to_json() for a in plan.assumptions],
        "view": view,
        "far": np.flatnonzero(far),
        "look": plain_look(),
        "rules": {
            "bounds_db": rules.margin_classes_db,
            "reserve_db": rules.reserve_db,
            "min_elevation_deg": rules.min_elevation_deg,
        },
        "satellite_lon_deg": _satellite_lon_deg(plan),
        "target_pct": plan.network.usual_target_pct,
        "thresholds_db": _thresholds_db(plan.network),
        "sheets": _sheets(plan),
        "tiles": tiles,
        **({"tilt_deg": tilt} if (tilt := plan.network.satellite.tilt_deg) else {}),
        **_tables(plan),
        **_takes(plan),
        **_sensitive(plan),
        **_beams(plan),
    }


def _tables(plan: Plan) -> dict[str, Any]:
    """Return the tables for what-if, budget and horizon, where the plan has them."""
    found: dict[str, Any] = {}
    budget = plan.tables.get("budget_db")
    if "whatif_site_margin_db" in plan.tables:
        found["whatif"] = _whatif(plan)
    if budget is not None:
        # Hop, interference, attenuation and hub: what noise takes is what is left over.
        found["budget"] = dataset.table_column(budget[:, :, [0, 1, 2, 4]], 1)
        found["carriers"] = _carriers(plan.network)
    one_kit = _everywhere(plan)
    if one_kit is not None:
        found["everywhere"] = one_kit
    horizon = plan.tables.get("horizon_deg")
    if horizon is not None and np.isfinite(horizon).any():
        found["horizon"] = dataset.table_column(horizon, 0)
    return found


def _takes(plan: Plan) -> dict[str, Any]:
    """Return what would help each site, a sentence a line, where anything is told of any."""
    found = taking.by_site(plan.facts.remedies)
    if not found:
        return {}
    lines = [
        "\n".join(map(taking.told, found.get(site, ())))
        for site in plan.columns["site_id"].tolist()
    ]
    return {"takes": dataset.sentence_column(np.array([*lines, ""], dtype=object)[:-1])}


def _sensitive(plan: Plan) -> dict[str, Any]:
    """Return which steps of figures change each site's pair, where the plan has the tables.

    A site's text is numbers such as ``1.3.0 10.2.4``: the step's place among ``steps``, the least
    part of it that changes the pair in eighths, and the place of the pair then among ``pairs``, of
    which an empty text is none.
    """
    eighths = plan.tables.get("sensitivity_eighths")
    if eighths is None or not eighths.any():
        return {}
    at = np.nonzero(eighths)
    antenna, buc = (plan.tables[f"sensitivity_{name}"][at] for name in ("antenna_m", "buc_w"))
    pairs: dict[str, int] = {}
    found: list[list[str]] = [[] for _ in range(len(plan))]
    for site, step, part, *kit in zip(*at, eighths[at], antenna, buc, strict=True):
        pair = pairs.setdefault(_pair(*map(float, kit)), len(pairs))
        found[site].append(f"{step}.{part}.{pair}")
    texts = np.array([*map(" ".join, found), ""], dtype=object)[:-1]
    told = [of.told for of in plan.facts.changes_kit]
    return {"sensitive": {"steps": told, "pairs": list(pairs), "of": dataset.text_column(texts)}}


def _pair(antenna_m: float, buc_w: float) -> str:
    """Return a pair in words; empty where antenna or BUC is none."""
    if math.isnan(antenna_m) or math.isnan(buc_w):
        return ""
    return f"{amount(antenna_m, 'm')}, {amount(buc_w, 'W')}"


def _whatif(plan: Plan) -> dict[str, Any]:
    """Return what the map needs to share another target's outage between the two ends itself.

    ``hub_db`` has a third curve only where the hub's rain depolarizes: see `Facts.whatif_hub_db`.
    """
    margins, clear = plan.tables["whatif_site_margin_db"], plan.tables["whatif_clear_db"]
    hub = plan.facts.whatif_hub_db
    hubs = [hub, *(beam.whatif_hub_db for beam in plan.facts.beams)]
    share = plan.network.rules.hub_outage_share
    wet = {}
    if "whatif_wet_db" in plan.tables:
        wet["wet_pct"] = dataset.table_column(plan.tables["whatif_wet_pct"], WET_PCT_DECIMALS)
        wet["wet"] = dataset.table_column(np.clip(plan.tables["whatif_wet_db"], *_SHORT_DB), 2)
    lowered = plan.tables.get("whatif_lowered_db")
    return {
        **wet,
        **({} if lowered is None else {"lowered": dataset.table_column(lowered, 2)}),
        "p_pct": list(plan.facts.whatif_p_pct),
        "reach_pct": WHATIF_REACH_PCT,
        **({"month": plan.facts.month_law} if plan.facts.month_law else {}),
        "site": dataset.table_column(np.clip(margins, *_SHORT_DB), 2, bends=True),
        "clear": dataset.table_column(clear, 2),
        "hub_db": _curves(hub),
        "share": share if any(any(map(any, of[:2])) for of in hubs) else 0,
    }


def _curves(hub: tuple[tuple[float, ...], ...]) -> list[list[float]]:
    """Return what a hub's rain does, to a thousandth of a decibel."""
    return [np.round(way, 3).tolist() for way in hub]


def _beams(plan: Plan) -> dict[str, Any]:
    """Return what the sites of each beam share, and the beam of each site; nothing of one beam."""
    found = plan.facts.beams
    if not found:
        return {}
    place = {beam.name: k for k, beam in enumerate(found)}
    of = [place.get(name, 0) for name in plan.columns["beam"].tolist()]
    each = [
        {
            "name": beam.name,
            "thresholds_db": _thresholds_db(own := plan.network.of_beam(beam.name)),
            "carriers": _carriers(own),
            "hub_db": _curves(beam.whatif_hub_db),
            "hub": _hub(own),
        }
        for beam in found
    ]
    return {"beams": {"of": of, "each": each}}


def _everywhere(plan: Plan) -> dict[str, Any] | None:
    """Return what the map needs to colour by one kit at every site; None without its table.

    ``pairs`` are diameter [m] and power [W], ``prices`` what they cost where all have a price.
    ``db`` holds, site by site, the margin with the first pair in steps of ``step_db``, then how
    far each of the others lies above the pair before.
    """
    margins = plan.tables.get("pair_margin_db")
    if margins is None:
        return None
    rules = plan.network.rules
    bounds = (*rules.margin_classes_db, rules.reserve_db)
    prices = kind_prices(plan.network, plan.facts.pairs)
    priced = not any(math.isnan(price) for price in prices)
    return {
        "pairs": [list(pair) for pair in plan.facts.pairs],
        "step_db": PAIR_STEP_DB,
        "db": dataset.told_by_change(
            dataset.in_steps(np.clip(margins, *_SHORT_DB), PAIR_STEP_DB, bounds)
        ),
        "of_the_kit": OF_THE_KIT,
        **({"prices": prices} if priced else {}),
    }


def _thresholds_db(network: Network) -> dict[str, float]:
    """Return the implementation loss of each direction [dB], for the card's budget."""
    return {way: getattr(network, way).implementation_loss_db for way in ("outbound", "inbound")}


def _carriers(network: Network) -> dict[str, dict[str, float | bool]]:
    """Return what the lines of the site's own hop take of each carrier, for the card's budget."""
    out, back = network.outbound, network.inbound
    return {
        "outbound": {
            "ghz": out.downlink_ghz,
            "symbol_rate_msps": out.symbol_rate_msps,
            "eirp_dbw": out.satellite_eirp_dbw,
            "backoff_db": out.output_backoff_db,
            **({"level_db": out.level_db} if out.level_db else {}),
            "transponder_mhz": out.transponder_mhz,
            "occupied_mhz": out.occupied_mhz,
            "depolarizes": out.cross_polar_level_db is not None,
        },
        "inbound": {
            "ghz": back.uplink_ghz,
            "symbol_rate_msps": back.symbol_rate_msps,
            "g_t_db_k": back.satellite_g_t_db_k,
        },
    }


def _sheets(plan: Plan) -> dict[str, Any] | None:
    """Return the file name of each site's sheet, where the plan has written sheets."""
    if not plan.facts.sheets:
        return None
    stems = safe_names([str(site) for site in plan.columns["site_id"]])
    return dataset.text_column(np.array([*stems, ""], dtype=object)[:-1])


def _names(plan: Plan) -> Iterable[str]:
    """Yield the fields that go into the page."""
    yield from BY_NAME
    yield from (layer.field for layer in layers_of(plan.columns))
    for _, fields in (*CARD, *ASKED):
        yield from fields
    every = len(plan) <= EVERY_FIELD_SITES
    yield from (name for name in plan.columns if every or name not in FIELDS)


def _known(names: Iterable[str]) -> Iterable[tuple[str, Field]]:
    for name in names:
        field = lookup(name)
        if field is not None:
            yield name, field


def _described(field: Field) -> dict[str, Any]:
    return {
        "label": field.label,
        "unit": unit_sign(field.unit),
        "decimals": field.decimals,
        "meaning": field.meaning,
        "source": field.source,
        "group": field.group,
        **({"zero": NOT_REACHED} if field.name in NOWHERE else {}),
        **({"tried": True} if field.rests_on == "tried" else {}),
    }


def headline(plan: Plan) -> list[list[str]]:
    """Return the facts under the heading as label and value."""
    facts: list[tuple[str, str]] = [
        ("Satellite", _satellite(plan)),
        ("Date", str(plan.facts.date or plan.network.network.date or "")),
        ("Target", _target(plan)),
        ("Shown", plan.facts.shown),  # of a plan too large for one map
        ("Sites", "" if plan.facts.shown else str(len(plan))),
        ("Caution", " ".join(plan.facts.cautions)),
    ]
    return [[label, value] for label, value in facts if value]


def _verdict(plan: Plan) -> dict[str, Any] | None:
    """Return the lines of the strip under the heading, and of how many sites they are."""
    found = plan.facts.verdict
    if found is None:
        return None
    lines = [
        {
            "code": line.code,
            "label": line.label,
            "items": [
                {"text": x.text, "asks": dict(x.asks), **({"detail": x.detail} if x.detail else {})}
                for x in line.items
            ],
        }
        for line in found.lines
    ]
    return {"sites": found.sites, "served": found.served, "lines": lines}


def _satellite_lon_deg(plan: Plan) -> float:
    return math.remainder(plan.network.satellite.longitude_deg, 360.0)


def _satellite(plan: Plan) -> str:
    place = orbital_position(_satellite_lon_deg(plan), decimals=1)
    name = plan.network.satellite.name
    return f"{name}, {place}" if name else place


def _target(plan: Plan) -> str:
    return target_of(plan) + of_month(plan.network.network.availability_basis)


def _other_targets(plan: Plan) -> str:
    """Return that contours have a target of their own, where a site has another than the plan."""
    ours = plan.network.usual_target_pct
    targets = plan.columns.get("availability_target_pct", np.array([ours]))
    if not (np.isfinite(targets) & (np.abs(targets - ours) > _SAME_TARGET_PCT)).any():
        return ""
    sites = share_of_time(float(np.nanmin(targets)), float(np.nanmax(targets)))
    of = of_month(plan.network.network.availability_basis)
    return f"Contours are for a target of {share_of_time(ours)}{of}; the sites have {sites}."


def _hub(network: Network) -> dict[str, float] | None:
    lat, lon = network.hub.lat, network.hub.lon
    if lat is None or lon is None:
        return None
    return {"lat": float(lat), "lon": float(lon)}
