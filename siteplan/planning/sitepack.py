"""The site pack: what the crew needs beside angles and link, as fields, flags and tables."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.fields import CAVEAT
from siteplan.messages import fill
from siteplan.model import Surroundings
from siteplan.physics.radio.antennas import beamwidth_deg, gain_dbi
from siteplan.planning.setting import Setting, Worked
from siteplan.planning.site import cable as cabling
from siteplan.planning.site import exposure as exposures
from siteplan.planning.site import pointing as alignment
from siteplan.planning.site import sky
from siteplan.planning.site import sun as transits
from siteplan.planning.site.stance import (
    Columns,
    FloatArray,
    Footing,
    Pack,
    Raised,
    TextArray,
    footing,
    load_columns,
    lower_ghz,
)

#: Plans of more sites than this go without the tables of the site pack.
MOST_SITES = 20_000


def pack(
    done: Worked, standing: Footing, clear: dict[str, NDArray[Any]], around: Surroundings
) -> Pack:
    """Return the site pack of the sites at hand.

    Parameters
    ----------
    done : Worked
        Results of the other steps.
    standing : Footing
        From `footing`.
    clear : dict
        The columns ``outbound_clear_es_n0_db``, ``outbound_fade_margin_db`` and
        ``remote_g_t_db_k``.
    around : Surroundings
        Obstacles and terrain.
    """
    columns, raised = load_columns(done, standing)
    for step in (_sky_part, _cable_part, _exposure_part):
        part = step(done, standing, clear, around)
        columns |= part.columns
        raised |= part.raised
    after = done.shared.date
    margin = clear["outbound_fade_margin_db"]
    columns |= transits.season_columns(_listener(done, clear), after, margin)
    columns |= alignment.alignment_columns(done, clear["outbound_clear_es_n0_db"])
    return Pack(columns, raised)


def _view(done: Worked, standing: Footing) -> sky.View:
    beam = beamwidth_deg(standing.dish_m, lower_ghz(done))
    angles = done.angles
    return sky.View(angles.azimuth_true_deg, angles.elevation_deg, beam, standing.view_rim_m)


def _obstacles(done: Worked, standing: Footing, around: Surroundings) -> sky.Obstacles | None:
    if around.obstructions is None:
        return None
    rules = done.shared.network.site
    return sky.obstacles_at(around.obstructions, done.sites.site_id, standing.view_rim_m, rules)


def _sky_part(
    done: Worked, standing: Footing, clear: dict[str, NDArray[Any]], around: Surroundings
) -> Pack:
    """Return horizon, clearance and stand-off, and what they flag."""
    view, spare = _view(done, standing), done.shared.network.site.clearance_deg
    terrain = _terrain_deg(done, standing, around)
    found = sky.sky(view, _obstacles(done, standing, around), terrain)
    seen = ~np.isnan(view.elevation_deg)
    columns: Columns = {
        "horizon_at_satellite_deg": found.horizon_deg,
        "horizon_source": found.source,
        "obstacle_kind": found.kind,
        "clearance_deg": found.clearance_deg,
        "stand_off_per_m": sky.stand_off_per_m(view, spare),
        "beamwidth_deg": np.where(seen, view.beamwidth_deg, np.nan),
    }
    blocked = found.clearance_deg < 0
    tight = ~blocked & (found.clearance_deg < spare)
    numbers = {"top": found.horizon_deg, "clear": found.clearance_deg}
    raised: Raised = {
        "blocked": (
            blocked,
            fill(
                "What stands at the satellite's bearing reaches {top:.1f} deg and blocks the beam:"
                " move the dish, raise it, or have the way cleared.",
                {k: v[blocked] for k, v in numbers.items()},
            ),
        ),
        "sky_tight": (
            tight,
            fill(
                "The beam clears what stands at its bearing by {clear:.1f} deg only, less than the"
                f" {spare:g} deg wanted.",
                {k: v[tight] for k, v in numbers.items()},
            ),
        ),
    }
    if terrain is not None:
        outside = np.isnan(terrain) & seen & ~np.isnan(view.azimuth_true_deg)
        sentence = "The terrain file does not cover this site: its hills were not looked at."
        raised["outside_terrain"] = outside, np.full(int(outside.sum()), sentence, dtype=object)
    return Pack(columns, raised)


def _terrain_deg(done: Worked, standing: Footing, around: Surroundings) -> FloatArray | None:
    """Return the terrain's horizon (n,) [deg], None without a file."""
    if around.terrain_path is None:
        return None
    from siteplan.planning.site.terrain import terrain_at

    sites, azimuth = done.sites, done.angles.azimuth_true_deg
    rim = standing.view_rim_m + standing.dish_m / 2
    return terrain_at(around.terrain_path, sites.lat, sites.lon, azimuth, rim).elevation_deg


