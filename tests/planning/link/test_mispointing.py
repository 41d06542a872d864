"""An error of pointing that is given: what it costs, and which antennas it rules out."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.planning.setting import setting
from siteplan.results import Plan
from tests.planning.worked import work_out

C = 299_792_458.0
LAT, LON = np.array([-3.1, 12.0, 25.0]), np.array([-60.0, -48.0, -75.0])


def network(**tables: Any) -> Network:
    base: dict[str, Any] = {
        "network": {"date": "2026-06-01"},
        "satellite": {"longitude_deg": -61.0},
    }
    return Network.model_validate(base | tables)


def planned(checked: Network, **known: Any) -> Plan:
    return make_plan(Sites.at(LAT, LON, **known), checked)


def test_the_error_costs_12_squares_of_its_part_of_the_beam() -> None:
    """12 (d / theta3)^2, theta3 = 70 lambda / D (Maral and Bousquet), at each frequency by hand."""
    size, error = 1.8, 0.22
    loss = {ghz: 12 * (error * size / (70 * C / (ghz * 1e9))) ** 2 for ghz in (11.95, 14.25)}
    kit = {"fixed_antenna_m": np.full(3, size), "fixed_buc_w": np.full(3, 3.0)}
    shared = {"antennas": [{"diameter_m": size}], "inbound": {"power_share": "free"}}
    sites = Sites.at(LAT, LON, **kit)
    off = network(terminal={"pointing_error_deg": error}, **shared)
    given = work_out(sites, setting(off))
    for k, ghz in enumerate((11.95, 14.25)):
        lossy = network(terminal={"pointing_loss_db": loss[ghz]}, **shared)
        told = work_out(sites, setting(lossy))
        found, expected = given.ways[k], told.ways[k]
        np.testing.assert_allclose(found.clear_db, expected.clear_db, rtol=0, atol=1e-9)


@pytest.mark.parametrize("error", [0.3, 0.55])
def test_dishes_beyond_the_half_power_beam_are_not_picked(error: float) -> None:
    """35 / d wavelengths at the higher frequency: half of a beam of 70 / x degrees."""
    most = 35 / error * C / 14.25e9
    sizes = [0.75, 1.2, 1.8, 2.4, 3.7]
    checked = network(
        terminal={"pointing_error_deg": error},
        outbound={"satellite_eirp_dbw": 41.0},
        antennas=[{"diameter_m": d} for d in sizes],
    )
    plan = planned(checked)
    c = plan.columns
    picked = c["antenna_m"][~np.isnan(c["antenna_m"])]
    assert (picked <= most).all()
    required = c["required_antenna_m"]
    assert (required[~np.isnan(required)] <= most * (1 + 1e-6)).all()
    assert (c["tried_antenna_m"] <= most).all()
    assert any(f"antennas over {most:.2f} m" in caution for caution in plan.facts.cautions)
    assert all(np.isnan(r.antenna_m) or r.antenna_m <= most for r in plan.facts.remedies)


def test_where_every_antenna_is_too_large_that_is_the_reason() -> None:
    plan = planned(network(terminal={"pointing_error_deg": 0.9},
                           antennas=[{"diameter_m": 1.2}, {"diameter_m": 1.8}]))  # fmt: skip
    c = plan.columns
    assert np.isnan(c["antenna_m"]).all()
    for text in c["no_fit_reason"]:
        assert text == (
            "No antenna of the catalogue keeps the satellite in its half-power beam with an error"
            " of pointing of 0.9 deg: point finer, or list a smaller antenna."
        )
    assert [r.code for r in plan.facts.remedies] == ["nothing"] * 3
    assert "0.82 m is the largest that does not" in plan.facts.remedies[0].change


def test_a_catalogue_of_which_the_largest_is_too_large() -> None:
    """The rest is picked from as if the largest were not listed."""
    terminal = {"pointing_error_deg": 0.3}
    with_it, without = (
        planned(network(terminal=terminal, antennas=[{"diameter_m": d} for d in sizes]))
        for sizes in ((1.2, 1.8, 3.7), (1.2, 1.8))
    )
    for name in ("antenna_m", "buc_w", "margin_db", "required_antenna_m", "tried_antenna_m"):
        np.testing.assert_array_equal(with_it.columns[name], without.columns[name], err_msg=name)
    assert len(with_it.facts.cautions) == len(without.facts.cautions) + 1


@pytest.mark.parametrize("power", [np.nan, 3.0])
def test_a_dish_that_stands_is_judged_and_flagged(power: float) -> None:
    """With its BUC or alone: then a BUC is picked for it all the same."""
    known = {"fixed_antenna_m": np.full(3, 3.7), "fixed_buc_w": np.full(3, power)}
    plan = planned(network(terminal={"pointing_error_deg": 0.3}), **known)
    c = plan.columns
    assert not np.isnan(c["buc_w"]).any()
    assert all("pointing_coarse" in text.split(";") for text in c["flags"])
    assert all("half-power beam of the 3.7 m dish" in text for text in c["flag_notes"])


def test_without_an_error_nothing_is_ruled_out() -> None:
    plan = planned(network(antennas=[{"diameter_m": 9.0}]))
    assert (plan.columns["antenna_m"] == 9.0).all()
    assert not any("pointing" in text for text in plan.columns["flags"])
