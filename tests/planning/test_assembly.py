"""Free columns of the user's under names that nothing else in the outputs has."""

from __future__ import annotations

import numpy as np

from siteplan.planning.assembly import free_columns


def test_free_columns_collide_with_nothing_in_any_capitals() -> None:
    names = ("lat", "LAT", "Flags", "geom", "FID", "Geometry", "input_geom", "beds", "x")
    free = free_columns({name: np.array([k]) for k, name in enumerate(names)})
    assert {name: int(values[0]) for name, values in free.items()} == {
        "input_lat": 0, "input_LAT_2": 1, "input_Flags": 2, "input_geom_2": 3, "input_FID": 4,
        "input_Geometry": 5, "input_geom": 6, "beds": 7, "x": 8,
    }  # fmt: skip
