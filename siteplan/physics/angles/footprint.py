"""The earth as the satellite sees it: directions, the limb, ellipses, and rings cut at the limb.

Directions are counted from nadir on a sphere of the WGS 84 ellipsoid's equatorial radius, the
latitude taken as it is given. In the plane of ``u`` (east) and ``v`` (north) the distance from the
origin is the angle off nadir: the limb is a circle.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from siteplan.arrays import BoolArray, FloatArray
from siteplan.physics.constants import GEOSTATIONARY_RADIUS_KM, WGS84_A_KM

#: Cosine of the arc on the earth from the sub-satellite point to the limb.
_COS_TO_LIMB: Final = WGS84_A_KM / GEOSTATIONARY_RADIUS_KM
#: Angle off nadir of the limb [deg].
LIMB_DEG: Final = float(np.degrees(np.arcsin(_COS_TO_LIMB)))
#: Ends of a line that lie nearer to each other, or to the limb, are closed [deg].
CLOSED_DEG: Final = 0.05
#: Where rings run along the limb, just outside, so that they hold what stands on it [deg].
_RIM_DEG: Final = LIMB_DEG + 1e-5
#: Spacing of the points along the limb, by bearing [deg].
_STEP_DEG: Final = 0.02
#: An ellipse tells levels down to this drop [dB].
MOST_DROP_DB: Final = 10.0


class Seen(NamedTuple):
    """Directions from the satellite (n,): east and north off nadir [deg], and which are hidden.

    What is hidden stands on the limb, at its bearing from nadir.
    """

    u_deg: FloatArray
    v_deg: FloatArray
    hidden: BoolArray


def seen_from_satellite(lat: ArrayLike, lon: ArrayLike, satellite_lon_deg: float) -> Seen:
    """Return the directions in which a satellite sees places on the ground.

    Parameters
    ----------
    lat, lon : (n,) array_like
        Latitude and longitude [deg], any turn.
    satellite_lon_deg : float
        Orbital position [deg].

    Returns
    -------
    Seen

    References
    ----------
    Roddy, Satellite Communications, 4th ed., section 3.2: the triangle of satellite, place and
    earth's centre on a spherical earth.

    Examples
    --------
    10 degrees north of nadir: 1107.5 km across, 35 882.9 km away. The pole lies beyond the limb.

    >>> seen = seen_from_satellite([0, 10, 90], [20, 20, 0], 20)
    >>> seen.v_deg.round(4).tolist(), seen.hidden.tolist()
    ([0.0, 1.7679, 8.7005], [False, False, True])
    """
    x, y, z = _unit_vectors(lat, lon, satellite_lon_deg)
    return _seen(x, y, z)


def _unit_vectors(lat: ArrayLike, lon: ArrayLike, satellite_lon_deg: float) -> FloatArray:
    """Return places (n,) as unit vectors (3, n): towards the satellite, east and north."""
    phi = np.radians(np.asarray(lat, dtype=float))
    # The remainder is exact, so that a satellite at 324 and one at -36 agree to the last bit.
    apart = np.radians(np.remainder(np.asarray(lon, dtype=float) - satellite_lon_deg, 360))
    return np.array([np.cos(phi) * np.cos(apart), np.cos(phi) * np.sin(apart), np.sin(phi)])


def _seen(x: FloatArray, y: FloatArray, z: FloatArray) -> Seen:
    across, hidden = np.hypot(y, z), x < _COS_TO_LIMB
    off = np.degrees(np.arctan2(across * _COS_TO_LIMB, 1 - x * _COS_TO_LIMB))
    scale = np.where(hidden, LIMB_DEG, off) / np.where(across > 0, across, 1.0)
    return Seen(y * scale, z * scale, hidden)


def ellipse_drop_db(
    u_deg: FloatArray,
    v_deg: FloatArray,
    *,
    centre_deg: tuple[float, float],
    widths_deg: tuple[float, float],
    tilt_deg: float,
    edge_db: float,
) -> FloatArray:
    """Return how far the level of an elliptical beam lies under its centre's.

    Parameters
    ----------
    u_deg, v_deg : (n,) arrays
        Directions, as `seen_from_satellite` has them. [deg]
    centre_deg : pair of float
        ``u`` and ``v`` of the centre. [deg]
    widths_deg : pair of float
        Full widths along the axis and across it. [deg]
    tilt_deg : float
        Turn of the axis from east towards north. [deg]
    edge_db : float
        Drop at those widths. [dB]

    Returns
    -------
    (n,) array
        Drop [dB]: a parabola in the angle, as a main lobe's in common practice.

    Examples
    --------
    >>> half = dict(centre_deg=(1, 0), widths_deg=(4, 2), tilt_deg=0, edge_db=3)
    >>> ellipse_drop_db(np.array([1.0, 3.0, 1.0]), np.array([0.0, 0.0, 1.0]), **half).tolist()
    [0.0, 3.0, 3.0]
    """
    east, north = u_deg - centre_deg[0], v_deg - centre_deg[1]
    cos, sin = np.cos(np.radians(tilt_deg)), np.sin(np.radians(tilt_deg))
    along, across = east * cos + north * sin, north * cos - east * sin
    drop = (2 * along / widths_deg[0]) ** 2 + (2 * across / widths_deg[1]) ** 2
    return np.asarray(edge_db * drop)


def ellipse_radius_deg(
    bearing: FloatArray,
    drop_db: float,
    *,
    widths_deg: tuple[float, float],
    tilt_deg: float,
    edge_db: float,
) -> FloatArray:
    """Return how far from its centre an elliptical beam has a drop, by bearing.

    Parameters
    ----------
    bearing : (k,) array
        From east towards north. [rad]
    drop_db : float
        The drop. [dB]
    widths_deg, tilt_deg, edge_db
        As in `ellipse_drop_db`.

    Returns
    -------
    (k,) array
        The angle [deg]: `ellipse_drop_db` there gives the drop.
    """
    turn = bearing - np.radians(tilt_deg)
    spread = np.hypot(2 * np.cos(turn) / widths_deg[0], 2 * np.sin(turn) / widths_deg[1])
    return np.asarray(np.sqrt(drop_db / edge_db) / spread)


def place_seen(
    u_deg: FloatArray, v_deg: FloatArray, satellite_lon_deg: float
) -> tuple[FloatArray, FloatArray]:
    """Return the places on the ground that a satellite sees in directions (k,) [deg].

    Latitude and longitude [deg], the latter within 90 of the satellite's; NaN beyond the limb.

    Examples
    --------
    >>> seen = seen_from_satellite([10.0], [35.0], 20)
    >>> [x.round(9).tolist() for x in place_seen(seen.u_deg, seen.v_deg, 20)]
    [[10.0], [35.0]]
    """
    off_deg = np.hypot(u_deg, v_deg)
    off = np.radians(np.where(off_deg > LIMB_DEG, np.nan, off_deg))
    arc = np.arcsin(np.minimum(np.sin(off) / _COS_TO_LIMB, 1.0)) - off
    across = np.sin(arc) / np.where(off_deg > 0, off_deg, 1.0)
    east, north = u_deg * across, v_deg * across
    lon = satellite_lon_deg + np.degrees(np.arctan2(east, np.cos(arc)))
    return np.degrees(np.arcsin(north)), lon


class Ring(NamedTuple):
    """A closed line in the plane of directions [deg].

    ``u_deg`` and ``v_deg`` (k,) go round once, the first point again at the end. ``parts`` are
    what of it is a contour, (2, m) each: what runs along the limb is none. Where a line that ends
    at the limb could be closed the other way round too, ``other`` (2, j) is that.
    """

    u_deg: FloatArray
    v_deg: FloatArray
    parts: tuple[FloatArray, ...]
    other: FloatArray | None = None


class OpenLineError(ValueError):
    """A line of a contour whose ends meet neither one another nor the limb."""


def ring(lat: ArrayLike, lon: ArrayLike, satellite_lon_deg: float) -> Ring | None:
    """Return a contour's line as a ring, cut at the limb.

    Parameters
    ----------
    lat, lon : (k,) array_like
        Its points in order [deg], any turn.
    satellite_lon_deg : float
        Orbital position [deg].

    Returns
    -------
    Ring or None
        None where nothing of it is seen.

    Raises
    ------
    OpenLineError
        If its ends meet neither one another nor the limb.
    """
    points, on_limb = _with_crossings(_unit_vectors(lat, lon, satellite_lon_deg))
    if on_limb.all():
        return None
    gap = np.hypot(*(points[:, 0] - points[:, -1]))
    if gap <= CLOSED_DEG:
        if gap == 0:
            points, on_limb = points[:, :-1], on_limb[:-1]
        return _ring(*_from_land(points, on_limb), closes=True)
    near = np.hypot(*points[:, [0, -1]]) >= LIMB_DEG - CLOSED_DEG
    if not near.all():
        raise OpenLineError("its ends meet neither one another nor the limb")
    ends = _on_limb(points[:, [0, -1]])
    points = np.concatenate([ends[:, :1], points, ends[:, 1:]], axis=1)
    on_limb = np.concatenate([[True], on_limb, [True]])
    return _ring(points, on_limb, closes=False)


def _with_crossings(p: FloatArray) -> tuple[FloatArray, BoolArray]:
    """Return directions (2, m) of unit vectors (3, k) and which lie on the limb.

    What is hidden is put on the limb, and a point where the line passes the limb is added.
    """
    over = p[0] - _COS_TO_LIMB
    at = np.flatnonzero((over[:-1] < 0) != (over[1:] < 0))
    part = over[at] / (over[at] - over[at + 1])
    between = p[:, at] + part * (p[:, at + 1] - p[:, at])
    seen, passed = _seen(*p), _seen(*between)
    points = np.array([seen.u_deg, seen.v_deg])
    points[:, seen.hidden] = _on_limb(points[:, seen.hidden])
    cut = _on_limb(np.array([passed.u_deg, passed.v_deg]))
    return np.insert(points, at + 1, cut, axis=1), np.insert(seen.hidden, at + 1, True)


def _on_limb(points: FloatArray) -> FloatArray:
    """Return directions (2, k) moved out to the limb."""
    return np.asarray(points * (_RIM_DEG / np.hypot(*points)))


def _from_land(points: FloatArray, on_limb: BoolArray) -> tuple[FloatArray, BoolArray]:
    """Return a closed line's points begun where it leaves the limb, if it meets that at all."""
    leaves = np.flatnonzero(on_limb & ~np.roll(on_limb, -1))
    start = int(leaves[0]) if leaves.size else 0
    return np.roll(points, -start, axis=1), np.roll(on_limb, -start)


