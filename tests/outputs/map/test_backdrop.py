"""What the page is given of coverage: the contours in whole steps, small, and nothing unasked."""

from __future__ import annotations

import json

import numpy as np
import pytest
import shapely

from siteplan.basemap.rings import decoded
from siteplan.fields import FIELDS
from siteplan.inputs.network.read import network_from_mapping
from siteplan.jobs import coverage
from siteplan.model import Sites
from siteplan.outputs.map import backdrop as behind


@pytest.fixture(scope="module")
def covered():
    network = network_from_mapping({"satellite": {"longitude_deg": 10}})
    sites = Sites.at(np.array([-5.0, 15.0]), np.array([5.0, 30.0]))
    return coverage.work_out(coverage.lay(sites, coverage.Wanted(0.5)), network)


def test_nothing_is_embedded_unless_asked_for():
    assert behind.payload(behind.NOTHING) is None
    assert behind.payload(coverage.behind(None, ())) is None


def test_rings_come_back_as_the_contours(covered):
    """To half a step of the code, by the area between the two."""
    page = behind.payload(coverage.behind(covered, ()))
    step = page["step_deg"]
    for layer, drawn in zip(page["layers"], covered.layers, strict=True):
        for band, (_, shape) in zip(layer["bands"], drawn.bands, strict=True):
            rings = [np.cumsum(decoded(t).reshape(-1, 2), axis=0) * step for t in band["rings"]]
            whole = shapely.Polygon()
            for ring in rings:
                whole = whole.symmetric_difference(shapely.make_valid(shapely.Polygon(ring)))
            assert whole.symmetric_difference(shape).area <= step * shape.length


def test_every_class_has_a_colour_of_its_own(covered):
    page = behind.payload(coverage.behind(covered, ()))
    for layer in page["layers"]:
        colors = [band["color"] for band in layer["bands"] if not band["care"]]
        assert len(set(colors)) == len(colors)


def test_it_stays_small(covered):
    """2,700 points, five quantities: contours under 30 kB, the relief under 120 kB."""
    page = behind.payload(coverage.behind(covered, ()))
    assert len(json.dumps(page["layers"])) < 30_000
    assert len(page["relief"]["image"]) < 120_000


def test_an_empty_shape_has_no_rings():
    assert behind.rings(shapely.MultiPolygon(), 0.01) == []


def test_attenuation_is_told_to_be_of_the_whole_outage() -> None:
    """The dictionary's figure of a site is at its share, which coverage does not show."""
    for name in ("uplink_attenuation_db", "downlink_attenuation_db"):
        assert "whole outage" in behind._MEANINGS[name]
        assert "share" in FIELDS[name].meaning
