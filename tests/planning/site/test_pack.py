"""The site pack in a plan: the levels on the cable by hand, heights by mount, flags in order."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from siteplan.fields import FIELDS, FLAGS
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.results import Plan
from tests.planning.others import BEAMS, FAINT, faint_beam
from tests.priced import with_costs


def network(**tables: Any) -> Network:
    start: dict[str, Any] = {
        "network": {"date": "2026-06-01"},
        "satellite": {"longitude_deg": 10},
        "antennas": [{"diameter_m": 1.2}],
        "bucs": [{"rated_w": 4}],
    }
    return Network.model_validate(start | tables)


def plan_at(plan: Network, n: int = 1, **known: Any) -> Plan:
    lat = np.linspace(40, 41, n)
    return make_plan(
        Sites.at(lat, np.full(n, 10.0), fixed_antenna_m=np.full(n, 1.2), **known), plan
    )


def test_level_at_the_modem_by_hand() -> None:
    """Carrier EIRP less free space, gas and pointing, plus dish, LNB and cable."""
    found = plan_at(network())
    c = {k: v[0] for k, v in found.columns.items()}
    share = 3.5 + 10 * np.log10(36 / 7.2)
    space = 20 * np.log10(4 * np.pi * c["slant_range_km"] * 1e3 * 11.95e9 / 299_792_458)
    gain = 10 * np.log10(0.65 * (np.pi * 1.2 * 11.95 / 0.299792458) ** 2)
    # Clear sky's gas is its 5 % value, which is frozen for the smaller outages.
    lnb_dbm = 48 - share - space - c["downlink_gas_db"] - 0.3 + gain - 0.2 + 30
    assert c["modem_input_dbm"] == pytest.approx(lnb_dbm + 60 - c["cable_loss_high_db"], abs=0.01)


def test_level_to_the_buc_by_hand() -> None:
    """4 W less 1 dB of back-off is 35.02 dBm; less 60 dB of gain, plus the cable."""
    c = {k: v[0] for k, v in plan_at(network()).columns.items()}
    assert c["modem_output_dbm"] == pytest.approx(
        10 * np.log10(4000) - 1 - 60 + c["cable_loss_high_db"], abs=1e-9
    )
    assert c["buc_dc_w"] == pytest.approx(4 / 0.15 + 8, rel=1e-12)
    assert c["ifl_length_m"] == 30


def test_cable_given_goes_before_the_default() -> None:
    found = plan_at(network(), 2, cable_m=np.array([np.nan, 90.0]))
    assert found.columns["ifl_length_m"].tolist() == [30, 90]


@pytest.mark.parametrize(
    ("structure", "edge", "height"),
    [("ground", 1.2, 1.8), ("flat_roof", 0.3, 8.9), ("wall", -0.6, 8.0)],
)
def test_heights_by_mount(structure: str, edge: float, height: float) -> None:
    """Rim 1.2 m above ground, 0.3 m above a roof of 8 m; of a bracket at its edge below it."""
    found = plan_at(
        network(site={"wind_m_s": 15}),
        structure=np.array([structure], dtype=object),
        roof_height_m=np.array([8.0]),
        wall_facing_deg=np.array([180.0]),
    )
    assert found.columns["beam_edge_m"][0] == pytest.approx(edge, abs=1e-12)
    assert found.columns["dish_height_m"][0] == pytest.approx(height, abs=1e-12)


def test_people_reaching_the_beam_is_flagged_where_it_passes_the_limit() -> None:
    strong, weak = (plan_at(network(bucs=[{"rated_w": w}])) for w in (40, 1))
    assert "beam_reachable" in strong.columns["flags"][0].split(";")
    assert "qualified engineer" in strong.columns["flag_notes"][0]
    assert "beam_reachable" not in weak.columns["flags"][0].split(";")
    assert strong.columns["public_distance_m"][0] > strong.columns["controlled_distance_m"][0] >= 0


def test_no_cable_is_flagged_with_its_advice() -> None:
    found = plan_at(network(), cable_m=np.array([600.0]))
    assert "cable_none" in found.columns["flags"][0].split(";")
    assert found.columns["cable_advice"][0] in found.columns["flag_notes"][0]
    assert found.columns["cable_class"][0] == ""


def test_levels_out_of_range_ask_for_a_pad() -> None:
    found = plan_at(network(ifl={"buc_gain_db": 85}))
    assert "drive_range" in found.columns["flags"][0].split(";")
    assert "insert a pad" in found.columns["flag_notes"][0]


def test_flags_stand_in_the_dictionary_s_order() -> None:
    found = plan_at(network(bucs=[{"rated_w": 40}]), cable_m=np.array([600.0]))
    codes = found.columns["flags"][0].split(";")
    assert codes == [code for code in FLAGS if code in codes]
    assert len(codes) >= 2


def test_every_field_of_the_pack_is_there_and_in_order() -> None:
    names = [
        n
        for n in plan_at(
            with_costs(network(**FAINT, contours=[faint_beam(-61.0)], beams=BEAMS))
        ).columns
        if n in FIELDS
    ]
    assert names == list(FIELDS)


def test_below_the_horizon_there_is_no_answer() -> None:
    sites = Sites.at(np.array([40.0, 40.0]), np.array([10.0, -160.0]))
    found = make_plan(sites, network())
    # What was given or assumed stands all the same, and why nothing else does.
    assumed = {"wind_design_m_s": 25.0, "wind_source": "assumed", "ifl_length_m": 30.0}
    told: dict[str, str] = {}
    for name, field in FIELDS.items():
        if field.group not in ("mount", "sky", "cable", "exposure", "sun", "pointing"):
            continue
        value = found.columns[name][1]
        if name in assumed:
            assert value == assumed[name]
        elif field.is_text:
            assert value == told.get(name, ""), name
        else:
            assert np.isnan(value), name
