"""inputs/network.toml reads back to the network that was read, whatever it was given."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from siteplan.inputs.network.read import read_network as of_toml
from siteplan.jobs.opened import read_network
from siteplan.network import Network, PatternGains
from siteplan.network.reference import table_types
from siteplan.outputs.inputs.network import network_text, without_places, write_network

SAMPLES = Path(__file__).parents[2] / "frozen" / "inputs"
FROZEN = Path(__file__).parents[2] / "frozen" / "inputs"
HEAD = "[satellite]\nlongitude_deg = 13.0000000000001\n"
#: Keys of one subject each, behind HEAD: what networks may be given, files among it.
SUBJECTS = {
    "nothing": "",
    "dates": '[network]\nname = "A \\"B\\" \\\\ C"\ndate = 2026-09-01\nunits = "us"\n',
    "hub": '[hub]\nlat = -15.8\nlon = 312.1\nantennas_m = [4.5, 9]\nsnow = true\n'
    'redundancy = "1:2"\n'
    "diversity_km = 12\ndiversity_bearing_deg = 30\ncarriers = 3\n",
    "es_n0": "[outbound]\nes_n0_db = 4.1\n[inbound]\neb_n0_db = 3.3\nbits_per_symbol = 1.2\n",
    "adaptive": '[outbound]\nadaptive = true\nmodcods = ["QPSK 1/2", "QPSK 3/4", "8PSK 2/3"]\n',
    "kit": "[terminal]\npointing_error_deg = 0.1\n[[antennas]]\ndiameter_m = 1.2\ngain_dbi = 41.8\n"
    'gain_ghz = 12.0\nprice = 0\n[[bucs]]\nrated_w = 3\nsupplier_code = "=B"\n',
    "neighbours": "[[neighbours]]\nlongitude_deg = 16\ndownlink_dbw_mhz = 32.5\n"
    "[[neighbours]]\nlongitude_deg = 10\nhub_level_db = -2\nuplink_dbw_40khz = -6.5\n",
    "masks": '[regulation]\nmasks = ["own", "s728_1"]\naction = "report"\n'
    '[[masks]]\nname = "own"\n'
    "date = 2020-01-31\nreference_khz = 40\nsegments = [[1.5, 7, 15, 25], [7, 9.2, -6, 0]]\n",
    "beams": '[[beams]]\nname = "East \\u00fc"\nlat = 40\nlon = 30\n'
    "major_deg = 1\nminor_deg = 0.5\n"
    "outbound = { satellite_eirp_dbw = 52, downlink_ghz = 12.1 }\nhub = { antenna_m = 7.3 }\n"
    '[[beams]]\nname = "West"\nlat = 40\nlon = 0\nmajor_deg = 1\nminor_deg = 1\ntilt_deg = -12\n',
    "ellipse": '[[contours]]\ndirection = "down"\nlat = 40\nlon = 10\n'
    "major_deg = 2\nminor_deg = 1\npeak = 51\n",
    "traffic": '[traffic]\naccess = "contention"\nutilisation = 0.3\nyears = 7\n'
    "[lease]\nguard_pct = 4\n[climate]\nratio = 0.31\n",
    "applications": '[[applications]]\nname = "till"\nprofile = "transaction"\n'
    '[[applications]]\nname = "talk"\nprofile = "voice"\nsessions = 2\n[network]\n'
    'applications = ["till"]\navailability_basis = "worst_month"\nequipment_mtbf_h = 40000\n'
    "equipment_mttr_h = 24.5\n",
    "rollout": "[rollout]\nsites_per_week = 4\nstart = 2026-10-05\n"
    "[uncertainty]\neirp_db = 0.3\nrain_pct = 25\n",
    "costs": '[costs]\nmodem = 300\n[[mounts]]\nkind = "pole"\nprice = 40\n',
    "site": '[rules]\nwind_basis = "gust_3s"\nmargin_classes_db = [0.0, 2.5]\n[site]\n'
    'wind_m_s = 44\n[contacts]\nplanner_name = "A\\tB"\n[sheets]\ncolumns = ["contact"]\n',
    "cables": '[ifl]\n[[cables]]\nname = "thin"\n',
    "files": '[hub]\npattern = "file"\npattern_file = "patterns/hub.csv"\n'
    '[[antennas]]\ndiameter_m = 1.2\n[[antennas]]\ndiameter_m = 1.8\npattern = "file"\n'
    'pattern_file = "patterns/dish.csv"\n',
    "contours": '[[contours]]\ndirection = "down"\nfile = "levels.geojson"\nattribute = "eirp"\n'
    'peak = 52\n[[contours]]\ndirection = "up"\nfile = "levels.geojson"\nattribute = "g t"\n',
    "areas": '[[beams]]\nname = "A"\narea = "area.geojson"\n[[beams]]\nname = "B"\n'
    'area = "far/area.geojson"\ninbound = { modcod = "QPSK 2/3" }\n',
}  # fmt: skip
#: What the reader of the network file makes of names of files: they are ours afterwards.
OURS = {"pattern_file", "file", "attribute", "area"}


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A folder with the files that the subjects name."""
    for name in ("patterns", "far"):
        (tmp_path / name).mkdir()
    (tmp_path / "patterns/hub.csv").write_text(
        "angle_deg,rx_gain_dbi,tx_gain_dbi\n0,50.1,\n0.30000000000000004,41.7,\n180,-10,\n"
    )
    (tmp_path / "patterns/dish.csv").write_text(
        "angle_deg,rx_gain_dbi,tx_gain_dbi\n0,41.1,42.000000000000007\n90,-9.9,-10\n"
    )
    ring = [[-175.1, 1.3], [170.7, -3.2], [169.1, 5.0], [-174.3, 4.1], [-175.1, 1.3]]
    line = [[10.123456789012345, 40.1], [12.9, 41.7], [14.2, 39.3]]
    levels = [
        (line, "LineString", {"eirp": 50, "g t": "2.5"}),
        ([ring], "Polygon", {"eirp": 48.25, "g t": "1"}),
    ]
    write(tmp_path / "levels.geojson", levels)
    square = [[1.1, 1], [5.3, 1], [5.3, 6.77], [1.1, 6.77], [1.1, 1]]
    hole = [[2.0, 2], [2.0, 3], [3.3, 3], [3.3, 2], [2.0, 2]]
    other = [[4.2, 2], [9, 2], [9, 3], [4.2, 3], [4.2, 2]]
    write(tmp_path / "area.geojson", [([square, hole], "Polygon", {}), ([other], "Polygon", {})])
    write(tmp_path / "far/area.geojson", [([ring], "Polygon", {})])
    return tmp_path


