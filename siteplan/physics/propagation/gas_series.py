"""Short series that stand in for P.676's sums over lines at one frequency.

The line sums of ``siteplan.physics.propagation.gas`` are the definition. Here, for one frequency:

- the zenith attenuation of water vapour depends on the vapour content alone (P.676-12 annex 2
  eq. 39 takes density and temperature from it): a Chebyshev series in its logarithm;
- oxygen's lines, far from the frequency, are expanded in powers of line width over distance. With
  P the pressure, Z = 1e-4 (P theta^0.8 + 1.1 e theta) and Y = 1e-4 (P + e) theta^0.8, the sum is
  ``P theta^3 (sum Z^j G_j(theta) - Y sum Z^2j H_j(theta))``: the G and H are Chebyshev series.

Each series is tried against the line sums when it is made, to ``TOLERANCE``; where it fails (near
the lines, above some 42 GHz), or where a site is outside its range, the sums are used.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from math import comb

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.frozen import frozen
from siteplan.physics.propagation import gas

#: Relative difference to the line sums that a series may have: a tenth of what tests allow.
TOLERANCE = 1e-10
#: Vapour contents [kg/m2] that the vapour series covers.
VAPOUR_RANGE = (0.5, 110.0)
#: 300/T that the oxygen series covers: 200 to 333 K.
THETA_RANGE = (0.9, 1.5)
#: Pressures [hPa] that the oxygen series covers: sea level to some 7 km.
PRESSURE_RANGE = (400.0, 1100.0)
#: Highest water-vapour density [g/m3] that the oxygen series is tried at.
MOST_VAPOUR_G_M3 = 45.0

#: Fewer sites than this are summed line by line: the series takes longer to make.
SERIES_FROM_SITES = 500

_ZEEMAN_GHZ2 = 2.25e-6  # added to the square of the width (P.676-12 eq. 6b)
_ORDERS = 7
_ROOT_TERMS = 3
_VAPOUR_TERMS = 24
_THETA_TERMS = 24
#: Terms smaller than this share of the whole are dropped.
_NEGLIGIBLE = 1e-13


@frozen
class Polynomial:
    """A polynomial in ``(value - middle) / half``, for values within half of the middle."""

    terms: tuple[float, ...]
    middle: float
    half: float

    def scaled(self, values: FloatArray) -> FloatArray:
        """Return the values on the scale from -1 to 1."""
        return (values - self.middle) / self.half


def horner(terms: tuple[float, ...], x: FloatArray) -> FloatArray:
    """Return a polynomial with power coefficients ``terms`` at ``x`` (n,)."""
    total = np.full_like(x, terms[-1])
    for term in terms[-2::-1]:
        total *= x
        total += term
    return total


def _polynomial(
    function: Callable[[FloatArray], FloatArray],
    low: float,
    high: float,
    terms: int,
    negligible: float,
) -> Polynomial:
    """Return the Chebyshev interpolant on [low, high], without its negligible tail."""
    from numpy.polynomial import Chebyshev, chebyshev

    fitted = Chebyshev.interpolate(function, terms - 1, domain=[low, high])
    small = np.abs(fitted.coef) < negligible
    kept = len(small) - int(np.argmin(small[::-1])) if not small.all() else 1
    power = chebyshev.cheb2poly(fitted.coef[:kept])
    return Polynomial(tuple(power.tolist()), (low + high) / 2, (high - low) / 2)


@lru_cache(maxsize=16)
def vapour_series(frequency_ghz: float) -> Polynomial | None:
    """Return the series of zenith vapour attenuation over content, in ln content, or None.

    Its value times the content [kg/m2] is the attenuation [dB] before the height term.
    """
    low, high = (float(np.log(v)) for v in VAPOUR_RANGE)

    def sums(log_content: FloatArray) -> FloatArray:
        content = np.exp(log_content)
        return gas.vapour_ratio(frequency_ghz, content)

    scale = float(np.max(sums(np.linspace(low, high, 50))))
    series = _polynomial(sums, low, high, _VAPOUR_TERMS, _NEGLIGIBLE * scale)
    trial = np.linspace(low, high, 501)
    known = sums(trial)
    error = np.abs(horner(series.terms, series.scaled(trial)) / known - 1)
    return series if float(np.max(error)) < TOLERANCE else None


@frozen
class OxygenSeries:
    """Oxygen's lines at one frequency: power coefficients in the scaled theta, by power of Z.

    ``width`` belongs to the powers -3, -1, 1, 3 ... of Z, ``interference`` to 0, 2, 4 ...
    """

    middle: float
    half: float
    width: tuple[tuple[float, ...], ...]
    interference: tuple[tuple[float, ...], ...]

    def __call__(
        self, pressure_hpa: FloatArray, vapour_hpa: FloatArray, theta: FloatArray
    ) -> FloatArray:
        """Return the lines' sum (n,) that ``gas.oxygen_lines`` gives, over the frequency."""
        x = (theta - self.middle) / self.half
        warm = theta**0.8
        z = 1e-4 * (pressure_hpa * warm + 1.1 * vapour_hpa * theta)
        y = 1e-4 * (pressure_hpa + vapour_hpa) * warm
        z2 = z * z
        lines = _nested(self.width, x, z2) / (z2 * z)
        lines -= y * _nested(self.interference, x, z2)
        lines *= pressure_hpa * theta**3
        return lines