def _cable_part(
    done: Worked, standing: Footing, clear: dict[str, NDArray[Any]], around: Surroundings
) -> Pack:
    """Return the cable, its levels and its supply, and what they flag."""
    network, kit, link = done.shared.network, done.sizing.kit, done.link
    length = np.where(np.isnan(done.sites.cable_m), network.ifl.cable_m, done.sites.cable_m)
    carrier = link.outbound
    gain = gain_dbi(kit.dish_m, kit.efficiency, carrier.downlink_ghz)
    loss = link.site.free_space_db + link.site.down.gas_db + network.terminal.pointing_loss_db
    at_lnb = (
        carrier.satellite_eirp_dbw - carrier.share_backoff_db - loss + gain
    ) - network.terminal.rx_loss_db
    drawn = cabling.buc_dc_w(kit.tried_w, network)
    found = cabling.cabling(cabling.Demand(length, kit.buc_dbw, drawn, at_lnb), network)
    columns: Columns = {
        "ifl_length_m": length,
        "cable_class": found.name,
        "cable_loss_low_db": found.loss_low_db,
        "cable_loss_high_db": found.loss_high_db,
        "cable_slope_db": found.slope_db,
        "buc_dc_w": np.where(np.isnan(at_lnb), np.nan, drawn),
        "buc_voltage_v": found.voltage_v,
        "buc_current_a": found.current_a,
        "modem_output_dbm": found.modem_output_dbm,
        "modem_input_dbm": found.modem_input_dbm,
        "cable_advice": found.advice,
    }
    none = found.advice != ""
    off = found.out_of_range & ~none
    levels = {"out": found.modem_output_dbm[off], "into": found.modem_input_dbm[off]}
    told = "The modem would send {out:.0f} dBm and receive {into:.0f} dBm, one of them out of its"
    return Pack(
        columns,
        {
            "cable_none": (none, found.advice[none]),
            "drive_range": (off, fill(f"{told} range: insert a pad.", levels)),
        },
    )


def _exposure_part(
    done: Worked, standing: Footing, clear: dict[str, NDArray[Any]], around: Surroundings
) -> Pack:
    """Return densities and distances, and where people can reach the beam."""
    network, kit = done.shared.network, done.sizing.kit
    power = kit.tried_w * 10 ** (-network.terminal.tx_loss_db / 10)
    elevation = done.angles.elevation_deg
    source = exposures.Radiator(power, kit.dish_m, kit.efficiency, elevation, standing.rim_m)
    x = exposures.exposures(source, network)
    numbers = {
        "aperture_w_m2": x.regions.surface_w_m2,
        "near_field_w_m2": x.regions.near_w_m2,
        "near_field_end_m": x.regions.near_end_m,
        "far_field_start_m": x.regions.far_start_m,
        "controlled_distance_m": x.controlled_m,
        "public_distance_m": x.public_m,
        "controlled_beside_m": x.controlled_beside_m,
        "public_beside_m": x.public_beside_m,
        "beam_edge_m": x.edge_m,
        "beam_over_head_m": x.over_head_m,
    }
    seen = ~np.isnan(elevation)
    columns: Columns = {k: np.where(seen, v, np.nan) for k, v in numbers.items()}
    columns["exposure_rule"] = np.where(seen, x.rule, "").astype(object)
    at = x.reachable
    sentence = (
        "People can reach the beam where it passes the public limit: fence it for"
        " {far:.1f} m in front of the dish, or mount it higher"
        f" ({CAVEAT})."
    )
    values = {"far": np.maximum(x.over_head_m, 0)[at]}
    return Pack(columns, {"beam_reachable": (at, fill(sentence, values))})


def _listener(done: Worked, clear: dict[str, NDArray[Any]]) -> transits.Listener:
    """Return the remotes as stations that the sun can disturb."""
    network, kit, sites = done.shared.network, done.sizing.kit, done.sites
    g_t = clear["remote_g_t_db_k"]
    system = transits.system_noise_of_k(g_t, kit.dish_m, kit.efficiency, network)
    return transits.Listener(
        sites.lat,
        sites.lon,
        done.altitude_m,
        network.satellite.longitude_deg,
        kit.dish_m,
        network.outbound.downlink_ghz,
        system,
        network.terminal.rx_loss_db,
    )


def install_date(shared: Setting) -> Any:
    """Return the date of the installation, else the plan's."""
    return shared.network.network.install_date or shared.date


def pack_tables(
    done: Worked, clear: dict[str, NDArray[Any]], around: Surroundings, *, first: int
) -> Columns:
    """Return what does not fit one value a site; ``first`` is the first site's index in the plan.

    ``clear`` is as in `pack`. The README's page on the site pack lists names and shapes.
    """
    standing = footing(done)
    view, site = _view(done, standing), done.shared.network.site
    obstacles = _obstacles(done, standing, around)
    angles, sites = done.angles, done.sites
    zones = zones_of(done)
    tables: Columns = {
        "horizon_deg": sky.horizon_grid_deg(obstacles, len(sites)),
        "stand_off_m": sky.stand_off_m(view, site.clearance_deg),
        "mount_score": standing.chosen.score.astype(np.float32),
    }
    tables |= transits.transit_tables(_listener(done, clear), done.shared.date, zones)
    tables["sun_site"] += first
    tables |= transits.bearing_tables(
        install_date(done.shared), sites.lat, sites.lon, angles.azimuth_true_deg
    )
    return tables | alignment.neighbour_tables(done)


def zones_of(done: Worked) -> TextArray:
    """Return each site's time zone (n,): given, else the network's, else ''."""
    zone = done.shared.network.network.timezone
    return np.where(done.sites.timezone == "", zone, done.sites.timezone).astype(object)


def pack_facts(shared: Setting, *, tables: bool, skipped: bool) -> dict[str, Any]:
    """Return what the outputs show beside the site pack's fields."""
    told = f"Plans of more than {MOST_SITES} sites go without tables of sun and horizon."
    return {
        "install_date": install_date(shared).isoformat(),
        "stand_off_heights_m": sky.HEIGHTS_M,
        "hub_sun": tuple(transits.hub_transits(shared.network, shared.date)) if tables else (),
        "site_tables": told if skipped else "",
    }
