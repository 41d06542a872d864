"""What a licence asks: counts equal the columns, the hub by hand, curves that touch, parts."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest

from siteplan.answers.licence import Licence, MaskDrawing
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.planning.report.licences import MOST_DRAWN
from siteplan.planning.report.radiating import Radiating, radiating
from siteplan.planning.report.summary import summarize
from siteplan.planning.report.tally import Tally, tally
from siteplan.results import Plan

#: Arithmetic of sums and logarithms alone [dB].
HAIR_DB = 1e-9
OWN = {
    "name": "operator's",
    "date": "2025-04-01",
    "source": "annex",
    "reference_khz": 40,
    "segments": [[2, 7, 25, 25], [9, 48, 30, 25]],
}


def network(**tables: Any) -> Network:
    return Network.model_validate(
        {
            "network": {"date": "2026-03-01"},
            "satellite": {"longitude_deg": 13.0},
            "inbound": {"symbol_rate_msps": 0.512},
            "regulation": {"masks": ["47cfr25_ku", "s728_1"]},
            **tables,
        }
    )


def planned(of: Network, count: int = 40, **given: Any) -> Plan:
    rng = np.random.default_rng(2)
    lat, lon = rng.uniform(-30, 55, count), rng.uniform(-12, 45, count)
    return make_plan(Sites.at(lat, lon, **given), of)


def known(plan: Plan) -> Licence:
    assert plan.facts.licence is not None
    return plan.facts.licence


@pytest.fixture(scope="module")
def plan() -> Plan:
    return planned(network(hub={"lat": 50.1, "lon": 8.7, "power_control_db": 3}))


def test_no_masks_no_licence() -> None:
    plan = planned(network(regulation={}), 4)
    assert plan.facts.licence is None
    summary = summarize(plan)
    assert "licence" not in summary
    assert summary["limits"][0].startswith("No off-axis limit given")
    assert not any(key.startswith("mask ") for key in summary["methods"])


def test_the_summary_tells_masks_and_editions(plan: Plan) -> None:
    summary = summarize(plan)
    assert summary["methods"]["mask 47cfr25_ku"] == "47 CFR 25.218(f), 2018 (copy)"
    assert summary["methods"]["mask s728_1"] == "ITU-R S.728-1, 1995 (from memory)"
    assert summary["limits"][0].startswith("Off-axis limits in force: 47cfr25_ku, s728_1.")
    assert [mask["name"] for mask in summary["licence"]["masks"]] == ["47cfr25_ku", "s728_1"]


def test_each_kind_is_what_its_columns_hold(plan: Plan) -> None:
    c, found = plan.columns, known(plan)
    seen = ~np.isnan(c["off_axis_margin_db"])
    pairs = {
        (a, b)
        for a, b in zip(c["antenna_m"][seen].tolist(), c["buc_w"][seen].tolist(), strict=True)
    }
    assert [(t.antenna_m, t.buc_w) for t in found.types] == sorted(pairs)
    assert len(pairs) > 1
    for kind in found.types:
        here = seen & (c["antenna_m"] == kind.antenna_m) & (c["buc_w"] == kind.buc_w)
        assert kind.sites == here.sum()
        worst = np.argmin(np.where(here, c["off_axis_margin_db"], np.inf))
        assert kind.off_axis_mask == c["off_axis_mask"][worst]
        for name, of in [
            ("off_axis_margin_db", np.min), ("allowed_feed_w", np.max), ("tx_power_w", np.max),
            ("feed_density_dbw_4khz", np.max), ("eirp_density_dbw_4khz", np.max),
            ("horizon_density_dbw", np.max),
        ]:  # fmt: skip
            assert getattr(kind, name) == pytest.approx(of(c[name][here]), abs=1e-6), name
        assert kind.least_elevation_deg == c["elevation_deg"][here].min()
        assert kind.emission == c["emission"][worst]
        # The margin is what the allowed power is over the greatest used.
        left = 10 * np.log10(kind.allowed_feed_w / kind.feed_w)
        assert kind.off_axis_margin_db == pytest.approx(left, abs=1e-6)
        assert kind.eirp_density_dbw_40khz - kind.eirp_density_dbw_4khz == pytest.approx(
            10, abs=HAIR_DB
        )


def test_the_hub_by_hand() -> None:
    """The flux of its share at 38 500 km without gas; 4.5 m at 14.25 GHz; the mask at 1.5 deg.

    Equations of textbooks (Maral and Bousquet, chapter 5); 47 CFR 25.218's 15 - 25 log 1.5 is
    10.598 dBW in 4 kHz, S.580-6's side lobe there 29 - 25 log 1.5 dBi.
    """
    of = network(hub={"power_control_db": 10}, outbound={"symbol_rate_msps": 6, "roll_off": 0.2})
    hub = known(planned(of, 3)).hub
    carrier = of.outbound
    obo = carrier.output_backoff_db + 10 * np.log10(36 / 7.2)
    flux = carrier.sfd_dbw_m2 - (obo + carrier.input_backoff_db - carrier.output_backoff_db)
    eirp = flux + 10 * np.log10(4 * np.pi * 38_500e3**2)
    gain = 10 * np.log10(0.65 * (np.pi * 4.5 * 14.25e9 / 299_792_458) ** 2)
    assert hub.feed_w == pytest.approx(10 ** ((eirp - gain + 10) / 10), rel=1e-6)
    assert hub.eirp_dbw == pytest.approx(eirp + 10, abs=1e-6)
    density = eirp + 10 - gain - 10 * np.log10(6e6 / 4e3)
    assert hub.feed_density_dbw_4khz == pytest.approx(density, abs=1e-6)
    margin = 10.598 - (density + 29 - 25 * np.log10(1.5))
    assert hub.off_axis_margin_db == pytest.approx(margin, abs=0.001)
    assert (hub.off_axis_mask, hub.off_axis_angle_deg) == ("47cfr25_ku", 1.5)
    assert hub.emission == "7M20G7W"
    assert np.isnan(hub.least_elevation_deg)


def test_a_hub_that_exceeds_is_a_caution() -> None:
    plan = planned(network(hub={"power_control_db": 30, "antenna_m": 2.4}), 3)
    assert known(plan).hub.exceeds
    (told,) = [text for text in plan.facts.cautions if "exceeds" in text]
    assert told.startswith("The hub's carrier exceeds 47cfr25_ku by ")
    assert not [text for text in planned(network(), 3).facts.cautions if "exceeds" in text]


def test_a_mask_of_another_band_does_not_judge_the_hub() -> None:
    plan = planned(network(outbound={"uplink_ghz": 17.5}, masks=[OWN],
        regulation={"masks": ["47cfr25_ku", OWN["name"]]}), 3)  # fmt: skip
    found = known(plan)
    assert [(m.name, m.hub_judged) for m in found.masks] == [
        (OWN["name"], True),
        ("47cfr25_ku", False),
    ]
    assert found.hub.off_axis_mask == OWN["name"]
    assert found.masks[0].told == "the operator's own, 2025-04-01"
    assert any("not judged by 47cfr25_ku" in text for text in plan.facts.cautions)
    alone = known(planned(network(outbound={"uplink_ghz": 17.5}), 3))
    assert np.isnan(alone.hub.off_axis_margin_db)
    assert alone.hub_drawing is None


def test_n_counts_terminals_and_not_the_hub(plan: Plan) -> None:
    of = plan.network.regulation.model_copy(update={"simultaneous_terminals": 10})
    ten = known(planned(plan.network.model_copy(update={"regulation": of})))
    assert ten.hub == known(plan).hub
    one, other = (found.drawings[0].panels[0] for found in (known(plan), ten))
    assert one.limit[0][0][1] - other.limit[0][0][1] == pytest.approx(10, abs=HAIR_DB)


def allowed_touches(drawing: MaskDrawing) -> None:
    """The allowed power meets the tightest mask at its angle, and passes no mask anywhere."""
    touched = 0
    for panel in drawing.panels:
        at = dict(panel.allowed)
        for part in panel.limit:
            (first, high), (last, low) = part
            slope = (low - high) / (np.log10(last) - np.log10(first))
            for angle, dbw in panel.allowed:
                if first <= angle <= last:
                    limit = high + slope * (np.log10(angle) - np.log10(first))
                    assert dbw <= limit + 1e-6
                    if angle == panel.touches_deg and abs(dbw - limit) < 1e-6:
                        touched += 1
        assert np.isnan(panel.touches_deg) or panel.touches_deg in at
        ahead = 10 * np.log10(drawing.allowed_feed_w / drawing.used_feed_w)
        used = dict(panel.used)
        assert all(at[a] - used[a] == pytest.approx(ahead, abs=1e-6) for a in at)
    assert touched


def test_curves_touch_the_mask(plan: Plan) -> None:
    found = known(plan)
    assert {d.antenna_m for d in found.drawings} == {t.antenna_m for t in found.types}
    assert found.hub_drawing is not None
    for drawing in (*found.drawings, found.hub_drawing):
        allowed_touches(drawing)


def test_parts_add_up_to_the_whole(plan: Plan) -> None:
    """Also by way of a file, as a plan in parts has it."""
    rows = [np.arange(0, 13), np.arange(13, 40)]
    pieces = [
        Plan({k: v[at] for k, v in plan.columns.items()}, {}, plan.network, ()) for at in rows
    ]
    total = Tally()
    for piece in pieces:
        total.add(Tally.from_json(json.loads(json.dumps(tally(piece).to_json()))))
    assert total.radiates == radiating(plan)
    assert Radiating.from_json(json.loads(json.dumps(radiating(plan).to_json()))) == radiating(plan)


def test_installed_kit_of_any_efficiency() -> None:
    """Two dishes of one size and unlike efficiency are two antennas."""
    given = {
        "fixed_antenna_m": np.array([1.5, 1.5, np.nan]),
        "fixed_efficiency": np.array([0.6, np.nan, np.nan]),
        "fixed_buc_w": np.array([2.0, 2.0, np.nan]),
    }
    plan = planned(network(), 3, **given)
    found = [t for t in known(plan).types if t.antenna_m == 1.5]
    assert [t.efficiency for t in found] == [0.6, 0.65]
    assert [t.eirp_density_dbw_4khz for t in found] == pytest.approx(
        plan.columns["eirp_density_dbw_4khz"][:2].tolist(), abs=1e-6
    )
    assert len([d for d in known(plan).drawings if d.antenna_m == 1.5]) == 2


def test_of_too_many_antennas_the_tightest_are_drawn() -> None:
    count = MOST_DRAWN + 5
    given = {"fixed_antenna_m": np.linspace(1.0, 3.0, count), "fixed_buc_w": np.full(count, 2.0)}
    plan = planned(network(), count, **given)
    margins = sorted(t.off_axis_margin_db for t in known(plan).types)
    drawn = {d.antenna_m for d in known(plan).drawings}
    kept = [t.off_axis_margin_db for t in known(plan).types if t.antenna_m in drawn]
    assert sorted(kept) == margins[:MOST_DRAWN]
    assert summarize(plan)["licence"]["drawings_left_out"] == 5


def test_the_class_of_apsk_is_doubted() -> None:
    out = {"waveform": "DVB-S2", "modcod": "16APSK 3/4"}
    told = planned(network(outbound=out), 2).facts.cautions
    assert any("(outbound) is of a class of emission that begins with D" in text for text in told)
    assert any("the plan assumes G7W" in text for text in told), "nobody gave it"
    given = network(outbound=out, regulation={"masks": ["s728_1"], "emission_class": "g7d"})
    told = planned(given, 2).facts.cautions
    assert any("the network file says G7D" in text for text in told)
    right = network(outbound=out, regulation={"masks": ["s728_1"], "emission_class": "d7w"})
    assert not any("class of emission" in text for text in planned(right, 2).facts.cautions)
