"""One carrier through a transparent transponder: flux, back-off, up and down, combined.

All levels are in decibels; Es/N0 is in the bandwidth of the symbol rate. Formulas are those of
Maral and Bousquet, Satellite Communications Systems, chapter 5 (overall link performance).
"""

from __future__ import annotations

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.frozen import frozen
from siteplan.physics.constants import BOLTZMANN_DBW_K_HZ
from siteplan.physics.radio.antennas import wavelength_m

#: A number, or an array that broadcasts with the others.
Level = float | FloatArray


#: Natural logarithm of the inverse ratio of one decibel: exp is far cheaper than a power of ten.
_PER_DB = -np.log(10) / 10


@frozen
class CarrierPlan:
    """A carrier and its transponder.

    Frequencies [GHz], symbol rate [sym/s], saturated EIRP towards the receiver [dBW], G/T
    towards the transmitter [dB/K], saturation flux density at that G/T [dBW/m2], the carrier's
    output back-off when it takes the power share of its bandwidth [dB], input less output back-off
    [dB], and C/I in clear sky [dB]. Levels are numbers, or one a site (n,).
    """

    uplink_ghz: float
    downlink_ghz: float
    symbol_rate_sps: float
    satellite_eirp_dbw: Level
    satellite_g_t_db_k: Level
    sfd_dbw_m2: Level
    share_backoff_db: float
    backoff_gap_db: float
    ci_db: Level

    @property
    def share_flux_dbw_m2(self) -> Level:
        """Flux density at the satellite [dBW/m2] at which the carrier takes its share of power."""
        return self.sfd_dbw_m2 - self.share_backoff_db - self.backoff_gap_db

    @property
    def saturating_flux_dbw_m2(self) -> Level:
        """Flux density at the satellite [dBW/m2] beyond which the carrier grows no more."""
        return self.sfd_dbw_m2 - self.backoff_gap_db

    @property
    def symbol_rate_dbhz(self) -> float:
        """Symbol rate as a bandwidth [dBHz]."""
        return float(10 * np.log10(self.symbol_rate_sps))


def share_backoff_db(
    output_backoff_db: float, transponder_mhz: float, occupied_mhz: float
) -> float:
    """Return a carrier's output back-off [dB] at its bandwidth's share of the power.

    Parameters
    ----------
    output_backoff_db : float
        Back-off of the whole transponder [dB].
    transponder_mhz, occupied_mhz : float
        Bandwidth of the transponder and of the carrier [MHz].

    Examples
    --------
    A fifth of the transponder has a fifth of its power, 6.99 dB less.

    >>> round(share_backoff_db(3.5, 36, 7.2), 2)
    10.49
    """
    return float(output_backoff_db + 10 * np.log10(transponder_mhz / occupied_mhz))


def power_equivalent_mhz(
    transponder_mhz: Level, output_backoff_db: Level, carrier_backoff_db: Level
) -> FloatArray:
    """Return the bandwidth [MHz] whose share of the transponder's power a carrier takes.

    Common practice of satellite leases: the part of the power that the whole transponder gives
    at its back-off, as the same part of its bandwidth.

    Parameters
    ----------
    transponder_mhz : float or array
        Bandwidth of the transponder [MHz].
    output_backoff_db : float or array
        Back-off of the whole transponder [dB].
    carrier_backoff_db : float or array
        The carrier's EIRP under the saturated transponder's [dB].

    Examples
    --------
    A carrier of 36 dBW of a transponder of 36 MHz and 48 dBW, 3.5 dB backed off:

    >>> round(float(power_equivalent_mhz(36, 3.5, 48 - 36)), 4)
    5.0851
    """
    return np.asarray(transponder_mhz * 10 ** ((output_backoff_db - carrier_backoff_db) / 10))


def inverse_sum_db(*ratios_db: Level) -> FloatArray:
    """Return the ratio [dB] of a carrier to the sum of noises, from its ratio [dB] to each.

    Examples
    --------
    Two equal noises lie 3.01 dB deep; one that is 10 dB weaker costs 0.41 dB.

    >>> inverse_sum_db(np.array([10.0, 20.0]), 10.0).round(2).tolist()
    [6.99, 9.59]
    """
    inverse: Level = 0.0
    for ratio in ratios_db:  # under -1000 dB, where a path skims the horizon, it stays there
        inverse = inverse + np.exp(np.maximum(ratio, -1000.0) * _PER_DB)
    return np.asarray(-10 * np.log10(inverse))


