"""A column under a heading that is nearly ours is ours only where all its values could be."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.inputs.sites.read import sites_from_frame
from siteplan.model import SiteList

PLACE = {"site_id": ["A", "B", "C"], "lat": [1.25, 2.25, 3.25], "lon": [30.12, 31.13, 32.14]}


def read(heading: str, values: list[object]) -> SiteList:
    return sites_from_frame(PLACE | {heading: values})


#: A heading, its values, and the key that they are taken for, '' where the column is carried.
COLUMNS = [
    ("availability", ["99.5", "99", ""], "availability_pct"),
    ("availability", ["24/7", "yes", "98"], ""),
    ("availability", ["99.5", "0.98", "99"], ""),
    ("Availability [%]", ["99.5", "45", "99"], ""),
    ("availability_pct", ["99.5", "45", "99"], "availability_pct"),
    ("AVAILABILITY_PCT", ["99.5", "45", "99"], "availability_pct"),
    ("wind_speed_ms", [25, 30, 28], "wind_m_s"),
    ("wind_speed_ms", [25, 3.1, 28], ""),
    ("Wind (m/s)", [1.4, 0.6, 3.2], ""),
    ("wind_kmh", [90, 100, 110], "wind_m_s"),
    ("wind_kmh", [5, 10, 12], ""),
    ("Altitude (m)", ["100", "-9999", "n/a"], "altitude_m"),
    ("Altitude (m)", ["100", "high", "300"], ""),
    ("Altitude (ft)", ["100", "400 m", "300"], "altitude_m"),
    ("Cable length (m)", [10, 20, 99999], "cable_m"),
    ("Cable length (m)", [10, 20, 5000], ""),
]


@pytest.mark.parametrize(("heading", "values", "key"), COLUMNS)
def test_one_value_of_another_kind_makes_a_column_free(
    heading: str, values: list[object], key: str
) -> None:
    found = read(heading, values)
    taken = {c.heading: c.taken_as for c in found.columns}[heading]
    assert taken == (key or "free")
    if not key:
        assert len([n for n in found.remarks if heading in n.sentence]) == 1
        assert len(found.sites) == 3
        assert heading in found.sites.extra
        assert dict(found.sites.notes) == {}


def test_none_of_its_values_is_used() -> None:
    sites = read("availability", ["24/7", "yes", "98"]).sites
    assert np.isnan(sites.availability_pct).all()
    sites = read("wind_speed_ms", [25, 3.1, 28]).sites
    assert np.isnan(sites.wind_m_s).all()


@pytest.mark.parametrize("heading", ["wind_speed", "wind_speed_ms", "Wind (km/h)", "wind"])
def test_observed_winds_are_told_from_design_winds(heading: str) -> None:
    (told,) = read(heading, [0.0, 2.1, 1.0]).remarks
    assert "DESIGN wind" in told.sentence


def test_of_two_columns_the_one_that_holds_ours_is_taken() -> None:
    found = sites_from_frame(PLACE | {"alt_m": ["low", "low", "high"], "elev_m": [100, 200, 300]})
    assert found.sites.altitude_m.tolist() == [100, 200, 300]
    assert any("'alt_m' is kept" in note.sentence for note in found.remarks)
