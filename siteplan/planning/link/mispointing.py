"""What an axis beside the satellite costs: the error given, or the one that a given loss means."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from siteplan.arrays import BoolArray, FloatArray
from siteplan.messages import english
from siteplan.network import Network
from siteplan.physics.angles.pointing import pointing_loss_db
from siteplan.physics.radio.antennas import beamwidth_deg, wavelength_m
from siteplan.planning.link.ends import Dish, Level, higher_ghz

#: The parabola of the main lobe holds to this part of the half-power beamwidth: 3 dB.
_HALF = 0.5
#: Half a half-power beamwidth times D / lambda [deg]: common practice, as the beamwidth.
_HALF_BEAM_DEG = 35.0


def loss_db(network: Network, dish: Dish, ghz: float, more_deg: Level = 0.0) -> Level:
    """Return the pointing loss of dishes at a frequency [dB]: of the error given, else as given.

    ``more_deg`` is added to the error for the sake of a question [deg], a number or one a site.

    References
    ----------
    Maral and Bousquet, Satellite Communications Systems, 5th ed., chapter 5: 12 (d / theta3)^2.
    """
    t = network.terminal
    if t.pointing_error_deg is None and _nothing(more_deg):
        return t.pointing_loss_db
    error = error_deg(network, dish, ghz, more_deg)
    loss = pointing_loss_db(error, beamwidth_deg(dish.diameter_m, ghz))
    if t.pointing_error_deg is None:
        return np.where(np.equal(more_deg, 0), t.pointing_loss_db, loss)
    return loss


def _nothing(more_deg: Level) -> bool:
    """Return whether nothing is added to the error anywhere."""
    return isinstance(more_deg, float) and more_deg == 0


def error_deg(network: Network, dish: Dish, ghz: float, more_deg: Level = 0.0) -> Level:
    """Return the angle between axis and satellite [deg]: given, else what the loss means at ghz.

    What is added to it for the sake of a question counts in either.
    """
    t = network.terminal
    if t.pointing_error_deg is None:
        error: Level = beamwidth_deg(dish.diameter_m, ghz) * np.sqrt(t.pointing_loss_db / 12)
    else:
        error = t.pointing_error_deg
    return error if _nothing(more_deg) else np.abs(error + more_deg)


def within_beam(network: Network, dish: Dish, more_deg: Level = 0.0) -> BoolArray:
    """Return whether an error that is given stays within dishes' half-power beam both ways."""
    given = network.terminal.pointing_error_deg is not None
    if not given and _nothing(more_deg):
        return np.ones(np.shape(dish.diameter_m), dtype=bool)
    ghz = higher_ghz(network)
    beam = beamwidth_deg(dish.diameter_m, ghz)
    held = np.asarray(error_deg(network, dish, ghz, more_deg) <= _HALF * beam)
    return held if given else held | np.equal(more_deg, 0)


def cautions(network: Network) -> Iterator[str]:
    """Yield what must be known of antennas that a given error of pointing rules out."""
    most = largest_m(network)
    if any(a.diameter_m > most for a in network.antennas):
        error = network.terminal.pointing_error_deg
        yield english().one("caution.pointing_coarse", error_deg=error, largest_m=most)


def largest_m(network: Network) -> float:
    """Return the diameter [m] up to which a given error stays within the half-power beam."""
    return float(largest_under_m(network, 0.0))


def largest_under_m(network: Network, more_deg: Level) -> FloatArray:
    """Return the diameter [m] up to which an error with so much more stays within that beam.

    Of an error that a loss means, only what is added to it grows beside a narrower beam.
    """
    t = network.terminal
    if t.pointing_error_deg is not None:
        error, part = np.asarray(t.pointing_error_deg + more_deg), 1.0
    else:  # of 3 dB, where the half-power beam ends
        error, part = np.asarray(more_deg, dtype=float), 1 - math.sqrt(t.pointing_loss_db / 3)
    size = max(_HALF_BEAM_DEG * part, 0.0) / np.where(error > 0, error, 1.0)
    return np.where(error > 0, size * wavelength_m(higher_ghz(network)), np.inf)
