"""The relief's shade: which slopes are bright, and that the PNG is one."""

from __future__ import annotations

import struct
import zlib

import numpy as np
import pytest

from siteplan.outputs.map import relief

LAT = np.linspace(10, 8, 41)
LON = np.linspace(20, 22, 41)
EAST, NORTH = np.meshgrid(LON - 21, LAT - 9)
HILL = 1500 * np.exp(-(EAST**2 + NORTH**2) / 0.2)


def read_png(data):
    """Decode a PNG as the W3C's specification lays it out: signature, chunks, CRC, filters."""
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    chunks, at = {}, 8
    while at < len(data):
        (size,) = struct.unpack(">I", data[at : at + 4])
        kind, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + size]
        (crc,) = struct.unpack(">I", data[at + 8 + size : at + 12 + size])
        assert crc == zlib.crc32(kind + body)
        chunks[kind] = body
        at += 12 + size
    cols, rows, depth, color, *rest = struct.unpack(">IIBBBBB", chunks[b"IHDR"])
    assert (depth, color, rest) == (8, 4, [0, 0, 0])
    lines = np.frombuffer(zlib.decompress(chunks[b"IDAT"]), np.uint8).reshape(rows, 1 + 2 * cols)
    assert (lines[:, 0] == 0).all()
    return lines[:, 1:].reshape(rows, cols, 2)


def test_slopes_towards_the_light_are_bright():
    """Light from the north-west: that side of a hill is bright, the south-east is in shade."""
    light = relief.hillshade(HILL, LAT, LON)
    north_west, south_east = light[15, 15], light[25, 25]
    assert north_west > 0.05
    assert south_east < -0.05
    assert light[15, 25] == pytest.approx(light[25, 15], abs=0.05), "across the light: alike"


def test_a_plain_has_no_shade():
    np.testing.assert_allclose(
        relief.hillshade(np.full((9, 9), 700.0), LAT[:9], LON[:9]), 0, atol=1e-12
    )
    assert (read_png(relief.shade_image(np.zeros((9, 9)), LAT[:9], LON[:9])) == 0).all()


def test_the_light_of_an_even_slope_is_lambert_s():
    """A slope that faces the light squarely after exaggeration has all of it: 1 - sin 45."""
    lat, lon = np.linspace(0.1, -0.1, 21), np.linspace(0, 0.2, 21)
    east, north = np.meshgrid(lon, lat)
    per_m = 1 / np.sqrt(2) / 111_195 / relief._EXAGGERATION
    height = (east - north) / np.abs(lat[1] - lat[0]) * 0 + (east - north) * 111_195**2 * per_m
    light = relief.hillshade(height, lat, lon)
    assert light[10, 10] == pytest.approx(1 - np.sin(np.pi / 4), abs=1e-3)


def test_the_image_is_black_in_shade_and_white_in_light():
    pixels = read_png(relief.shade_image(HILL, LAT, LON))
    assert pixels.shape == (41, 41, 2)
    assert pixels[15, 15, 0] == 255
    assert pixels[25, 25, 0] == 0
    assert pixels[15, 15, 1] > 10
    assert pixels[25, 25, 1] > 20
    assert pixels[..., 1].max() <= 100, "soft: never more than two fifths"


def test_any_browser_s_decoder_reads_what_is_embedded():
    found = relief.embedded((HILL, LAT, LON), (-90.0, 20.0, 90.0, 22.0))
    assert found["image"].startswith("data:image/png;base64,")
    assert found["frame"] == [-85.0, 20.0, 85.0, 22.0]
