"""What the crew sees of the pointing: compass rose, dish from the side, skew, obstacle distance.

Drawings show; they compute nothing but where their own lines run. A number that is NaN leaves
its part out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache

from siteplan.outputs.shown import amount, angle, to_walk
from siteplan.outputs.svg import (
    Point,
    arc,
    arrow,
    box,
    circle,
    curve,
    drawing,
    line,
    on_ring,
    path,
    text,
)
from siteplan.outputs.units import METRIC, inside

#: Words for an angle that opens to neither side at the decimals shown.
_LEVEL_DEG = 0.05


def compass_rose(azimuth_true_deg: float, declination_deg: float) -> str:
    """Return a rose, true north up, with the satellite's bearing and the compass needle.

    Parameters
    ----------
    azimuth_true_deg : float
        Bearing of the satellite from true north. [deg]
    declination_deg : float
        Where magnetic north lies, from true north, east positive. [deg]
    """
    centre, ring = (110.0, 108.0), 74.0
    parts = [circle(centre, ring), circle(centre, 2.5, "full"), _ticks(centre, ring)]
    if math.isfinite(declination_deg):
        tip = on_ring(centre, ring - 27, declination_deg)
        parts += [line(centre, tip, "dash"), _needle(tip, declination_deg)]
        parts += [_rim_label(centre, ring + 13, declination_deg, "compass N", azimuth_true_deg)]
    if math.isfinite(azimuth_true_deg):
        parts += [
            arc(centre, ring * 0.4, 0, azimuth_true_deg, "thin"),
            arrow(centre, on_ring(centre, ring - 1, azimuth_true_deg), "heavy", head=14),
            _satellite(on_ring(centre, ring + 14, azimuth_true_deg)),
        ]
    return drawing(220, 212, f"Compass rose: satellite at {angle(azimuth_true_deg, 1)} true", parts)


@cache
def _ticks(centre: Point, ring: float) -> str:
    """Return the rose's scale, the same on all sheets: ticks each 10 degrees, figures each 30."""
    parts = []
    for bearing in range(0, 360, 10):
        long = 10 if bearing % 30 == 0 else 5
        parts.append(line(on_ring(centre, ring, bearing), on_ring(centre, ring - long, bearing)))
    for bearing in range(0, 360, 30):
        word = {0: "N", 90: "E", 180: "S", 270: "W"}.get(bearing, str(bearing))
        x, y = on_ring(centre, ring - 18, bearing)
        parts.append(text((x, y + 3.5), word, "strong" if bearing % 90 == 0 else "small"))
    return "".join(parts)


def _needle(tip: Point, bearing_deg: float) -> str:
    """Return the head of a compass needle."""
    wings = [on_ring(tip, 9, bearing_deg + 180 + side * 30) for side in (-1, 1)]
    return path([tip, *wings], "hollow", closed=True)


def _rim_label(
    centre: Point, radius: float, bearing_deg: float, words: str, keep_from_deg: float
) -> str:
    """Return words outside the rose, moved on where the satellite's symbol stands there."""
    apart = (bearing_deg - keep_from_deg + 180) % 360 - 180
    if abs(apart) < 26:
        bearing_deg = keep_from_deg + math.copysign(26, apart)
    x, y = on_ring(centre, radius, bearing_deg)
    lean = math.sin(math.radians(bearing_deg))
    anchor = "middle" if abs(lean) < 0.3 else "start" if lean > 0 else "end"
    shift = 20 if anchor == "start" else -20 if anchor == "end" else 0
    return text((x + shift * 0.2, y + 3), words, "small", anchor=anchor)


def _satellite(at: Point) -> str:
    """Return a satellite: a body between two wings."""
    x, y = at
    return "".join(
        (
            box((x - 4, y - 4), 8, 8, "full"),
            box((x - 12, y - 3), 6.5, 6, "thin"),
            box((x + 5.5, y - 3), 6.5, 6, "thin"),
        )
    )


