"""Prices by part and kind, and what a pair of antenna and BUC costs."""

from __future__ import annotations

import math

import pytest

from siteplan.network import Network
from siteplan.prices import kind_of, kind_price, kind_prices, prices
from tests.priced import with_prices

NETWORK = Network.model_validate({"satellite": {"longitude_deg": 0.0}})


def test_a_pair_costs_what_antenna_and_buc_do() -> None:
    """1.2 m at 500 a metre, 2 W at 240 a watt."""
    assert kind_price(with_prices(NETWORK), (1.2, 2.0)) == pytest.approx(600 + 480, abs=1e-9)


@pytest.mark.parametrize("without", ["antennas", "bucs"])
def test_a_pair_without_both_its_prices_has_no_cost(without: str) -> None:
    network = with_prices(NETWORK, without=(without,))
    assert math.isnan(kind_price(network, (1.2, 2.0)))


def test_a_pair_of_no_catalogue_has_no_cost() -> None:
    assert math.isnan(kind_price(with_prices(NETWORK), (1.3, 2.0)))


@pytest.mark.parametrize("without", ["mounts", "cables", "costs"])
def test_pairs_are_priced_without_all_else(without: str) -> None:
    network = with_prices(NETWORK, without=(without,))
    assert kind_prices(network, [(1.2, 2.0), (1.8, 2.0)]) == pytest.approx([1080, 1380], abs=1e-9)


def test_a_network_file_without_prices_offers_nothing() -> None:
    offered = prices(NETWORK)
    assert not offered.any_price
    assert not offered.any_code
    assert offered.of("antenna", "1.2").code == ""
    assert math.isnan(offered.of("antenna", "1.2").price)


def test_a_code_alone_is_no_price() -> None:
    table = {"satellite": {"longitude_deg": 0.0}, "costs": {"lnb_code": "LN"}}
    offered = prices(Network.model_validate(table))
    assert (offered.any_price, offered.any_code) == (False, True)


def test_a_price_of_nothing_is_a_price() -> None:
    table = {"satellite": {"longitude_deg": 0.0}, "costs": {"lnb": 0}}
    assert prices(Network.model_validate(table)).any_price


def test_sizes_that_differ_are_two_kinds() -> None:
    assert kind_of(1.2) == kind_of(1.20000000000000001) == "1.2"
    assert kind_of(1.204) != kind_of(1.2)
