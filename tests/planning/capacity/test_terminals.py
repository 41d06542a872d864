"""Types of terminals: parts add up to the whole, whatever the parts, and come back from a file."""

from __future__ import annotations

import json
from dataclasses import asdict

import numpy as np
import pytest

from siteplan.answers.capacity import PoolLoad
from siteplan.answers.transmission import merged
from siteplan.arrays import IntArray
from siteplan.planning.capacity.terminals import Sending
from siteplan.planning.capacity.traffic import added, load_from, loads_of
from tests.planning.capacity.given import Columns, columns, network, sites

N = 400


def made(rng: np.random.Generator) -> tuple[Columns, Sending]:
    """Return result columns of sites of few kinds, and what they send."""
    power = rng.uniform(0.5, 2, N)
    found = columns(
        N,
        antenna_m=rng.choice([1.2, 1.8, 2.4], N),
        buc_w=rng.choice([2.0, 4.0], N),
        power_equivalent_mhz=np.round(rng.uniform(0.1, 0.6, N), 2),
        tx_power_w=power,
        remote_eirp_dbw=rng.uniform(40, 50, N),
        remote_g_t_db_k=rng.uniform(18, 22, N),
        satellite_eirp_dbw=rng.uniform(45, 52, N),
    )
    flux = rng.uniform(-120, -110, N)
    flux[:7] = np.nan
    sent = Sending(np.full(N, 0.65), flux, np.full(N, -88.0), rng.uniform(0, 3, N))
    return found, sent


def loads(known: Columns, sent: Sending, index: IntArray) -> tuple[PoolLoad, ...]:
    some = {name: values[index] for name, values in known.items()}
    names = ("efficiency", "flux_dbw_m2", "sfd_dbw_m2", "raise_db")
    own = Sending(*(getattr(sent, name)[index] for name in names))
    return loads_of(sites(N).take(index), some, network(), sending=own)


def test_parts_add_up_to_the_whole() -> None:
    rng = np.random.default_rng(14)
    known, sent = made(rng)
    whole = loads(known, sent, np.arange(N))
    parts = np.array_split(rng.permutation(N), 23)
    assert added(load for part in parts for load in loads(known, sent, np.sort(part))) == whole
    (load,) = whole
    assert len(load.terminals) == 6
    assert sum(of.sites for of in load.terminals) == N - 7


def test_the_greatest_counts_and_the_strongest_keeps_its_own_flux() -> None:
    known, sent = made(np.random.default_rng(3))
    (load,) = loads(known, sent, np.arange(N))
    of_two_sites = 0
    for of in load.terminals:
        rows = np.flatnonzero(
            (known["antenna_m"] == of.antenna_m) & (known["buc_w"] == of.buc_w)
            & ~np.isnan(sent.flux_dbw_m2)
        )  # fmt: skip
        eirp, raised = known["remote_eirp_dbw"][rows], sent.raise_db[rows]
        assert (of.eirp_dbw, of.faded_eirp_dbw) == (eirp.max(), (eirp + raised).max())
        of_two_sites += of.faded_eirp_dbw < eirp.max() + raised.max()
        feed = known["tx_power_w"][rows].max() * 10**-0.05
        assert of.feed_w == pytest.approx(feed, rel=1e-12)
        taken = known["power_equivalent_mhz"][rows]
        assert of.power_equivalent_mhz == taken.max()
        among = rows[taken == taken.max()]
        assert of.flux_dbw_m2 == sent.flux_dbw_m2[among].max()
        seen = known["satellite_eirp_dbw"][rows]
        assert (of.least_satellite_eirp_dbw, of.satellite_eirp_dbw) == (seen.min(), seen.max())
        assert np.isnan(of.allowed_feed_w)
    assert of_two_sites > 3  # the greatest EIRP and the greatest raise are not of one site


def test_a_load_comes_back_from_a_file() -> None:
    known, sent = made(np.random.default_rng(5))
    (load,) = loads(known, sent, np.arange(N))
    again = load_from(json.loads(json.dumps(asdict(load))))
    assert again == load
    assert again.plus(load).terminals == merged(*load.terminals, *load.terminals)


def test_without_what_they_send_no_terminal_is_counted() -> None:
    known, _ = made(np.random.default_rng(5))
    (load,) = loads_of(sites(N), known, network())
    assert load.terminals == ()