def write(path: Path, shapes: list[tuple[Any, str, dict[str, Any]]]) -> None:
    """Write shapes as GeoJSON."""
    features = [
        {"type": "Feature", "properties": told, "geometry": {"type": kind, "coordinates": xy}}
        for xy, kind, told in shapes
    ]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))


def reread(network: Network, folder: Path) -> Network:
    """Return a network as it reads back from what is written of it."""
    folder.mkdir()
    write_network(network, folder)
    return read_network(folder / "network.toml")


def plain(value: Any) -> Any:
    """Return what is given in a network as plain data, names of files and their columns aside."""
    if isinstance(value, dict):
        return {k: plain(v) for k, v in value.items() if k not in OURS}
    return [plain(v) for v in value] if isinstance(value, list | tuple) else value


def given_in(network: Network) -> Any:
    """Return what is given in a network, with what came from files."""
    return plain(network.model_dump(exclude_unset=True))


@pytest.mark.parametrize("subject", SUBJECTS)
def test_what_is_given_reads_back(subject: str, project: Path) -> None:
    (project / "network.toml").write_text(HEAD + SUBJECTS[subject], encoding="utf-8")
    network = read_network(project / "network.toml")
    back = reread(network, project / "inputs")
    areas = [(a.area_wkt, b.area_wkt) for a, b in zip(network.beams, back.beams, strict=True)]
    for one, other in areas:
        if one is not None and other is not None:
            assert shapely.equals_exact(
                *(shapely.normalize(shapely.from_wkt(wkt)) for wkt in (one, other)), tolerance=0
            )
    network, back = (_without_areas(of) for of in (network, back))
    assert given_in(back) == given_in(network)
    again = reread(back, project / "again")
    assert again == back, "what was read back is written the same again"
    assert again.model_fields_set == back.model_fields_set == network.model_fields_set


