"""Why nothing fits, and what would mend it: each sentence at its sites and at no other."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from siteplan.messages import english
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.kit.shortfall import Shortfall, raised, told
from siteplan.planning.plan import make_plan
from siteplan.planning.step import text_field
from siteplan.results import Plan

NAN, INF = float("nan"), float("inf")


def many(least_deg: float = 10.0, **changes: Any) -> Shortfall:
    """Return six sites that fall short outbound at their own end, told one by one."""
    n = 6
    flags = {"missing": True, "installed": False, "outbound": True, "hub": False,
             "coarse": False, "reached": True, "doubted": False}  # fmt: skip
    numbers = {"elevation_deg": 40.0, "margin_db": -0.25, "dish_m": 2.4, "buc_w": 3.0,
               "short_db": 1.25, "fade_db": 7.0, "control_db": INF, "required_m": NAN,
               "held_db": 0.0}  # fmt: skip
    arrays = {k: np.broadcast_to(np.array(changes.get(k, v)), n) for k, v in
              (flags | numbers).items()}  # fmt: skip
    return Shortfall(
        floor_deg=max(least_deg, 5.0), least_deg=least_deg, reserve_db=1.0, error_deg=0.7, **arrays
    )


def texts(x: Shortfall) -> list[str]:
    return text_field(told(x), english(), len(x.missing)).tolist()


HALF = np.array([True, False, True, False, False, True])
NEAR = "Nothing in the catalogue meets the target with the reserve: the nearest, 2.4 m with 3 W, is"


def test_the_end_to_blame_is_named() -> None:
    at_site = f"{NEAR} 1.2 dB short outbound, where the sky takes 7.0 dB at the site."
    at_hub = f"{NEAR} 1.2 dB short outbound because of rain at the hub."
    for text, hub in zip(texts(many(hub=HALF)), HALF, strict=True):
        assert text.startswith(at_hub if hub else at_site)


def test_a_site_in_no_beam_is_told_so_and_nothing_else() -> None:
    for text, reached in zip(texts(many(reached=HALF)), HALF, strict=True):
        assert text.startswith(NEAR if reached else "The site lies in no beam")
        assert ("name a beam in the column beam" in text) == (not reached)
        assert "Elevation" not in text


@pytest.mark.parametrize("elevation", [40.0, 9.0, NAN])
@pytest.mark.parametrize("hub", [True, False])
def test_doubtful_coordinates_are_all_that_is_to_be_mended(elevation: float, hub: bool) -> None:
    """What the link lacks is told, and nothing that would mend it for a place nobody is sure of."""
    check = "Check the coordinates before anything else: they look wrong. "
    x = many(doubted=HALF, elevation_deg=elevation, hub=hub, control_db=3.0, required_m=3.0)
    sure = texts(replace(x, doubted=~HALF | HALF))[0]
    for text, doubted in zip(texts(x), HALF, strict=True):
        assert text.startswith(check) == doubted
        assert ("would" in text) == (not doubted)
        assert not doubted or text == sure
    kept = replace(x, missing=np.zeros(6, dtype=bool))
    for found in raised(kept):
        if found.told.key.startswith("no_fit.mend"):
            assert not (found.told.where & HALF).any()


def test_hub_rain_is_never_blamed_on_the_dish() -> None:
    for text, hub in zip(texts(many(hub=HALF)), HALF, strict=True):
        assert ("No antenna up to 30 m would do" in text) == (not hub)
        assert ("Power control at the hub alone would not do" in text) == hub


def test_power_control_that_would_mend_is_told_in_decibels() -> None:
    control = np.where(HALF, 6.26, INF)
    for text, does in zip(texts(many(hub=True, control_db=control)), HALF, strict=True):
        assert ("6.3 dB of uplink power control at the hub would mend" in text) == does
        assert ("Power control at the hub alone would not do" in text) == (not does)


def test_an_elevation_just_under_the_least_does_not_read_as_the_least() -> None:
    found = texts(many(elevation_deg=9.97))
    assert all(text.startswith("Elevation 9.97 deg is under 10 deg") for text in found)


def test_no_power_control_helps_inbound() -> None:
    x = many(hub=True, outbound=HALF, control_db=np.where(HALF, 6.0, INF))
    for text, outbound in zip(texts(x), HALF, strict=True):
        assert ("dB short outbound because of rain at the hub." in text) == outbound
        assert ("dB short inbound because of rain at the hub." in text) == (not outbound)
        assert ("Power control at the hub does not help inbound" in text) == (not outbound)


def test_the_diameter_that_would_do_is_told_whoever_is_to_blame() -> None:
    x = many(hub=HALF, required_m=np.where(HALF, 4.26, NAN))
    for text, does in zip(texts(x), HALF, strict=True):
        assert ("With that BUC some 4.3 m would do." in text) == does


def test_the_diameter_that_would_do_is_never_one_that_was_tried() -> None:
    x = many(required_m=np.array([2.4001, 2.405, 2.44, 2.45, 2.46, 2.94]))
    told = [text.partition("some ")[2].partition(" m would do")[0] for text in texts(x)]
    assert told == ["2.41", "2.41", "2.44", "2.5", "2.5", "3"]


def test_a_miss_by_a_hair_is_told_to_its_first_digit() -> None:
    """Not '0.0 dB short', which reads as if the pair did."""
    x = many(short_db=np.array([0.04, 0.002, 1e-6, 0.949, 1.25, 12.34]))
    told = [text.partition(", is ")[2].partition(" dB short")[0] for text in texts(x)]
    assert told == ["0.04", "0.002", "0.001", "0.9", "1.2", "12.3"]


@pytest.mark.parametrize("hub", [True, False])
def test_kit_that_misses_is_told_at_which_end_and_by_how_much(hub: bool) -> None:
    """Installed kit: below zero the target is missed, above it the reserve."""
    margin = np.array([-0.04, -3.26, -0.0012, 0.96, 0.0, 2.0])
    x = many(missing=False, margin_db=margin, short_db=1 - margin, hub=hub, control_db=3.0)
    found: dict[str, list[str]] = {"margin_negative": [""] * 6, "margin_short": [""] * 6}
    of_kit = [row for row in raised(x) if row.code in found]
    for row in of_kit:
        sentences = text_field([row.told], english(), 6)
        pairs = zip(found[row.code], sentences, strict=True)
        found[row.code] = [" ".join(filter(None, pair)) for pair in pairs]
    why = "because of rain at the hub." if hub else "at the site's end."
    mend = (
        " 3.0 dB of uplink power control at the hub would mend that direction; so would a hub in"
        " a drier place, or a lower target."
    ) * hub
    tail = f"dB outbound {why}{mend}"
    missed = [f"The target is missed by {x} {tail}" for x in ("0.04", "3.3", "0.001")]
    assert found["margin_negative"] == [*missed, "", "", ""]
    under = [f"The margin is {x} dB under the reserve of 1 {tail}" for x in ("0.04", "1")]
    assert found["margin_short"] == ["", "", "", *under, ""]


@pytest.mark.parametrize("outbound", [True, False])
def test_what_stands_is_named_as_such(outbound: bool) -> None:
    for text, stands in zip(texts(many(installed=HALF, outbound=outbound, hub=True)), HALF,
                            strict=True):  # fmt: skip
        assert text.startswith("Nothing beside the installed kit") == stands
        assert text.startswith("Nothing in the catalogue") == (not stands)


def test_sites_with_kit_too_low_or_unseen_have_no_shortfall() -> None:
    x = many(missing=HALF, elevation_deg=np.array([40.0, 40.0, 9.9, 9.9, NAN, NAN]))
    found = texts(x)
    assert found[1] == found[3] == found[4] == ""
    assert found[2].startswith("Elevation 9.90 deg is under 10 deg: no kit is picked.")
    assert found[5].startswith("The satellite is below the horizon.")
    flagged = np.logical_or.reduce([r.told.where for r in raised(x) if r.code == "no_fit"])
    assert flagged.tolist() == [True, False, False, False, False, False]


def test_a_lower_least_elevation_is_advised_only_where_it_would_do() -> None:
    """Under 5 degrees the methods end; over it the pair that was tried must hold the target."""
    margin = np.array([0.0, -3.3, 2.0, 2.0, 0.0, 0.0])
    x = many(elevation_deg=np.array([5.6, 5.6, 4.9, 0.7, 12.0, NAN]), margin_db=margin)
    found = texts(x)
    assert ["or a lower least elevation" in text for text in found] == [True, *[False] * 5]
    assert "a lower least elevation would not" in found[1]
    assert "misses there by 3.3 dB" in found[1]
    assert all("under that the methods do not hold" in text for text in found[2:4])


@pytest.mark.parametrize(("least_deg", "stopped"), [(10, []), (4, [2]), (0, [2, 3])])
def test_under_the_methods_a_site_without_kit_is_stopped(
    least_deg: float, stopped: list[int]
) -> None:
    """Of the sites that the rule lets pass: the place tells the others, and kit may stand there."""
    missing = np.array([True, True, True, True, False, True])
    elevation = np.array([5.6, 12.0, 4.9, 0.7, 0.7, NAN])
    x = many(float(least_deg), missing=missing, elevation_deg=elevation)
    found = [r.told for r in raised(x) if r.code == "below_min_elevation"]
    assert np.flatnonzero(np.logical_or.reduce([t.where for t in found])).tolist() == stopped


def test_the_control_told_mends_the_direction() -> None:
    """Given to the hub, the outbound margin comes out at the reserve."""
    tables: dict[str, Any] = {
        "network": {"availability_pct": 99.9},
        "satellite": {"longitude_deg": 95},
        "hub": {"lat": 1.35, "lon": 103.8, "antenna_m": 7},
        "inbound": {"satellite_eirp_dbw": 52, "satellite_g_t_db_k": 4},
    }
    sites = Sites.at(np.array([-33.9, 28.6, 1.3]), np.array([115.9, 77.2, 110.35]))

    def planned(**hub: Any) -> Plan:
        changed = tables | {"hub": tables["hub"] | hub}
        return make_plan(sites, Network.model_validate(changed))

    plan = planned()
    mended = 0
    for i, text in enumerate(plan.columns["no_fit_reason"]):
        if "dB of uplink power control" not in text:
            continue
        control = float(text.split(" dB of uplink")[0].split()[-1])
        kit = {"fixed_antenna_m": np.array([2.4]), "fixed_buc_w": np.array([3.0])}
        alone = Sites.at(sites.lat[[i]], sites.lon[[i]], **kit)
        changed = tables | {"hub": tables["hub"] | {"power_control_db": control}}
        again = make_plan(alone, Network.model_validate(changed)).columns
        assert again["outbound_margin_db"][0] == pytest.approx(1.0, abs=0.06)  # told to a tenth
        mended += 1
    assert mended >= 1