def _ring(points: FloatArray, on_limb: BoolArray, *, closes: bool) -> Ring:
    """Return the ring through points (2, k); ``closes``: a straight edge leads back."""
    pieces, parts = [points[:, :1]], [[points[:, 0]]]
    follows = np.append(np.arange(1, points.shape[1]), 0) if closes else np.arange(
        1, points.shape[1]
    )  # fmt: skip
    for at, to in enumerate(follows.tolist()):
        if on_limb[at] and on_limb[to]:
            pieces.append(_arc(points[:, at], points[:, to]))
            parts.append([points[:, to]])
        else:
            pieces.append(points[:, to : to + 1])
            parts[-1].append(points[:, to])
    other = None
    if not closes:
        way = np.concatenate(pieces, axis=1)
        pieces.append(_arc(points[:, -1], points[:, 0]))
        long = _arc(points[:, -1], points[:, 0], long=True)
        other = np.concatenate([way, long], axis=1)
    whole = np.concatenate(pieces, axis=1)
    lines = tuple(np.array(line).T for line in parts if len(line) > 1)
    return Ring(whole[0], whole[1], lines, other)


def _arc(start: FloatArray, end: FloatArray, *, long: bool = False) -> FloatArray:
    """Return the points (2, k) along the limb behind ``start`` up to ``end``, the shorter way.

    Those between stand at the same bearings for every ring.
    """
    first, last = (float(np.degrees(np.arctan2(v, u))) for u, v in (start, end))
    turn = (last - first + 180) % 360 - 180
    if long:
        turn -= np.copysign(360, turn)
    low, high = sorted((first, first + turn))
    grid = np.arange(np.floor(low / _STEP_DEG) + 1, np.ceil(high / _STEP_DEG)) * _STEP_DEG
    bearing = np.radians(grid if turn >= 0 else grid[::-1])
    points = _RIM_DEG * np.array([np.cos(bearing), np.sin(bearing)])
    return np.concatenate([points, end[:, None]], axis=1)
