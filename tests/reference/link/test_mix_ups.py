"""Each mix-up of a budget's inputs moves a figure that the plan is compared in.

So `test_four_paths` would notice it in the plan: every wrong reading is tried on the arithmetic,
and must lead away from the right one by thousands of times the comparison's tolerance.
"""

from __future__ import annotations

import copy
from typing import Any

import pytest

from tests.reference.link.by_hand import Budget, Setup, Sky, Spot, Tables, radiating_k, sight, sky
from tests.reference.link.networks import SETUPS, choice

#: What any mix-up moves at the least, in some figure [dB].
NOTICED_DB = 0.005

Change = Any


def swapped(one: str, other: str) -> Change:
    """Exchange two figures of the network, given as ``table.key``."""
    (table_a, key_a), (table_b, key_b) = one.split("."), other.split(".")

    def change(setup: Setup) -> tuple[Setup, Tables]:
        tables = copy.deepcopy(setup.tables)
        a, b = tables[table_a], tables[table_b]
        a[key_a], b[key_b] = b[key_b], a[key_a]
        return setup._replace(tables=tables), {}

    return change


def without(table: str, key: str) -> Change:
    """Leave out a figure of the network."""

    def change(setup: Setup) -> tuple[Setup, Tables]:
        tables = setup.tables | {table: setup.tables[table] | {key: 0.0}}
        return setup._replace(tables=tables), {}

    return change


def other_sky(at_hub: bool, wrong: Any) -> Change:
    """Take another sky at one end: ``wrong`` gets the arguments of ``sky`` by name."""

    def change(setup: Setup) -> tuple[Setup, Tables]:
        def found(spot: Spot, *rest: Any) -> Sky:
            names = ("seen", "ghz", "polarization", "p_pct", "dish")
            if (spot == setup.hub) != at_hub:
                return sky(spot, *rest)
            result: Sky = wrong(setup, spot=spot, **dict(zip(names, rest, strict=True)))
            return result

        return setup, {"sky": found}

    return change


def small_dish(_: Setup, **given: Any) -> Sky:
    return sky(**(given | {"dish": (1.0, 0.65)}))


def no_tilt(_: Setup, **given: Any) -> Sky:
    return sky(**(given | {"polarization": "circular"}))


def no_gas(_: Setup, **given: Any) -> Sky:
    return sky(**given)._replace(gas=0.0)


def skew_of_the_other(setup: Setup, **given: Any) -> Sky:
    there = setup.sites[0].spot if given["spot"] == setup.hub else setup.hub
    skew = sight(there, setup.tables["satellite"]["longitude_deg"]).skew_deg
    return sky(**(given | {"seen": given["seen"]._replace(skew_deg=skew)}))


def climate_of_the_other(setup: Setup, **given: Any) -> Sky:
    there = setup.sites[0].spot if given["spot"] == setup.hub else setup.hub
    return sky(**(given | {"spot": there}))


def one_warmth(at_hub: bool) -> Change:
    """Take the radiating temperature of the other end."""

    def change(setup: Setup) -> tuple[Setup, Tables]:
        there = setup.sites[0].spot if at_hub else setup.hub

        def found(spot: Spot) -> float:
            return radiating_k(there if (spot == setup.hub) == at_hub else spot)

        return setup, {"warmth": found}

    return change


PER_WAY = (
    "uplink_ghz", "downlink_ghz", "uplink_polarization", "downlink_polarization",
    "symbol_rate_msps", "roll_off", "implementation_loss_db", "satellite_eirp_dbw",
    "satellite_g_t_db_k", "sfd_dbw_m2", "transponder_mhz", "input_backoff_db",
    "output_backoff_db", "ci_db",
)  # fmt: skip
ENDS = {"hub": True, "site": False}
MIX_UPS: dict[str, Change] = {
    **{f"{key} of the ways": swapped(f"outbound.{key}", f"inbound.{key}") for key in PER_WAY},
    **{
        f"{way} {kind}, up and down": swapped(f"{way}.uplink_{kind}", f"{way}.downlink_{kind}")
        for way in ("outbound", "inbound")
        for kind in ("ghz", "polarization")
    },
    "feed losses": swapped("terminal.tx_loss_db", "terminal.rx_loss_db"),
    "pointing and feed loss": swapped("terminal.tx_loss_db", "terminal.pointing_loss_db"),
    "receivers' noise": swapped("terminal.lnb_noise_k", "hub.lna_noise_k"),
    "noise of LNB and spillover": swapped("terminal.lnb_noise_k", "terminal.spillover_noise_k"),
    "no wet dish": without("terminal", "wet_loss_db"),
    "no power control": without("hub", "power_control_db"),
    "shares of the ends": lambda setup: (setup._replace(share=1 - setup.share), {}),
    **{f"{end}: 1 m dish": other_sky(at, small_dish) for end, at in ENDS.items()},
    **{f"{end}: no tilt": other_sky(at, no_tilt) for end, at in ENDS.items()},
    **{f"{end}: no gas": other_sky(at, no_gas) for end, at in ENDS.items()},
    **{f"{end}: skew": other_sky(at, skew_of_the_other) for end, at in ENDS.items()},
    **{f"{end}: climate": other_sky(at, climate_of_the_other) for end, at in ENDS.items()},
    **{f"{end}: radiating temperature": one_warmth(at) for end, at in ENDS.items()},
}


@pytest.mark.parametrize("band", ["ku", "ka"])
@pytest.mark.parametrize("mix_up", MIX_UPS)
def test_a_mix_up_would_be_noticed(mix_up: str, band: str) -> None:
    moved = {}
    for name in (f"{band}, hub", f"{band}, site"):
        setup = SETUPS[name]
        wrong, sources = MIX_UPS[mix_up](setup)
        for site in setup.sites:
            right, _ = choice(setup, site)
            figures = Budget(wrong, site, right.dish, right.buc, **sources).figures()
            for field, by_hand in right.figures().items():
                moved[name, site, field] = abs(figures[field] - by_hand)
    assert max(moved.values()) > NOTICED_DB
