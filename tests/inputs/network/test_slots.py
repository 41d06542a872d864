"""The network with another satellite: what is taken over, what is left out, what is told."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from siteplan.errors import NetworkError
from siteplan.inputs.network.read import network_from_mapping
from siteplan.inputs.network.slots import network_at
from siteplan.inputs.satellites import Satellite
from siteplan.network import Network

HERE = Path()
BASE: dict[str, Any] = {
    "network": {"date": "2026-09-01"},
    "satellite": {"name": "Ours", "longitude_deg": -61, "neighbours_deg": [-64, -58]},
    "outbound": {"satellite_eirp_dbw": 50, "symbol_rate_msps": 5},
    "inbound": {"satellite_g_t_db_k": 2},
}
ELLIPSE = {"lat": -5.0, "lon": -60.0, "major_deg": 2.0, "minor_deg": 1.0}
SQUARE = [[[-70, -10], [-50, -10], [-50, 5], [-70, 5], [-70, -10]]]


def network(**more: Any) -> Network:
    return network_from_mapping({**BASE, **more})


def satellite(**more: Any) -> Satellite:
    return Satellite("Other", -40.0, "s.csv, row 2", **more)


def as_geojson(path: Path, kind: str, shapes: list[tuple[Any, float]]) -> Path:
    features = [
        {"type": "Feature", "properties": {"level": level},
         "geometry": {"type": kind, "coordinates": points}}
        for points, level in shapes
    ]  # fmt: skip
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    return path


def test_only_the_position_changes_where_nothing_else_is_told() -> None:
    ours = network()
    moved, remarks = network_at(ours, satellite(), HERE)
    by_hand = network_from_mapping(
        {**BASE, "satellite": {**BASE["satellite"], "name": "Other", "longitude_deg": -40}}
    )
    assert moved == by_hand
    # What is assumed of it is what was assumed before: nothing counts as given that nobody gave.
    assert moved.model_fields_set == ours.model_fields_set
    assert "EIRP, G/T, SFD as in the project" in remarks[0]
    assert any("Neighbouring satellites as in the project" in told for told in remarks)


def test_a_figure_is_of_both_directions_and_one_s_own_comes_first() -> None:
    levels = {"inbound_satellite_eirp_dbw": 44.0, "satellite_eirp_dbw": 51.0, "sfd_dbw_m2": -92.0}
    moved, remarks = network_at(network(), satellite(levels=levels), HERE)
    assert moved.outbound.satellite_eirp_dbw == 51
    assert moved.inbound.satellite_eirp_dbw == 44
    assert moved.outbound.sfd_dbw_m2 == moved.inbound.sfd_dbw_m2 == -92
    assert moved.outbound.symbol_rate_msps == 5
    assert moved.inbound.satellite_g_t_db_k == 2
    assert remarks[0].startswith("G/T as in")


def test_own_neighbours_replace_the_project_s() -> None:
    beside = [{"longitude_deg": -64, "downlink_level_db": 1}, {"longitude_deg": -40}]
    moved, remarks = network_at(
        network(neighbours=beside), satellite(neighbours_deg=(-37.0, 296.0)), HERE
    )
    assert moved.satellite.neighbours_deg == (-37, 296)
    # -64 is 296, and keeps its levels; the one at -40 is the satellite itself.
    assert [n.longitude_deg for n in moved.neighbours] == [-64]
    assert "1 of the neighbouring satellites given left out" in " ".join(remarks)


def test_a_neighbour_at_the_new_position_is_left_out_not_an_error() -> None:
    at_it = network(
        satellite={"longitude_deg": -61, "neighbours_deg": [-40, -64]},
        neighbours=[{"longitude_deg": 320.0}],
    )
    moved, remarks = network_at(at_it, satellite(), HERE)
    assert moved.neighbours == ()
    assert moved.satellite.neighbours_deg == (-64,)
    assert "1 of the neighbouring satellites given left out" in " ".join(remarks)


def test_beams_stay_where_nothing_is_told_of_levels() -> None:
    drawn = network(
        beams=[{"name": "west", **ELLIPSE}], contours=[{"direction": "down", "peak": 50,
                                                       "beam": "west", **ELLIPSE}],
    )  # fmt: skip
    moved, remarks = network_at(drawn, satellite(), HERE)
    assert (moved.beams, moved.contours) == (drawn.beams, drawn.contours)
    assert any("as the project has them" in told for told in remarks)


def test_beams_give_way_where_levels_are_told() -> None:
    drawn = network(beams=[{"name": "west", **ELLIPSE}])
    moved, remarks = network_at(drawn, satellite(levels={"satellite_eirp_dbw": 50.0}), HERE)
    assert moved.beams == ()
    assert any("are left out" in told for told in remarks)


def test_an_area_is_a_beam_of_the_satellite(tmp_path: Path) -> None:
    as_geojson(tmp_path / "area.geojson", "Polygon", [(SQUARE, 0)])
    moved, _ = network_at(network(), satellite(files={"area": "area.geojson"}), tmp_path)
    (beam,) = moved.beams
    assert beam.name == "Other"
    assert beam.area_wkt is not None
    assert beam.area_wkt.startswith("MULTIPOLYGON")


def test_contours_give_levels_by_place(tmp_path: Path) -> None:
    line = SQUARE[0]
    as_geojson(tmp_path / "eirp.geojson", "LineString", [(line, 49.0)])
    files = {"eirp_contours": "eirp.geojson"}
    moved, _ = network_at(network(), satellite(files=files, attribute="level"), tmp_path)
    (contours,) = moved.contours
    assert contours.direction == "down"
    assert contours.lines is not None
    assert [of.value for of in contours.lines] == [49.0]


def test_a_file_of_beams_has_the_network_s_tables(tmp_path: Path) -> None:
    (tmp_path / "b.toml").write_text(
        '[[beams]]\nname = "spot"\nlat = -5\nlon = -60\nmajor_deg = 2\nminor_deg = 1\n'
        "outbound = { satellite_eirp_dbw = 55 }\n[[neighbours]]\nlongitude_deg = -43\n"
    )
    drawn = network(beams=[{"name": "west", **ELLIPSE}])
    moved, _ = network_at(drawn, satellite(files={"beams": "b.toml"}), tmp_path)
    assert [beam.name for beam in moved.beams] == ["spot"]
    assert moved.of_beam("spot").outbound.satellite_eirp_dbw == 55
    assert [n.longitude_deg for n in moved.neighbours] == [-43]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (None, r"s\.csv, row 2, beams: b\.toml: there is no such file"),
        ("[outbound]\nmodcod = 'x'\n", r"\[outbound\] is no table of a satellite's beams\. Keep"),
        ("[[beams]]\nnam = 'x'\n", r"s\.csv, row 2: \[\[beams\]\] no\. 1 .*nam"),
        ("[[beams]]\nname = 'x'\narea = 'gone.kml'\n",
         r"row 2, \[\[beams\]\] no\. 1 area: there is no file 'gone\.kml' there.*satellites' file"),
    ],
)  # fmt: skip
def test_files_that_cannot_be_used_are_named_with_their_row(
    tmp_path: Path, text: str | None, words: str
) -> None:
    if text is not None:
        (tmp_path / "b.toml").write_text(text)
    with pytest.raises(NetworkError, match=words):
        network_at(network(), satellite(files={"beams": "b.toml"}), tmp_path)


# --- what is told of it ---------------------------------------------------------------------

REST = "Frequencies, polarizations, carriers and hub as in the project, but where its beams have"
AWAY = " as in the project: those of another satellite."


def told(of: Satellite, ours: Network | None = None, folder: Path = HERE) -> tuple[str, ...]:
    return network_at(network() if ours is None else ours, of, folder).remarks


def test_all_that_is_carried_over_is_told() -> None:
    ours = network(
        satellite={"longitude_deg": -61, "tilt_deg": 3, "xpi_db": 28, "station_keeping_deg": 0.1},
        outbound={"ci_db": 18}, inbound={"transponder_mhz": 36},
    )  # fmt: skip
    first, rest = told(satellite(), ours)
    assert first == (
        "EIRP, G/T, SFD, bandwidth and back-offs of the transponder, C/I, tilt, station keeping,"
        f" isolation{AWAY}"
    )
    assert rest.startswith(REST)


def test_a_level_of_one_way_leaves_the_other_untold() -> None:
    levels = {"outbound_satellite_eirp_dbw": 50.0, "satellite_g_t_db_k": 2.0}
    assert told(satellite(levels=levels))[0] == f"inbound EIRP, SFD{AWAY}"


def test_contours_tell_one_way(tmp_path: Path) -> None:
    as_geojson(tmp_path / "eirp.geojson", "LineString", [(SQUARE[0], 49.0)])
    of = satellite(files={"eirp_contours": "eirp.geojson"}, attribute="level")
    assert told(of, folder=tmp_path)[0] == f"inbound EIRP, G/T, SFD{AWAY}"


@pytest.mark.parametrize(
    ("keys", "figures"),
    [
        ("", "EIRP, G/T, SFD"),
        ("outbound = { satellite_eirp_dbw = 55 }\n", "inbound EIRP, G/T, SFD"),
    ],
)
def test_beams_tell_what_stands_in_them(tmp_path: Path, keys: str, figures: str) -> None:
    """And neighbours of their own are not told as left out."""
    (tmp_path / "b.toml").write_text(
        '[[beams]]\nname = "spot"\nlat = -5\nlon = -60\nmajor_deg = 2\nminor_deg = 1\n'
        f"{keys}[[neighbours]]\nlongitude_deg = -43\n"
    )
    ours = network(neighbours=[{"longitude_deg": -40, "downlink_level_db": 1}])
    found = told(satellite(files={"beams": "b.toml"}), ours, tmp_path)
    assert found[0] == f"{figures}{AWAY}"
    assert len(found) == 2


@pytest.mark.parametrize("longitude", [-61.0, 299.0])
def test_the_satellite_that_is_planned_is_no_other(longitude: float) -> None:
    first, beside, _ = told(Satellite("Same", longitude, "s.csv, row 2"))
    assert first == "EIRP, G/T, SFD as in the project, whose satellite stands there."
    assert beside == "Neighbouring satellites as in the project."


def test_neighbours_with_levels_alone_are_told_too() -> None:
    ours = network(satellite={"longitude_deg": -61}, neighbours=[{"longitude_deg": -64}])
    assert any("do not count before they are named" in text for text in told(satellite(), ours))