def side_view(elevation_deg: float, offset_angle_deg: float, rim_deg: float) -> str:
    """Return the dish from the side with its elevation, and its rim against a plumb line.

    Parameters
    ----------
    elevation_deg : float
        Elevation of the satellite. [deg]
    offset_angle_deg : float
        Offset angle of the reflector; 0 or NaN for a dish fed at its centre. [deg]
    rim_deg : float
        What an inclinometer on the rim shows: back from vertical positive. [deg] NaN leaves
        the plumb line out and the dish is drawn by elevation less offset angle.
    """
    centre, half = (92.0, 106.0), 36.0
    offset = offset_angle_deg if math.isfinite(offset_angle_deg) else 0.0
    lean = rim_deg if math.isfinite(rim_deg) else elevation_deg - offset
    top, bottom = on_ring(centre, half, -lean), on_ring(centre, half, 180 - lean)
    back = on_ring(centre, 20, -90 - lean)
    parts = [
        line((20, 186), (284, 186), "thick"),
        line((back[0] + 8, centre[1] + 6), (back[0] + 8, 186), "pole"),
        curve(top, on_ring(centre, 24, -90 - lean), bottom, "heavy"),
        line(top, bottom, "thin"),
        *_feed(centre, bottom, lean, offset > 0),
        *_beam(centre, elevation_deg),
    ]
    if math.isfinite(rim_deg):
        parts += _plumb(bottom, top, rim_deg)
    return drawing(300, 196, f"Dish from the side: elevation {angle(elevation_deg, 2)}", parts)


def _feed(centre: Point, bottom: Point, lean_deg: float, offset: bool) -> list[str]:
    """Return the feed on its arm: below the beam for an offset dish, else at the centre."""
    ahead = 90 - lean_deg
    feed = on_ring(bottom, 40, ahead) if offset else on_ring(centre, 32, ahead)
    return [line(bottom, feed, "thick"), circle(feed, 4.5, "full")]


def _beam(centre: Point, elevation_deg: float) -> list[str]:
    """Return the beam, the horizontal, and the angle between them."""
    slope = math.radians(elevation_deg)
    reach = min(150.0, 84.0 / max(math.sin(slope), 0.01))
    end = on_ring(centre, reach, 90 - elevation_deg)
    low = elevation_deg < 22
    label = (
        (centre[0] + 104, centre[1] + 17) if low else on_ring(centre, 66, 90 - elevation_deg / 2)
    )
    return [
        line(centre, (centre[0] + 184, centre[1]), "dash"),
        text((centre[0] + 188, centre[1] - 4), "level", "small", anchor="end"),
        arrow(centre, end, "heavy", head=13),
        _satellite((end[0] + 14, end[1] - 3)),
        arc(centre, 60, 90 - elevation_deg, 90, "thick"),
        text(
            (label[0], label[1] + 4),
            f"elevation {angle(elevation_deg, 2)}",
            "strong",
            anchor="start",
        ),
    ]


def _plumb(bottom: Point, top: Point, rim_deg: float) -> list[str]:
    """Return a plumb line at the rim's lower edge and what the rim makes with it."""
    above = (bottom[0], bottom[1] - 92)
    side = "back" if rim_deg > 0 else "forward"
    words = "rim upright" if abs(rim_deg) < _LEVEL_DEG else f"rim {angle(abs(rim_deg), 1)} {side}"
    beyond = on_ring(bottom, 84, -rim_deg)
    return [
        line(bottom, above, "dash"),
        line(top, beyond, "dash"),
        arc(bottom, 80, 0, -rim_deg, "thick"),
        text((8, 16), words, "strong", anchor="start"),
        text((8, 29), "of a plumb line", "small", anchor="start"),
    ]