def _without_areas(network: Network) -> Network:
    """Return a network without polygons, whose corners may begin elsewhere."""
    beams = tuple(b.model_copy(update={"area_wkt": None, "area": None}) for b in network.beams)
    return network.model_copy(update={"beams": beams}) if network.beams else network


@pytest.mark.parametrize(
    "folder", [*SAMPLES.iterdir(), *FROZEN.iterdir()], ids=lambda p: f"{p.parent.name}_{p.name}"
)
def test_the_samples_read_back(folder: Path, tmp_path: Path) -> None:
    network = read_network(folder / "network.toml")
    assert given_in(reread(network, tmp_path / "inputs")) == given_in(network)


def test_every_table_is_tried(project: Path) -> None:
    """A table that is new must be among the subjects, or be in the samples."""
    tried = set()
    for subject in SUBJECTS.values():
        (project / "network.toml").write_text(HEAD + subject)
        tried |= read_network(project / "network.toml").model_fields_set
    for folder in SAMPLES.iterdir():
        tried |= read_network(folder / "network.toml").model_fields_set
    # They name what is only drawn, or how a table of sites was read: tried below.
    assert set(table_types()) - tried <= {"coverage", "overlays", "methods", "sites"}


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    name=st.text(st.characters(exclude_categories=["Cs"]), max_size=60),
    longitude=st.floats(-180, 360),
    efficiency=st.floats(0.11, 1.0),
    date=st.dates(),
    bounds=st.lists(st.floats(-50, 50), min_size=1, max_size=5, unique=True),
)
def test_any_text_and_any_number_reads_back(
    name: str, longitude: float, efficiency: float, date: Any, bounds: list[float], tmp_path: Path
) -> None:
    network = Network.model_validate(
        {
            "network": {"name": name, "date": date},
            "satellite": {"longitude_deg": longitude},
            "antennas": [{"diameter_m": 1.2, "efficiency": efficiency}],
            "rules": {"margin_classes_db": sorted(bounds)},
        }
    )
    path = tmp_path / "network.toml"
    path.write_text(network_text(network), encoding="utf-8", newline="\n")
    back = of_toml(path)
    assert back == network
    assert repr(back.satellite.longitude_deg) == repr(network.satellite.longitude_deg)


def test_nothing_tells_of_this_machine(tmp_path: Path) -> None:
    """Cloud maps, overlays and the area of coverage may lie anywhere."""
    network = Network.model_validate(
        {
            "satellite": {"longitude_deg": 1},
            "methods": {"cloud_maps": "/home/somebody/maps"},
            "coverage": {"area": "C:\\Users\\somebody\\area.kml", "step_deg": 1},
            "overlays": [{"file": "../somebody/roads.kml"}, {"file": "roads/own.kml"}],
        }
    )
    write_network(network, tmp_path)
    text = (tmp_path / "network.toml").read_text(encoding="utf-8")
    assert "somebody" not in text
    assert 'area = "area.kml"' in text
    assert 'file = "roads.kml"' in text
    assert 'file = "roads/own.kml"' in text
    assert "maps of the user's own" in text
    back = of_toml(tmp_path / "network.toml")
    assert back.methods.cloud_maps is None
    assert back.coverage.step_deg == 1.0


def test_the_older_clouds_are_asked_for_by_an_empty_text() -> None:
    network = Network.model_validate(
        {"satellite": {"longitude_deg": 1}, "methods": {"cloud_maps": ""}}
    )
    assert 'cloud_maps = ""' in network_text(without_places(network))


def test_rows_that_were_given_in_memory_get_a_file(tmp_path: Path) -> None:
    gains = PatternGains(angle_deg=(0, 10, 180), tx_gain_dbi=(42, 3.1, -10))
    dish = {"diameter_m": 1.2, "pattern": "file", "pattern_gains": gains}
    network = Network.model_validate({"satellite": {"longitude_deg": 1}, "antennas": [dish]})
    back = reread(network, tmp_path / "inputs")
    assert back.antennas[0].pattern_gains == gains
    assert back.antennas[0].pattern_file == "files/pattern_1.csv"
