"""A soft shade of the ground: light from the north-west, as a small greyscale PNG."""

from __future__ import annotations

import base64
import struct
import zlib
from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

#: Where the light comes from: bearing and height [deg], as maps have it by custom.
LIGHT_AZIMUTH_DEG, LIGHT_ELEVATION_DEG = 315.0, 45.0
#: Opacity of the deepest shade and the brightest light, of 255, and the steps between.
_DEEPEST, _BRIGHTEST, _STEPS = 92, 70, 12
#: Slopes are drawn this much steeper at this width of a pixel [m]; coarser ones need more.
_EXAGGERATION, _PIXEL_M = 9.0, 4000.0
_EARTH_M_PER_DEG = 111_195.0


def hillshade(height_m: FloatArray, lat: FloatArray, lon: FloatArray) -> FloatArray:
    """Return the light on the ground less that on a plain.

    Parameters
    ----------
    height_m : (r, c) array
        Heights [m], north to south and west to east.
    lat, lon : (r,), (c,) arrays
        Places of rows and columns [deg].

    Returns
    -------
    (r, c) array
        In [-1, 1]: negative in shade. Lambert's cosine law on the slopes that central
        differences give (after B. K. P. Horn, Proceedings of the IEEE 69 (1981) 14-47).
    """
    north_m = lat * _EARTH_M_PER_DEG
    east_m = (lon - lon[0]) * _EARTH_M_PER_DEG
    stretch = np.cos(np.radians(np.clip(lat, -85, 85)))[:, None]
    cell_m = abs(float(np.mean(np.diff(east_m)))) * float(np.mean(stretch))
    rise = _EXAGGERATION * max(cell_m / _PIXEL_M, 1.0) ** 0.75
    dz_north = rise * np.gradient(height_m, north_m, axis=0)
    dz_east = rise * np.gradient(height_m, east_m, axis=1) / stretch
    azimuth, elevation = np.radians([LIGHT_AZIMUTH_DEG, LIGHT_ELEVATION_DEG])
    facing = -(dz_east * np.sin(azimuth) + dz_north * np.cos(azimuth)) * np.cos(elevation)
    light = (facing + np.sin(elevation)) / np.sqrt(1 + dz_north**2 + dz_east**2)
    return np.asarray(np.clip(light, 0, 1) - np.sin(elevation))


def shade_image(height_m: FloatArray, lat: FloatArray, lon: FloatArray) -> bytes:
    """Return the shade as a PNG of grey and opacity: black where dark, white where bright.

    Plains and the sea are clear. Arguments as for :func:`hillshade`.
    """
    light = hillshade(height_m, lat, lon)
    scale = np.where(light < 0, _DEEPEST / np.sin(np.radians(LIGHT_ELEVATION_DEG)), _BRIGHTEST)
    step = max(_DEEPEST, _BRIGHTEST) / _STEPS
    opacity = np.rint(np.abs(light) * scale / step) * step
    grey = np.where(light < 0, 0, 255)
    grey[opacity == 0] = 0
    return png(np.stack([grey, np.clip(opacity, 0, 255)], axis=-1).astype(np.uint8))


def png(pixels: NDArray[np.uint8]) -> bytes:
    """Return grey and opacity (r, c, 2) as a PNG (W3C PNG, third edition; colour type 4)."""
    rows, cols, _ = pixels.shape
    lines = pixels.reshape(rows, cols * 2)
    # Filter type 0 before each line: runs of equal pixels pack best as they are.
    raw = np.column_stack([np.zeros(rows, dtype=np.uint8), lines]).tobytes()
    head = struct.pack(">IIBBBBB", cols, rows, 8, 4, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(raw, 9)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(kind, data) for kind, data in chunks)


def _chunk(kind: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def embedded(
    heights: tuple[FloatArray, FloatArray, FloatArray], frame: tuple[float, ...]
) -> dict[str, Any]:
    """Return the shade for the page: a data URI and the frame (south, west, north, east)."""
    image = base64.b64encode(shade_image(*heights)).decode("ascii")
    south, west, north, east = frame
    return {
        "image": f"data:image/png;base64,{image}",
        "frame": [max(south, -85.0), west, min(north, 85.0), east],
    }
