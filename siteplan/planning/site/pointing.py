"""Pointing: the inclinometer, the change per tenth of a degree, neighbours, acceptance."""

from __future__ import annotations

import numpy as np

from siteplan.arrays import Arrays, Column, FloatArray
from siteplan.frozen import frozen
from siteplan.network import Network
from siteplan.physics.angles.pointing import (
    inclinometer_deg,
    neighbours,
    orbit_step,
    pointing_loss_db,
)
from siteplan.physics.radio.antennas import beamwidth_deg
from siteplan.planning.link.ends import Kit
from siteplan.planning.place import Place, circular_feed
from siteplan.planning.step import Columns

#: The small angle that changes are told for [deg].
STEP_DEG = 0.1


@frozen(eq=False)
class Pointing(Arrays):
    """What helps to point each dish (n,), and what is measured when it points right."""

    inclinometer_deg: Column
    azimuth_step_deg: Column
    elevation_step_deg: Column
    skew_step_deg: Column
    loss_0_1_deg_db: Column
    expected_c_n_db: Column
    acceptance_c_n_db: Column


def pointing(at: Place, kit: Kit, clear_es_n0_db: FloatArray, network: Network) -> Pointing:
    """Return the pointing aids; ``clear_es_n0_db`` (n,) is the outbound's in clear sky [dB]."""
    elevation, longitude = at.elevation_deg, network.satellite.longitude_deg
    step = orbit_step(at.lat, at.lon, at.altitude_m, longitude, error_deg=STEP_DEG)
    loss = pointing_loss_db(STEP_DEG, beamwidth_deg(kit.dish_m, network.inbound.uplink_ghz))
    blank = np.full_like(elevation, np.nan)
    return Pointing(
        inclinometer_deg=inclinometer_deg(elevation, kit.offset_deg),
        azimuth_step_deg=step.azimuth_deg,
        elevation_step_deg=step.elevation_deg,
        skew_step_deg=blank if circular_feed(network) else step.skew_deg,
        loss_0_1_deg_db=np.where(at.seen, loss, np.nan),
        expected_c_n_db=clear_es_n0_db,
        acceptance_c_n_db=clear_es_n0_db - network.site.acceptance_db,
    )


def neighbour_tables(at: Place, network: Network) -> Columns:
    """Return bearing, elevation and separation (n, k) of the neighbouring satellites. [deg]"""
    satellite = network.satellite
    found = neighbours(
        at.lat,
        at.lon,
        at.altitude_m,
        satellite.longitude_deg,
        np.array(satellite.neighbours_deg, dtype=float),
    )
    return {
        "neighbour_azimuth_deg": found.look.azimuth_true_deg,
        "neighbour_elevation_deg": found.look.elevation_deg,
        "neighbour_separation_deg": found.separation_deg,
    }
