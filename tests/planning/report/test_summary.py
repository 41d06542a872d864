"""The summary's counts equal counts made another way."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from siteplan.fields import METHODS
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.kit.classes import margin_class
from siteplan.planning.plan import make_plan
from siteplan.planning.report import clouds
from siteplan.planning.report.summary import summarize
from siteplan.planning.report.tally import worst_order, worst_sites
from siteplan.words import class_labels
from tests.planning.beams.two import EAST, WEST, sites_and_network, with_beams


def test_the_fewest_kinds_are_told(tropical: Network, basin: Sites) -> None:
    plan = make_plan(basin, tropical)
    told = summarize(plan)["fewest"]
    assert [found["most_kinds"] for found in told] == [1, 2, 3]
    for found, of in zip(told, plan.facts.fewest, strict=True):
        assert [(k["antenna_m"], k["buc_w"]) for k in found["kinds"]] == list(of.kinds)
        assert sum(k["sites"] for k in found["kinds"]) == found["served"] == of.served
        assert found["of"] == len(basin)
        assert found["area_m2"] == pytest.approx(of.area_m2, abs=0.005)
        assert found["exact"]
        assert "cost" not in found, "no price, no cost"
    priced = tuple(replace(of, cost=1234.567) for of in plan.facts.fewest)
    known = replace(plan, facts=replace(plan.facts, fewest=priced))
    assert [found["cost"] for found in summarize(known)["fewest"]] == [1234.57] * 3


def test_counts(tropical: Network, basin: Sites) -> None:
    plan = make_plan(basin, tropical)
    counts = summarize(plan)["counts"]
    n = len(basin)
    assert sum(counts["margin_class"].values()) == n
    assert sum(counts["antenna_m"].values()) == n
    assert sum(counts["mount"].values()) == n
    open_ = plan.columns["mount_certainty"] == "provisional"
    kinds = plan.columns["mount"][open_].tolist()
    assert counts["provisional_mount"] == {kind: kinds.count(kind) for kind in set(kinds)}
    assert sum(counts["provisional_mount"].values()) == open_.sum() > 0
    assert counts["mount"]["none"] == np.sum(plan.columns["mount"] == "") > 0
    assert counts["margin_class"]["no margin"] == np.isnan(plan.columns["margin_db"]).sum()
    bare = np.isnan(plan.columns["antenna_m"]) | np.isnan(plan.columns["buc_w"])
    tried = bare & ~np.isnan(plan.columns["margin_db"])
    assert counts["margin_class"]["no kit"] == tried.sum() > 0
    assert counts["mount"]["none"] == bare.sum()
    assert counts["antenna_m"]["1.8"] == (plan.columns["antenna_m"] == 1.8).sum()
    unseen = sum("below_horizon" in flags for flags in plan.columns["flags"])
    assert counts["flags"]["below_horizon"] == unseen


def test_the_worst_come_first(tropical: Network, basin: Sites) -> None:
    plan = make_plan(basin, tropical)
    order = worst_sites(plan)
    margin = plan.columns["margin_db"][order]
    unseen = int(np.isnan(margin).sum())
    assert np.isnan(margin[:unseen]).all()
    kit = np.isfinite(plan.columns["antenna_m"][order])
    assert not kit[: int((~kit).sum())].any()
    served = margin[kit]
    assert np.all(np.diff(served) >= 0)
    low = plan.columns["elevation_deg"][order[2:4]]
    worst = summarize(plan)["worst"]
    assert len(worst) == 5
    assert [w["site_id"] for w in worst] == plan.columns["site_id"][order[:5]].tolist()
    told = [None if np.isnan(m) else round(float(m), 1) for m in margin[:5]]
    assert [w["margin_db"] for w in worst] == told
    assert [w["margin_after_reserve_db"] for w in worst] == [
        None if t is None else pytest.approx(t - 1.0, abs=0.051) for t in told
    ]
    # Two that see nothing, two too low, and the least margin of those that are served.
    assert [w["reason"] for w in worst] == [
        *[
            "The satellite is below the horizon. Check the position; where it is right, another"
            " satellite would do."
        ]
        * 2,
        *(
            f"Elevation {el:.2f} deg is under 10 deg: no kit is picked. A satellite that stands"
            " higher here would do, or a lower least elevation where the horizon is free."
            for el in low
        ),
        f"1.2 m with 1 W holds the target with a margin of {told[4]} dB ({told[4] - 1:g} dB after"
        " reserve), limited outbound at the site.",
    ]


def test_unseen_comes_before_without_kit_and_that_before_served() -> None:
    """Whatever the margins are: a pair that was tried in vain may miss by much, or by nothing."""
    nan = np.nan
    columns = {
        "margin_db": np.array([2.0, nan, -30.0, 0.5, nan, 4.0]),
        "antenna_m": np.array([1.2, nan, nan, 1.2, 1.2, nan]),
        "buc_w": np.array([4.0, nan, nan, 4.0, 4.0, 4.0]),
    }
    plan: Any = SimpleNamespace(columns=columns)
    assert worst_order(plan)[0].tolist() == [2, 0, 1, 2, 0, 1]
    assert worst_sites(plan).tolist() == [1, 4, 2, 5, 3, 0]


def test_a_method_is_named_once_and_no_other_is_left_out(tropical: Network) -> None:
    plan = make_plan(Sites.at(np.array([-3.0]), np.array([-60.0])), tropical)
    methods = summarize(plan)["methods"]
    assert set(methods) == {k for k in METHODS if not k.startswith(("cloud,", "adaptive"))}
    assert methods["cloud"] == METHODS[clouds.method(plan.facts)].edition
    assert all(methods[k] == METHODS[k].edition for k in methods if k != "cloud")


def test_classes() -> None:
    labels = class_labels((0.0, 1.0, 3.5), "dB")
    assert labels == ["below 0 dB", "0 to 1 dB", "1 to 3.5 dB", "3.5 dB or more"]
    margins = np.array([-0.1, 0.0, 0.9999999, 3.4, 3.5, 99, np.nan])
    found = margin_class(margins, (0.0, 1.0, 3.5))
    assert found.tolist() == [labels[i] for i in (0, 1, 2, 2, 3, 3)] + [""]
    given = np.array([True, False, True, True, True, False, False])
    found = margin_class(margins, (0.0, 1.0, 3.5), given=given)
    assert found.tolist() == [labels[0], "no kit", *(labels[i] for i in (2, 2, 3)), "no kit", ""]


def test_what_all_sites_share_by_hand() -> None:
    """Two unlike carriers: threshold and loss, occupied band, the carrier's share of the whole.

    Output and input back-off of a carrier lie 10 log(transponder / occupied) deeper than the
    transponder's; the flux is the saturating one less the carrier's input back-off.
    """
    ways = {
        "outbound": {
            "modcod": "QPSK 3/4", "symbol_rate_msps": 6.00005, "roll_off": 0.25,
            "implementation_loss_db": 1.13, "transponder_mhz": 36, "output_backoff_db": 3.5,
            "input_backoff_db": 6.25, "sfd_dbw_m2": -88.5,
        },
        "inbound": {
            "modcod": "QPSK 1/2", "symbol_rate_msps": 0.25613, "roll_off": 0.2,
            "implementation_loss_db": 0.4, "transponder_mhz": 54, "output_backoff_db": 4.25,
            "input_backoff_db": 9.5, "sfd_dbw_m2": -91.0,
        },
    }  # fmt: skip
    network = Network.model_validate({"satellite": {"longitude_deg": 10.0}} | ways)
    plan = make_plan(Sites.at(np.array([45.0]), np.array([7.0])), network)
    told = summarize(plan)["link"]
    assert list(told) == ["outbound", "inbound"]
    for way, threshold_db in (("outbound", 4.03), ("inbound", 1.71)):
        given = ways[way]
        occupied = given["symbol_rate_msps"] * (1 + given["roll_off"])
        share_db = 10 * np.log10(given["transponder_mhz"] / occupied)
        assert told[way] == {
            "required_es_n0_db": round(threshold_db + given["implementation_loss_db"], 2),
            "occupied_mhz": round(occupied, 4),
            "share_output_backoff_db": round(given["output_backoff_db"] + share_db, 2),
            "share_flux_dbw_m2": round(
                given["sfd_dbw_m2"] - given["input_backoff_db"] - share_db, 2
            ),
        }
        assert occupied != round(occupied, 4)


def test_targets_that_are_not_the_networks_are_told_as_a_range(tropical: Network) -> None:
    """The head of the screen shows what sites are planned for, not what none of them has."""
    at = np.array([0.0, 5.0, 10.0]), np.array([10.0, 12.0, 14.0])
    own = Sites.at(*at, availability_pct=np.array([99.2, np.nan, 99.9]))
    asked = tropical.network.availability_pct
    told = summarize(make_plan(own, tropical))["targets_pct"]
    assert told == [min(99.2, asked), 99.9]
    assert "targets_pct" not in summarize(make_plan(Sites.at(*at), tropical))


def test_levels_of_beams_are_not_told_as_the_same_for_all() -> None:
    sites, network = sites_and_network()
    unlike = summarize(make_plan(sites, with_beams(network, WEST, EAST)))["limits"]
    assert (
        "Satellite EIRP, G/T and SFD are those of each site's beam, the same all over it." in unlike
    )
    plain = [{k: v for k, v in beam.items() if k not in ("outbound", "inbound")}
             for beam in (WEST, EAST)]  # fmt: skip
    alike = summarize(make_plan(sites, with_beams(network, *plain)))["limits"]
    assert "Satellite EIRP, G/T and SFD are taken as equal for all sites." in alike


def test_a_site_below_the_horizon_is_not_counted_as_in_no_beam() -> None:
    """Counts of beams agree with the verdict's own: out of view is one reason, no beam another."""
    _, network = sites_and_network()
    at = np.array([-5.5, -30.0, -5.0]), np.array([-66.5, -60.0, 120.0])
    made = make_plan(Sites.at(*at), with_beams(network, WEST))
    told = summarize(made)
    assert [flags.split(";")[0] for flags in made.columns["flags"][1:]] == [
        "outside_beam", "below_horizon",
    ]  # fmt: skip
    assert told["in_no_beam"] == told["counts"]["flags"]["outside_beam"] == 1
    assert told["beams"] == {"west": {"sites": 1, "served": told["served"]}}