def isotropic_aperture_dbm2(frequency_ghz: Level) -> FloatArray:
    """Return the effective aperture of an isotropic antenna [dB m2] at a frequency [GHz].

    Free-space loss [dB] is spreading loss [dB m2] less this.

    Examples
    --------
    A wavelength of 1 cm: 10 log(1e-4 / 4 pi) by hand.

    >>> round(float(isotropic_aperture_dbm2(29.9792458)), 2)
    -50.99
    """
    return np.asarray(10 * np.log10(wavelength_m(frequency_ghz) ** 2 / (4 * np.pi)))


def uplink_es_n0_db(carrier: CarrierPlan, flux_dbw_m2: Level) -> FloatArray:
    """Return the uplink's Es/N0 [dB] from the flux density at the satellite [dBW/m2]."""
    aperture_dbm2 = isotropic_aperture_dbm2(carrier.uplink_ghz)
    c_n0 = np.asarray(flux_dbw_m2) + aperture_dbm2 + carrier.satellite_g_t_db_k - BOLTZMANN_DBW_K_HZ
    return np.asarray(c_n0 - carrier.symbol_rate_dbhz)


def carrier_backoff_db(carrier: CarrierPlan, flux_dbw_m2: Level) -> FloatArray:
    """Return the carrier's output back-off [dB] at a flux density [dBW/m2]; zero at the least."""
    input_backoff = carrier.sfd_dbw_m2 - np.asarray(flux_dbw_m2, dtype=float)
    return np.maximum(input_backoff - carrier.backoff_gap_db, 0.0)


def es_n0_db(
    carrier: CarrierPlan,
    flux_dbw_m2: Level,
    downlink_loss_db: Level,
    g_t_db_k: Level,
    *,
    ci_db: Level | None = None,
    uplink_fade_db: Level = 0.0,
) -> FloatArray:
    """Return the overall Es/(N0+I0) at the receiving station.

    Parameters
    ----------
    carrier : CarrierPlan
        The carrier.
    flux_dbw_m2 : float or array
        Flux density at the satellite, fade included [dBW/m2].
    downlink_loss_db : float or array
        Free space, atmosphere and pointing of the downlink [dB].
    g_t_db_k : float or array
        G/T of the receiving station, with the noise of that sky [dB/K].
    ci_db : float or array, optional
        Carrier over all interference in clear sky [dB], in place of the carrier's own C/I.
    uplink_fade_db : float or array
        How far rain at the transmitter has lowered the carrier below clear sky [dB]. The
        interference does not cross that rain: C/I falls by as much.

    Returns
    -------
    ndarray
        Es/(N0+I0) [dB], of the broadcast shape: uplink, downlink and interference as inverse
        sums.

    Examples
    --------
    An uplink and a C/I so good that the downlink alone counts: EIRP 48 less 10.5 dB of back-off,
    206 dB of loss, G/T 20 dB/K, Boltzmann's 228.6 and 60 dBHz leave 20.1 dB; 3 dB more of loss
    in rain take 3 dB.

    >>> carrier = CarrierPlan(14.25, 11.95, 1e6, 48, 100, -88, 10.5, 2.5, 100)
    >>> flux = carrier.share_flux_dbw_m2
    >>> es_n0_db(carrier, flux, np.array([206.0, 209.0]), 20.0).round(1).tolist()
    [20.1, 17.1]
    """
    return inverse_sum_db(
        uplink_es_n0_db(carrier, flux_dbw_m2),
        downlink_es_n0_db(carrier, flux_dbw_m2, downlink_loss_db, g_t_db_k),
        (carrier.ci_db if ci_db is None else ci_db) - np.asarray(uplink_fade_db, dtype=float),
    )


def downlink_es_n0_db(
    carrier: CarrierPlan, flux_dbw_m2: Level, downlink_loss_db: Level, g_t_db_k: Level
) -> FloatArray:
    """Return the downlink's Es/N0 [dB]; the parameters are those of `es_n0_db`."""
    eirp = carrier.satellite_eirp_dbw - carrier_backoff_db(carrier, flux_dbw_m2)
    c_n0 = eirp - downlink_loss_db + g_t_db_k - BOLTZMANN_DBW_K_HZ
    return np.asarray(c_n0 - carrier.symbol_rate_dbhz)
