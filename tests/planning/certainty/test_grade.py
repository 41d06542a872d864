"""The grade of a site's plan: one test a letter, and what each sentence asks for."""

from __future__ import annotations

from types import MappingProxyType
from typing import Any

import numpy as np
import pytest

from siteplan.inputs.network.assumed import assumptions
from siteplan.model import Note, Obstructions, Sites, Surroundings
from siteplan.network import Network
from siteplan.planning.plan import make_plan

#: Everything that the grade asks for is given.
CARRIER = {
    "satellite_eirp_dbw": 50, "satellite_g_t_db_k": 2, "sfd_dbw_m2": -88, "ci_db": 20,
    "transponder_mhz": 36, "input_backoff_db": 6, "output_backoff_db": 3.5,
}  # fmt: skip
GIVEN: dict[str, Any] = {
    "network": {"date": "2026-06-01"},
    "satellite": {"longitude_deg": -61.0},
    "hub": {"lat": -15.8, "lon": -47.9, "lna_noise_k": 70},
    "outbound": CARRIER,
    "inbound": CARRIER,
    "terminal": {"lnb_noise_k": 75, "spillover_noise_k": 20},
    "antennas": [{"diameter_m": 1.8, "efficiency": 0.65}],
    "bucs": [{"rated_w": 3, "backoff_db": 1}],
}
NEIGHBOUR = [{"longitude_deg": -58, "downlink_level_db": 0}]


def without(table: str, *keys: str) -> dict[str, Any]:
    """Return the tables with some keys of one of them not given."""
    left = {k: v for k, v in GIVEN[table].items() if k not in keys}
    return GIVEN | {table: left}


def surveyed(site_id: str) -> Surroundings:
    nan = np.array([np.nan])
    return Surroundings(Obstructions(
        np.array([site_id], dtype=object), np.array([10.0]), np.array([20.0]), np.array([1.0]),
        nan, nan, np.array([0.0]), np.array(["tree"], dtype=object), np.array([2]),
    ))  # fmt: skip


def graded(
    tables: dict[str, Any], around: Surroundings | None = None, **known: Any
) -> tuple[str, str]:
    """Return the grade of a site in the middle of the beam, and its sentence."""
    place = {"lat": np.array([10.0]), "lon": np.array([-67.0])}
    sites = Sites.at(**(place | known))
    checked = Network.model_validate(tables)
    of = make_plan(sites, checked, assumptions=assumptions(checked),
                   around=around or surveyed("S0001")).columns  # fmt: skip
    return of["certainty"][0], of["certainty_next"][0]


ALTITUDE = {"altitude_m": np.array([420.0])}


def test_a() -> None:
    assert graded(GIVEN, **ALTITUDE) == ("A", "Nothing that the grade asks for is assumed.")


def test_b() -> None:
    assert graded(GIVEN) == ("B", "For A: give the altitude.")
    assert graded(GIVEN, surveyed("S0002"), **ALTITUDE) == ("B", "For A: survey the horizon.")
    assert graded(GIVEN, Surroundings())[1] == "For A: survey the horizon and give the altitude."


@pytest.mark.parametrize(
    ("tables", "asked"),
    [
        (without("terminal", "lnb_noise_k"), "noise"),
        (without("hub", "lna_noise_k"), "noise"),
        (without("inbound", "ci_db"), "interference"),
        (without("outbound", "output_backoff_db"), "bandwidth and back-offs of the transponder"),
        (GIVEN | {"antennas": [{"diameter_m": 1.8}]}, "antennas"),
        ({k: v for k, v in GIVEN.items() if k != "bucs"}, "BUCs"),
        (GIVEN | {"neighbours": NEIGHBOUR}, "pattern of the antennas, interference"),
    ],
)
def test_c(tables: dict[str, Any], asked: str) -> None:
    expected = ("C", f"For B: give what is assumed: {asked}.")
    assert graded(tables, **ALTITUDE) == expected


@pytest.mark.parametrize(
    ("keys", "asked"),
    [(("satellite_eirp_dbw",), "EIRP"), (("satellite_g_t_db_k",), "G/T"),
     (("sfd_dbw_m2", "ci_db", "satellite_eirp_dbw"), "EIRP, SFD")],
)  # fmt: skip
@pytest.mark.parametrize("way", ["outbound", "inbound"])
def test_d(way: str, keys: tuple[str, ...], asked: str) -> None:
    """Also where what asks for C is assumed besides."""
    expected = ("D", f"For C: give what is assumed of the satellite: {asked}.")
    assert graded(without(way, *keys)) == expected


def test_e() -> None:
    """Also where everything is assumed, and where everything is given."""
    doubt = Note("coordinate_doubt", "note.coordinate_doubt.abroad_alone")
    notes = MappingProxyType({0: (doubt,)})
    unseen = {"lat": np.array([10.0]), "lon": np.array([120.0])}
    for tables in (GIVEN, {"satellite": {"longitude_deg": -61.0}}):
        assert graded(tables, notes=notes, **ALTITUDE)[0] == "E"
        assert graded(tables, notes=notes)[1] == "For D or better: check the coordinates."
        letter, sentence = graded(tables, **unseen, **ALTITUDE)
        assert letter == "E"
        assert "another satellite" in sentence


def test_installed_kit_with_figures_of_its_own_is_given() -> None:
    bare = {k: v for k, v in GIVEN.items() if k not in ("antennas", "bucs")}
    own = {"fixed_antenna_m": np.array([1.8]), "fixed_buc_w": np.array([3.0])}
    figures = {"fixed_efficiency": np.array([0.6]), "fixed_buc_backoff_db": np.array([1.0])}
    assert graded(bare, **ALTITUDE, **own, **figures)[0] == "A"
    assert graded(bare, **ALTITUDE, **own)[0] == "C"
    letter, sentence = graded(bare, **ALTITUDE, **own, fixed_efficiency=figures["fixed_efficiency"])
    assert (letter, sentence[-5:]) == ("C", "BUCs.")


def test_a_beams_own_figures_count_for_its_sites() -> None:
    tables = without("outbound", "satellite_eirp_dbw") | {
        "beams": [{"name": "own", "outbound": {"satellite_eirp_dbw": 50}}, {"name": "shared"}],
    }
    checked = Network.model_validate(tables)
    sites = Sites.at(np.array([10.0, 10.0]), np.array([-67.0, -67.0]),
                     beam=np.array(["own", "shared"], dtype=object),
                     altitude_m=np.array([420.0, 420.0]))  # fmt: skip
    of = make_plan(sites, checked, assumptions=assumptions(checked), around=surveyed("S0001"))
    assert of.columns["beam"].tolist() == ["own", "shared"]
    assert of.columns["certainty"].tolist() == ["A", "D"]
