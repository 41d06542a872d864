"""The result fields, made from what the steps have worked out."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.fields import FIELDS, catalogue_margin_name
from siteplan.model import Surroundings
from siteplan.physics.angles.geometry import azimuth_sensitivity_deg_per_km
from siteplan.physics.angles.magnetic import compass_reliable, model_valid
from siteplan.planning.flags import FlagInputs, flags
from siteplan.planning.kit.pick import PART_INSTALLED, Sizing
from siteplan.planning.kit.shortfall import Shortfall, no_fit_reasons
from siteplan.planning.link.budget import (
    clear,
    hub_clear,
    inbound_es_n0_db,
    outbound_es_n0_db,
    remote_eirp_dbw,
    remote_g_t_db_k,
    shares_pct,
    with_scintillation,
)
from siteplan.planning.report.classes import margin_class
from siteplan.planning.setting import Worked
from siteplan.planning.site.stance import Raised, footing, mount_columns
from siteplan.planning.sitepack import pack

FloatArray = NDArray[np.float64]
Columns = dict[str, NDArray[Any]]

#: Columns of the sites table that go into the results as they are.
_CARRIED = (
    "site_id",
    "name",
    "group",
    "priority",
    "lat",
    "lon",
    "structure",
    "timezone",
    "wall_facing_deg",
    "roof_height_m",
    "cable_m",
    "wind_m_s",
    "fixed_antenna_m",
    "fixed_buc_w",
    "source_row",
)


def make_columns(done: Worked, around: Surroundings | None = None) -> Columns:
    """Return the result fields of sites (n,), in the order of the dictionary of fields.

    Without ``around`` the site pack is left out, but for the mount.
    """
    columns: Columns = {name: getattr(done.sites, name) for name in _CARRIED}
    for step in (_place, _bearings, _attenuation, _levels, _margins, _availability, _kit):
        columns |= step(done)
    standing = footing(done)
    columns |= mount_columns(standing)
    raised: Raised = {}
    if around is not None:
        added = pack(done, standing, columns, around)
        columns |= added.columns
        raised = added.raised
    columns |= _flags(done, raised)
    return {name: columns[name] for name in _order(columns)}


def _order(columns: Columns) -> list[str]:
    """Return the names in the dictionary's order; catalogue margins stand before the mount."""
    fixed = [name for name in FIELDS if name in columns]
    dynamic = [name for name in columns if name not in FIELDS]
    cut = fixed.index("mount")
    return fixed[:cut] + dynamic + fixed[cut:]


def _place(done: Worked) -> Columns:
    """Return altitude, target and climate."""
    given = ~np.isnan(done.sites.altitude_m)
    return {
        "altitude_m": done.altitude_m,
        "altitude_source": np.where(given, "given", "P.1511").astype(object),
        "availability_target_pct": done.target_pct,
        "rain_rate_mm_h": done.climate.rain_rate_mm_h,
        "rain_height_km": done.climate.rain_height_km,
    }


def _bearings(done: Worked) -> Columns:
    """Return look angles, true and magnetic."""
    angles = done.angles
    magnetic = np.mod(angles.azimuth_true_deg - done.field.declination_deg, 360.0)
    return {
        "azimuth_true_deg": angles.azimuth_true_deg,
        "azimuth_magnetic_deg": magnetic,
        "magnetic_declination_deg": done.field.declination_deg,
        "elevation_deg": angles.elevation_deg,
        "skew_deg": _skew_deg(done),
        "slant_range_km": angles.slant_range_km,
    }


def _skew_deg(done: Worked) -> FloatArray:
    """Return the skew; blank where the remote's feed is circular both ways."""
    network = done.shared.network
    feed = network.outbound.downlink_polarization, network.inbound.uplink_polarization
    skew = done.angles.skew_deg
    return np.full_like(skew, np.nan) if feed == ("circular", "circular") else skew


def _attenuation(done: Worked) -> Columns:
    """Return the attenuation at the sites' share of the outage, with its parts."""
    columns: Columns = {}
    site, at = done.link.site, done.weather
    for way, path, dry in (("uplink", site.up, at.up), ("downlink", site.down, at.down)):
        total = with_scintillation(path, dry, at.factor, done.sizing.kit.dish)
        columns |= {
            f"{way}_attenuation_db": total.total,
            f"{way}_gas_db": total.gas,
            f"{way}_cloud_db": total.cloud,
            f"{way}_rain_db": total.rain,
            f"{way}_scintillation_db": total.scintillation,
        }
    return columns


def _levels(done: Worked) -> Columns:
    """Return clear-sky levels and fade margins."""
    link, kit = done.link, done.sizing.kit
    eirp = remote_eirp_dbw(link, kit.dish, kit.buc_dbw)
    out = outbound_es_n0_db(link, kit.dish, clear(link.site.down), 0.0)
    back = inbound_es_n0_db(link, eirp, clear(link.site.up), hub_clear(link))
    out_fade, back_fade = out - link.outbound_required_db, back - link.inbound_required_db
    return {
        "outbound_clear_es_n0_db": out,
        "inbound_clear_es_n0_db": back,
        "outbound_fade_margin_db": out_fade,
        "inbound_fade_margin_db": back_fade,
        "fade_margin_db": np.where(_inbound_limits(done.sizing), back_fade, out_fade),
        "remote_eirp_dbw": np.where(np.isnan(out), np.nan, eirp),
        "remote_g_t_db_k": remote_g_t_db_k(link, kit.dish, clear(link.site.down), 0.0),
    }