def skew_view(skew_deg: float, *, behind: bool) -> str:
    """Return the feed's turn as seen from behind the dish, or from in front of it.

    Parameters
    ----------
    skew_deg : float
        Turn from vertical, clockwise positive from behind, facing the satellite. [deg]
    behind : bool
        Whether the crew stands behind the dish; from in front the turn runs the other way.
    """
    turn = skew_deg if behind else -skew_deg
    centre, ring = (75.0, 72.0), 44.0
    side = "clockwise" if turn > 0 else "counter-clockwise"
    words = "no turn" if abs(turn) < _LEVEL_DEG else f"{angle(abs(turn), 1)} {side}"
    parts = [
        circle(centre, ring, "thin"),
        line(on_ring(centre, ring + 10, 0), on_ring(centre, ring + 10, 180), "dash"),
        line(on_ring(centre, ring - 6, turn), on_ring(centre, ring - 6, turn + 180), "bar"),
        *_turn_arrow(centre, ring + 6, turn),
        text((75, 12), "behind the dish" if behind else "in front of the dish", "strong"),
        text((75, 143), words, "strong"),
    ]
    if not behind:
        parts.insert(3, circle(centre, 7, "hollow"))
    place = "behind" if behind else "in front of"
    return drawing(150, 150, f"Skew from {place} the dish: {words}", parts)


def _turn_arrow(centre: Point, radius: float, turn_deg: float) -> list[str]:
    """Return an arc from upright to the turn, with a head where there is room for one."""
    if abs(turn_deg) < 4:
        return []
    end = on_ring(centre, radius, turn_deg)
    tail = on_ring(end, 4, turn_deg - math.copysign(90, turn_deg))
    return [arc(centre, radius, 0, turn_deg, "thick"), arrow(tail, end, "thick", head=9)]


def obstacle_view(
    elevation_deg: float,
    heights_m: Sequence[float],
    away_m: Sequence[float],
    surface: str = "",
    *,
    units: str = METRIC,
) -> str:
    """Return how far obstacles of some heights must stand away, evenly spaced to be read.

    Parameters
    ----------
    elevation_deg : float
        Elevation of the satellite. [deg]
    heights_m, away_m : sequences of float
        Heights of obstacles and the level distances that they need, rising. [m] A distance of 0
        is 'anywhere'; one that is NaN is left out.
    surface : str
        What the heights are counted from, and the dish stands on: roof or ground.
    units : str
        Whose units stand under the metres.
    """
    known = [(h, d) for h, d in zip(heights_m, away_m, strict=True) if math.isfinite(d)]
    foot, dish, high = 106.0, (52.0, 90.0), 84.0
    top_m = max((h for h, _ in known), default=1)
    parts = [line((30, foot), (258, foot), "thick"), line(dish, (dish[0], foot), "pole")]
    parts += [line(dish, (254, 12), "dash"), _little_dish(dish, elevation_deg)] if known else []
    for k, (height, distance) in enumerate(known):
        x, tall = 88 + 38 * k, high * height / top_m
        parts += [
            box((x - 5, foot - tall), 10, tall, "grey"),
            text((x, foot + 15), amount(height, "m"), ""),
            text((x, foot + 31), to_walk(distance), "strong"),
            *_other_units((x, foot + 45), (height, distance), units),
        ]
    above = f"above {surface}" if surface else "height"
    parts += [text((0, foot + 15), above, "small", anchor="start")]
    parts += [text((0, foot + 31), "away, least", "small", anchor="start")]
    deep = 142 if units == METRIC else 164
    return drawing(260, deep, "How far an obstacle must stand from the dish", parts)


def _other_units(at: Point, lengths_m: Sequence[float], units: str) -> list[str]:
    """Return lengths in the other unit, one below the other; a distance to keep is rounded up."""
    if units == METRIC:
        return []
    height, distance = lengths_m
    told = inside(height, "m", 0, units), inside(math.ceil(distance * 10) / 10, "m", 1, units)
    return [
        text((at[0], at[1] + 11 * k), word, "small")
        for k, word in enumerate(told)
        if distance > 0 or k == 0
    ]


def _little_dish(at: Point, elevation_deg: float) -> str:
    """Return a small dish at the foot of the beam's lower edge."""
    lean = min(max(elevation_deg, 10), 70)
    ends = [on_ring(at, 11, side - lean) for side in (0, 180)]
    return curve(ends[0], on_ring(at, 9, -90 - lean), ends[1], "heavy")
