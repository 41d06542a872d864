"""Pointing: the inclinometer, the change per tenth of a degree, neighbours, acceptance."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.physics.angles.pointing import (
    inclinometer_deg,
    neighbours,
    orbit_step,
    pointing_loss_db,
)
from siteplan.physics.radio.antennas import beamwidth_deg
from siteplan.planning.setting import Worked

FloatArray = NDArray[np.float64]
Arrays = dict[str, NDArray[Any]]

#: The small angle that changes are told for [deg].
STEP_DEG = 0.1


def alignment_columns(done: Worked, clear_es_n0_db: FloatArray) -> Arrays:
    """Return the pointing fields; ``clear_es_n0_db`` (n,) is the outbound's in clear sky."""
    network, kit, sites = done.shared.network, done.sizing.kit, done.sites
    elevation = done.angles.elevation_deg
    step = orbit_step(
        sites.lat,
        sites.lon,
        done.altitude_m,
        network.satellite.longitude_deg,
        error_deg=STEP_DEG,
    )
    circular = (network.outbound.downlink_polarization, network.inbound.uplink_polarization)
    blank = circular == ("circular", "circular")
    loss = pointing_loss_db(STEP_DEG, beamwidth_deg(kit.dish_m, network.inbound.uplink_ghz))
    return {
        "inclinometer_deg": inclinometer_deg(elevation, kit.offset_deg),
        "azimuth_step_deg": step.azimuth_deg,
        "elevation_step_deg": step.elevation_deg,
        "skew_step_deg": np.full_like(elevation, np.nan) if blank else step.skew_deg,
        "loss_0_1_deg_db": np.where(np.isnan(elevation), np.nan, loss),
        "expected_c_n_db": clear_es_n0_db,
        "acceptance_c_n_db": clear_es_n0_db - network.site.acceptance_db,
    }


def neighbour_tables(done: Worked) -> Arrays:
    """Return bearing, elevation and separation (n, k) of the neighbouring satellites. [deg]"""
    satellite = done.shared.network.satellite
    found = neighbours(
        done.sites.lat,
        done.sites.lon,
        done.altitude_m,
        satellite.longitude_deg,
        np.array(satellite.neighbours_deg, dtype=float),
    )
    return {
        "neighbour_azimuth_deg": found.look.azimuth_true_deg,
        "neighbour_elevation_deg": found.look.elevation_deg,
        "neighbour_separation_deg": found.separation_deg,
    }