def _inbound_limits(sizing: Sizing) -> NDArray[np.bool_]:
    """Return where the inbound margin is the smaller one."""
    return np.round(sizing.inbound_margin_db, 6) < np.round(sizing.outbound_margin_db, 6)


def _margins(done: Worked) -> Columns:
    """Return the margins at the target and which direction limits."""
    out, back = done.sizing.outbound_margin_db, done.sizing.inbound_margin_db
    margin = np.minimum(out, back)
    limiting = np.where(_inbound_limits(done.sizing), "inbound", "outbound")
    return {
        "outbound_margin_db": out,
        "inbound_margin_db": back,
        "margin_db": margin,
        "margin_class": margin_class(margin, done.shared.network.rules.margin_classes_db),
        "limiting_direction": np.where(np.isnan(margin), "", limiting).astype(object),
    }


def _availability(done: Worked) -> Columns:
    """Return the availability achieved; a margin that holds at the target vouches for it."""
    columns: Columns = {}
    margins = done.sizing.outbound_margin_db, done.sizing.inbound_margin_db
    for way, achieved, margin in zip(("outbound", "inbound"), done.achieved, margins, strict=True):
        reached = achieved.availability_pct
        least = np.maximum(reached, done.target_pct)
        columns[f"{way}_availability_pct"] = np.where(margin >= 0, least, reached)
    both = columns["outbound_availability_pct"], columns["inbound_availability_pct"]
    return columns | {"availability_achieved_pct": np.minimum(*both)}


def _kit(done: Worked) -> Columns:
    """Return the kit, what would just do, and the margin with each antenna."""
    sizing = done.sizing
    columns: Columns = {
        "antenna_m": sizing.kit.antenna_m,
        "buc_w": sizing.kit.buc_w,
        "kit_source": sizing.kit.source,
        "required_antenna_m": sizing.required_antenna_m,
        "next_antenna_m": sizing.next_antenna_m,
        "next_antenna_margin_db": sizing.next_margin_db,
        "no_fit_reason": _no_fit_reason(done),
    }
    for k, diameter in enumerate(done.shared.kinds.diameter_m):
        columns[catalogue_margin_name(float(diameter))] = sizing.catalogue_margin_db[:, k]
    return columns


def _no_fit_reason(done: Worked) -> NDArray[np.object_]:
    """Return why a site has no kit; empty where it has."""
    sizing, at = done.sizing, done.weather
    outbound = ~_inbound_limits(sizing)
    margin = np.minimum(sizing.outbound_margin_db, sizing.inbound_margin_db)
    return no_fit_reasons(
        Shortfall(
            missing=done.missing,
            installed=sizing.kit.source == PART_INSTALLED,
            outbound=outbound,
            elevation_deg=done.angles.elevation_deg,
            floor_deg=done.shared.floor_deg,
            dish_m=sizing.kit.dish_m,
            buc_w=sizing.kit.tried_w,
            short_db=done.shared.network.rules.reserve_db - margin,
            fade_db=np.where(outbound, at.down.total, at.up.total),
            required_m=sizing.required_antenna_m,
        )
    )


def _flags(done: Worked, raised: Raised) -> Columns:
    """Return flags and their sentences; ``raised`` are those of the site pack."""
    sites, rules, angles = done.sites, done.shared.network.rules, done.angles
    longitude = done.shared.network.satellite.longitude_deg
    turn = azimuth_sensitivity_deg_per_km(sites.lat, sites.lon, done.altitude_m, longitude)
    inputs = FlagInputs(
        depression_deg=-angles.geometric_elevation_deg,
        elevation_deg=angles.elevation_deg,
        reflector_tilt_deg=angles.elevation_deg - done.sizing.kit.offset_deg,
        azimuth_turn_deg_km=np.minimum(np.nan_to_num(turn, nan=90.0), 90.0),
        rain_rate_mm_h=done.climate.rain_rate_mm_h,
        margin_db=np.minimum(done.sizing.outbound_margin_db, done.sizing.inbound_margin_db),
        kit_given=~done.missing,
        no_fit=done.missing & (angles.elevation_deg >= done.shared.floor_deg),
        no_fit_reason=_no_fit_reason(done),
        share_excess_db=_share_excess_db(done),
        outage_pct=_smallest_p(done),
        capped=done.achieved[0].capped | done.achieved[1].capped,
        low_availability=done.achieved[0].low | done.achieved[1].low,
        compass_reliable=compass_reliable(done.field.horizontal_nt),
        magnetic_valid=model_valid(done.shared.date),
        reserve_db=rules.reserve_db,
        min_elevation_deg=rules.min_elevation_deg,
    )
    found = flags(inputs, sites.notes, raised)
    return {"flags": found.codes, "flag_notes": found.notes}


def _share_excess_db(done: Worked) -> FloatArray:
    """Return how far the inbound carrier exceeds its share of power in clear sky (n,) [dB]."""
    link, kit = done.link, done.sizing.kit
    eirp = remote_eirp_dbw(link, kit.dish, kit.buc_dbw)
    flux = eirp - link.site.spreading_db_m2 - link.site.up.gas_db
    return np.asarray(flux - link.inbound.share_flux_dbw_m2)


def _smallest_p(done: Worked) -> FloatArray:
    """Return the smallest percentage of time that a site's answers rest on (n,)."""
    p_site, _ = shares_pct(done.shared.network, 100 - done.target_pct)
    outages = [100 - a.availability_pct for a in done.achieved]
    return np.asarray(np.fmin.reduce([p_site, *outages]))
