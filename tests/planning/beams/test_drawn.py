"""What the map draws of beams: contours as far as the earth goes, and service areas."""

from __future__ import annotations

import numpy as np
import shapely

from siteplan.inputs.network.read import network_from_mapping
from siteplan.planning.beams.drawn import drawn

#: An ellipse of which a part lies beyond the earth's limb.
OVER_THE_LIMB = {"lat": 68.6, "lon": 20.0, "major_deg": 1.4, "minor_deg": 1.4}


def test_an_ellipse_over_the_limb_is_drawn_as_far_as_the_earth_goes() -> None:
    contours = [{"direction": "down", "peak": 47.9, **OVER_THE_LIMB}]
    found = drawn(network_from_mapping({"satellite": {"longitude_deg": -30}, "contours": contours}))
    assert [layer.name for layer in found] == ["EIRP contours"]
    for shape in found[0].shapes:
        points = shapely.get_coordinates(shape)
        assert len(points) > 1
        assert np.isfinite(points).all()


def test_areas_are_drawn_by_the_names_of_their_beams() -> None:
    beams = [{"name": "north", **OVER_THE_LIMB}, {"name": "all"}]
    found = drawn(network_from_mapping({"satellite": {"longitude_deg": -30}, "beams": beams}))
    assert [(layer.name, set(layer.labels)) for layer in found] == [("Service areas", {"north"})]
    for shape in found[0].shapes:
        points = shapely.get_coordinates(shape)
        assert np.isfinite(points).all()
        assert np.hypot(*np.diff(points, axis=0).T).max() < 8, "no chord joins two pieces"
