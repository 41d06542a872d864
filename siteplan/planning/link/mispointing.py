"""What an axis beside the satellite costs: the error given, or the one that a given loss means."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from siteplan.arrays import BoolArray
from siteplan.messages import english
from siteplan.network import Network
from siteplan.physics.angles.pointing import pointing_loss_db
from siteplan.physics.radio.antennas import beamwidth_deg, wavelength_m
from siteplan.planning.link.ends import Dish, Level, higher_ghz

#: The parabola of the main lobe holds to this part of the half-power beamwidth: 3 dB.
_HALF = 0.5
#: Half a half-power beamwidth times D / lambda [deg]: common practice, as the beamwidth.
_HALF_BEAM_DEG = 35.0


def loss_db(network: Network, dish: Dish, ghz: float) -> Level:
    """Return the pointing loss of dishes at a frequency [dB]: of the error given, else as given.

    References
    ----------
    Maral and Bousquet, Satellite Communications Systems, 5th ed., chapter 5: 12 (d / theta3)^2.
    """
    t = network.terminal
    if t.pointing_error_deg is None and t.pointing_more_deg == 0:
        return t.pointing_loss_db
    return pointing_loss_db(error_deg(network, dish, ghz), beamwidth_deg(dish.diameter_m, ghz))


def error_deg(network: Network, dish: Dish, ghz: float) -> Level:
    """Return the angle between axis and satellite [deg]: given, else what the loss means at ghz.

    What is added to it for the sake of a question counts in either.
    """
    t = network.terminal
    if t.pointing_error_deg is None:
        error: Level = beamwidth_deg(dish.diameter_m, ghz) * np.sqrt(t.pointing_loss_db / 12)
    else:
        error = t.pointing_error_deg
    return error if t.pointing_more_deg == 0 else np.abs(error + t.pointing_more_deg)


def within_beam(network: Network, dish: Dish) -> BoolArray:
    """Return whether an error that is given stays within dishes' half-power beam both ways."""
    t = network.terminal
    if t.pointing_error_deg is None and t.pointing_more_deg == 0:
        return np.ones(np.shape(dish.diameter_m), dtype=bool)
    ghz = higher_ghz(network)
    beam = beamwidth_deg(dish.diameter_m, ghz)
    return np.asarray(error_deg(network, dish, ghz) <= _HALF * beam)


def cautions(network: Network) -> Iterator[str]:
    """Yield what must be known of antennas that a given error of pointing rules out."""
    most = largest_m(network)
    if any(a.diameter_m > most for a in network.antennas):
        error = network.terminal.pointing_error_deg
        yield english().one("caution.pointing_coarse", error_deg=error, largest_m=most)


def largest_m(network: Network) -> float:
    """Return the diameter [m] up to which a given error stays within the half-power beam.

    Of an error that a loss means, only what is added to it grows beside a narrower beam.
    """
    t = network.terminal
    error, part = t.pointing_more_deg, 1.0
    if t.pointing_error_deg is not None:
        error = t.pointing_error_deg + t.pointing_more_deg
    elif error:
        part = 1 - math.sqrt(t.pointing_loss_db / 3)  # of 3 dB, where the half-power beam ends
    if error <= 0:
        return float("inf")
    return float(max(_HALF_BEAM_DEG * part, 0.0) / error * wavelength_m(higher_ghz(network)))