def _nested(table: tuple[tuple[float, ...], ...], x: FloatArray, z2: FloatArray) -> FloatArray:
    """Return the sum over j of ``z2**j`` times the polynomial j of ``x``."""
    total = horner(table[-1], x)
    for terms in table[-2::-1]:
        total *= z2
        total += horner(terms, x)
    return total


@lru_cache(maxsize=16)
def oxygen_series(frequency_ghz: float) -> OxygenSeries | None:
    """Return the series of oxygen's lines at a frequency, or None where it does not converge."""
    lines = gas.spectral_lines("oxygen")
    lines = lines[lines[:, 4] == 0]
    if float(np.min(np.abs(lines[:, 0] - frequency_ghz))) < 8:
        return None
    low, high = THETA_RANGE
    largest_z = 1e-4 * PRESSURE_RANGE[1] * high**0.8
    width, interference = _coefficients(lines, frequency_ghz)
    scale = float(np.max(np.abs(_at(lines, width[:, 2], low)))) * largest_z

    def fits(rows: FloatArray, first_power: int, mixed: bool) -> tuple[tuple[float, ...], ...]:
        found = []
        for j, row in enumerate(rows.T):
            size = largest_z ** (first_power + 2 * j) * (largest_z if mixed else 1.0)
            small = _NEGLIGIBLE * scale / max(size, 1e-6)
            shift = lines[:, 5:7] if mixed else None
            function = _theta_function(lines, row, shift)
            found.append(_polynomial(function, low, high, _THETA_TERMS, small).terms)
        return tuple(found)

    series = OxygenSeries(
        (low + high) / 2, (high - low) / 2, fits(width, -3, False), fits(interference, 0, True)
    )
    return series if _oxygen_error(series, frequency_ghz) < TOLERANCE else None


def _theta_function(
    lines: FloatArray, weights: FloatArray, shift: FloatArray | None
) -> Callable[[FloatArray], FloatArray]:
    """Return the function of theta that stands before one power of Z."""

    def function(theta: FloatArray) -> FloatArray:
        value = weights[:, None] * np.exp(lines[:, 2, None] * (1 - theta))
        if shift is not None:
            value = value * (shift[:, 0, None] + shift[:, 1, None] * theta)
        return np.asarray(value.sum(axis=0))

    return function


def _at(lines: FloatArray, weights: FloatArray, theta: float) -> FloatArray:
    return _theta_function(lines, weights, None)(np.array([theta]))


def _coefficients(lines: FloatArray, frequency_ghz: float) -> tuple[FloatArray, FloatArray]:
    """Return each line's weights before the powers of Z: width (-3 on) and interference (0 on).

    The width's square is ``(a3 Z)^2 + q``: powers of it are expanded by the binomial theorem,
    odd ones in ``q / (a3 Z)^2``, which is under 2e-5.
    """
    f0, a1, a3 = lines[:, 0], lines[:, 1], lines[:, 3]
    strength = 1e-7 * a1 / f0
    width = np.zeros((len(lines), _ORDERS + 2))
    interference = np.zeros((len(lines), _ORDERS))
    for k in range(_ORDERS):
        sign = (-1.0) ** k
        even = (f0 - frequency_ghz) ** -(2 * k + 2) + (f0 + frequency_ghz) ** -(2 * k + 2)
        odd = (f0 - frequency_ghz) ** -(2 * k + 1) + (f0 + frequency_ghz) ** -(2 * k + 1)
        for m in range(_ROOT_TERMS):
            share = _binomial(k + 0.5, m) * _ZEEMAN_GHZ2**m * a3 ** (2 * k + 1 - 2 * m)
            width[:, k - m + 2] += sign * strength * even * share
        for m in range(k + 1):
            share = comb(k, m) * _ZEEMAN_GHZ2**m * a3 ** (2 * (k - m))
            interference[:, k - m] += sign * strength * odd * share
    return width, interference


def _binomial(top: float, m: int) -> float:
    """Return the generalised binomial coefficient."""
    value = 1.0
    for i in range(m):
        value *= (top - i) / (i + 1)
    return value


