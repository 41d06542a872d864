"""From the earth to paper: a window around some places, wherever they lie.

A network of less than a hemisphere is drawn in Lambert's azimuthal equal-area projection about its
middle, so that neither a pole nor the antimeridian is anything special; a larger one on a plate
carree about its middle longitude. Formulas of the projection: Snyder, USGS Professional Paper 1395,
section 24 (from memory).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import FloatArray
from siteplan.frozen import frozen

EARTH_KM = 6371.0
#: Networks that reach farther than this from their middle are drawn flat [deg].
_ROUND_UP_TO_DEG = 60.0
#: Least radius of a window: of sites beside one another, of a single place with land around it
#: [deg].
_LEAST_DEG, _ALONE_DEG = 0.45, 2.5
#: Free paper around the outermost places, as a share of the window.
_AROUND = 1.14


@frozen
class Window:
    """A piece of the earth on ``width`` x ``height`` units of paper.

    ``lat`` and ``lon`` [deg] are the middle of the projection, ``flat`` tells which it is; ``left``
    and ``top`` are the window's corner on the plane of the projection [earth radii], ``scale`` the
    units of an earth radius.
    """

    lat: float
    lon: float
    flat: bool
    left: float
    top: float
    scale: float
    width: float
    height: float

    def at(self, lat: FloatArray, lon: FloatArray) -> FloatArray:
        """Return places (n,) [deg] on the paper, (n, 2) right and down from its corner."""
        x, y = plane(lat, lon, (self.lat, self.lon), flat=self.flat)
        return np.stack([(x - self.left) * self.scale, (self.top - y) * self.scale], axis=-1)

    def inside(self, points: FloatArray, margin: float = 0.0) -> NDArray[np.bool_]:
        """Return which points (n, 2) of the paper lie in the window, or ``margin`` around it."""
        size = np.array([self.width, self.height])
        return np.asarray(np.all((points >= -margin) & (points <= size + margin), axis=-1))

    def bounds(self) -> tuple[float, float, float, float]:
        """Return south, west, north, east [deg] around the window, west and east from ``lon``."""
        x, y = np.meshgrid(np.linspace(-0.03, 1.03, 45), np.linspace(-0.03, 1.03, 45))
        x = self.left + x * self.width / self.scale
        y = self.top - y * self.height / self.scale
        lat, east = _back(x.ravel(), y.ravel(), self.lat, flat=self.flat)
        south, north = float(np.nanmin(lat)), float(np.nanmax(lat))
        poles = self.at(np.array([90.0, -90.0]), np.array([self.lon, self.lon]))
        seen = self.inside(poles, 5.0) & (not self.flat)
        if seen.any():
            return (-90.0 if seen[1] else south), -180.0, (90.0 if seen[0] else north), 180.0
        return south, float(np.nanmin(east)), north, float(np.nanmax(east))

    def km(self, units: float) -> float:
        """Return how far units are on the ground in the middle of the projection [km]."""
        return units / self.scale * EARTH_KM


def window(
    lat: FloatArray, lon: FloatArray, width: float, height: float, *, share: float = 1.0
) -> Window:
    """Return the window around places (n,) [deg] on ``width`` x ``height`` units.

    ``share`` of the paper is theirs; the places are in the middle of it.
    """
    middle = _middle(lat, lon)
    reach = _apart_deg(lat, lon, middle).max()
    flat = bool(reach > _ROUND_UP_TO_DEG)
    if flat:
        middle = (0.0, _middle_lon(lon))
    x, y = plane(lat, lon, middle, flat=flat)
    least = math.radians(_LEAST_DEG if reach > _LEAST_DEG / 20 else _ALONE_DEG)
    half_x = max(float(np.ptp(x)) / 2, least) * _AROUND / share
    half_y = max(float(np.ptp(y)) / 2, least * height / width) * _AROUND / share
    scale = min(width / 2 / half_x, height / 2 / half_y)
    if flat:
        scale = max(scale, width / (2 * math.pi))
    x0, y0 = (float(v.min() + v.max()) / 2 for v in (x, y))
    if flat:
        y0 = float(np.clip(y0, *_kept(height / scale)))
    left, top = x0 - width / 2 / scale, y0 + height / 2 / scale
    return Window(*middle, flat, left, top, scale, width, height)


def _kept(high: float) -> tuple[float, float]:
    """Return where the middle of a flat window of this height may lie."""
    free = max(math.pi - high, 0.0) / 2
    return -free, free


def plane(
    lat: FloatArray, lon: FloatArray, middle: tuple[float, float], *, flat: bool
) -> tuple[FloatArray, FloatArray]:
    """Return places (n,) [deg] on the plane of the projection [earth radii], right and up."""
    east = np.radians((np.asarray(lon) - middle[1] + 180) % 360 - 180)
    up, up0 = np.radians(lat), math.radians(middle[0])
    if flat:
        return east, up
    cosine = np.sin(up) * math.sin(up0) + np.cos(up) * math.cos(up0) * np.cos(east)
    stretch = np.sqrt(2 / np.maximum(1 + cosine, 1e-9))
    across = math.cos(up0) * np.sin(up) - math.sin(up0) * np.cos(up) * np.cos(east)
    return stretch * np.cos(up) * np.sin(east), stretch * across


def _back(x: FloatArray, y: FloatArray, lat0: float, *, flat: bool) -> tuple[FloatArray, ...]:
    """Return latitude and degrees east of the middle of points of the plane."""
    if flat:
        return np.clip(np.degrees(y), -90, 90), np.clip(np.degrees(x), -180, 180)
    rho = np.hypot(x, y)
    angle = 2 * np.arcsin(np.clip(rho / 2, 0, 1))
    up0, safe = math.radians(lat0), np.maximum(rho, 1e-12)
    sine = np.cos(angle) * math.sin(up0) + y * np.sin(angle) * math.cos(up0) / safe
    down = safe * math.cos(up0) * np.cos(angle) - y * math.sin(up0) * np.sin(angle)
    return np.degrees(np.arcsin(np.clip(sine, -1, 1))), np.degrees(
        np.arctan2(x * np.sin(angle), down)
    )


def _middle(lat: FloatArray, lon: FloatArray) -> tuple[float, float]:
    """Return the middle of the box around the places, seen from above their mean direction."""
    up, east = np.radians(lat), np.radians(lon)
    mean = np.array(
        [np.cos(up) * np.cos(east), np.cos(up) * np.sin(east), np.sin(up)]
    ).mean(axis=1)  # fmt: skip
    if np.linalg.norm(mean) < 1e-6:
        return 0.0, _middle_lon(lon)
    lat0 = math.degrees(math.asin(float(np.clip(mean[2] / np.linalg.norm(mean), -1, 1))))
    lon0 = math.degrees(math.atan2(float(mean[1]), float(mean[0])))
    x, y = plane(lat, lon, (lat0, lon0), flat=False)
    right, up_ = (np.array([(v.min() + v.max()) / 2]) for v in (x, y))
    better_lat, east_of = _back(right, up_, lat0, flat=False)
    return float(better_lat[0]), (lon0 + float(east_of[0]) + 180) % 360 - 180


def _middle_lon(lon: FloatArray) -> float:
    """Return the middle of the shortest arc of longitudes that holds all of them [deg]."""
    around = np.unique(np.mod(lon + 180, 360) - 180)
    gaps = np.diff(around, append=around[0] + 360)
    widest = int(np.argmax(gaps))
    west = float(around[(widest + 1) % len(around)])
    return (west + (360 - float(gaps[widest])) / 2 + 180) % 360 - 180


def _apart_deg(lat: FloatArray, lon: FloatArray, middle: tuple[float, float]) -> FloatArray:
    """Return how far places are from one [deg]."""
    up, up0 = np.radians(lat), math.radians(middle[0])
    east = np.radians(np.asarray(lon) - middle[1])
    cosine = np.sin(up) * math.sin(up0) + np.cos(up) * math.cos(up0) * np.cos(east)
    return np.asarray(np.degrees(np.arccos(np.clip(cosine, -1, 1))))


def distance_km(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Return how far one place (latitude, longitude) [deg] is from another on a sphere [km]."""
    apart = _apart_deg(np.array([a[0]]), np.array([a[1]]), b)
    return math.radians(float(apart[0])) * EARTH_KM