def _oxygen_error(series: OxygenSeries, frequency_ghz: float) -> float:
    """Return the largest relative difference to the line sums over the series' range."""
    pressure, theta, density = (
        g.ravel()
        for g in np.meshgrid(
            np.linspace(*PRESSURE_RANGE, 7),
            np.linspace(*THETA_RANGE, 31),
            np.array([0.0, 5.0, MOST_VAPOUR_G_M3]),
        )
    )
    t_k = 300.0 / theta
    known = gas.oxygen_db_km(frequency_ghz, pressure, density, t_k)
    found = gas.oxygen_db_km(frequency_ghz, pressure, density, t_k, series=series)
    return float(np.max(np.abs(found / known - 1)))


def gas_db(
    frequency_ghz: float,
    elevation_deg: FloatArray,
    *,
    pressure_hpa: FloatArray,
    density_g_m3: FloatArray,
    temperature_k: FloatArray,
    vapour_kg_m2: FloatArray,
    altitude_km: FloatArray,
    many: bool | None = None,
) -> FloatArray:
    """Return the gaseous attenuation on slant paths.

    Parameters
    ----------
    frequency_ghz : float
        Frequency [GHz].
    elevation_deg : (n,) array
        Elevation [deg]; the method holds from 5 to 90.
    pressure_hpa, density_g_m3, temperature_k : (n,) arrays
        Surface pressure [hPa], water-vapour density [g/m3] and temperature [K].
    vapour_kg_m2, altitude_km : (n,) arrays
        Total columnar water vapour [kg/m2] and height above sea level [km].
    many : bool, optional
        Whether the series are used, else by the number of sites: some sites out of many take
        them too, so that a site's value does not hang on its company.

    Returns
    -------
    (n,) array
        Attenuation [dB], ITU-R P.676-12 annex 2 eq. 29 with the zenith vapour method.

    Examples
    --------
    ITU-R's own examples for 51.5 N, 31.08 degrees of elevation: 0.227 dB at 14.25 and 0.838 dB
    at 29 GHz.

    >>> site = dict(
    ...     pressure_hpa=np.array([1009.485612]), density_g_m3=np.array([13.79653679]),
    ...     temperature_k=np.array([283.6108756]), vapour_kg_m2=np.array([33.72946527]),
    ...     altitude_km=np.array([0.031382984]),
    ... )
    >>> [round(float(gas_db(f, np.array([31.07699124]), **site)[0]), 3) for f in (14.25, 29.0)]
    [0.227, 0.838]
    """
    surface = frequency_ghz, pressure_hpa, density_g_m3, temperature_k
    if many is None:
        many = len(vapour_kg_m2) >= SERIES_FROM_SITES
    oxygen = _oxygen_db_km(*surface, many=many) * gas.oxygen_height_km(*surface)
    ratio = _vapour_ratio(frequency_ghz, vapour_kg_m2, many=many)
    vapour = gas.zenith_vapour_db(frequency_ghz, vapour_kg_m2, altitude_km, ratio=ratio)
    return (oxygen + vapour) / np.sin(np.deg2rad(elevation_deg))


def _vapour_ratio(frequency_ghz: float, vapour_kg_m2: FloatArray, *, many: bool) -> FloatArray:
    """Return vapour attenuation over content (n,): by the series, by sums where it ends."""
    series = vapour_series(frequency_ghz) if many else None
    if series is None:
        return gas.vapour_ratio(frequency_ghz, vapour_kg_m2)
    ratio = horner(series.terms, series.scaled(np.log(vapour_kg_m2)))
    outside = ~((vapour_kg_m2 >= VAPOUR_RANGE[0]) & (vapour_kg_m2 <= VAPOUR_RANGE[1]))
    if outside.any():
        ratio[outside] = gas.vapour_ratio(frequency_ghz, vapour_kg_m2[outside])
    return ratio


def _oxygen_db_km(
    frequency_ghz: float,
    pressure_hpa: FloatArray,
    density_g_m3: FloatArray,
    t_k: FloatArray,
    *,
    many: bool,
) -> FloatArray:
    """Return oxygen's specific attenuation (n,): by the series, by sums where it ends."""
    series = oxygen_series(frequency_ghz) if many else None
    state = pressure_hpa, density_g_m3, t_k
    attenuation = gas.oxygen_db_km(frequency_ghz, *state, series=series)
    if series is None:
        return attenuation
    (p_low, p_high), (low, high) = PRESSURE_RANGE, THETA_RANGE
    inside = (pressure_hpa >= p_low) & (pressure_hpa <= p_high) & (density_g_m3 <= MOST_VAPOUR_G_M3)
    outside = ~(inside & (t_k >= 300 / high) & (t_k <= 300 / low))
    if outside.any():
        there = (x[outside] for x in state)
        attenuation[outside] = gas.oxygen_db_km(frequency_ghz, *there)
    return attenuation
