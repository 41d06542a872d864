"""What all sites share: dates, the floor of elevation, and what is wrong with the cloud maps."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path
from typing import Any

import pytest

from siteplan.errors import MapsError, NetworkError
from siteplan.network import Network
from siteplan.physics.propagation.mapped.cloud_files import EXPECTED
from siteplan.planning.setting import setting, with_cloud_maps

TODAY = dt.date(2026, 6, 1)


def network(**tables: Any) -> Network:
    return Network.model_validate({"satellite": {"longitude_deg": 10.0}} | tables)


def test_a_refusal_of_cloud_maps_keeps_what_where_and_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "readme.txt").write_text("no maps\n")
    with pytest.raises(MapsError, match=re.escape(EXPECTED)) as caught:
        setting(network(methods={"cloud_maps": str(tmp_path)}), TODAY)
    assert caught.value.what == "of the five cloud maps those for 5, 10, 20, 30, 50 % are missing."
    assert caught.value.where == str(tmp_path)
    assert caught.value.fix == f"Expected names: {EXPECTED}."


def test_a_pattern_whose_rows_nobody_read_is_refused() -> None:
    named = {"pattern": "file", "pattern_file": "dish.csv"}
    for place, tables in (
        ("[[antennas]] no. 2", {"antennas": [{"diameter_m": 1}, {"diameter_m": 2, **named}]}),
        ("[hub]", {"hub": named}),
    ):
        told = f'network.toml, {place} pattern_file: pattern = "file" has no rows'
        with pytest.raises(NetworkError, match=re.escape(told)):
            setting(network(**tables), TODAY)


@pytest.mark.parametrize(("rule", "floor"), [(0, 5.0), (4.9, 5.0), (5.1, 5.1), (20, 20.0)])
def test_no_kit_is_picked_below_the_rule_or_the_methods(rule: float, floor: float) -> None:
    """The methods of gas and scintillation hold from 5 degrees on (P.676, P.618)."""
    shared = setting(network(rules={"min_elevation_deg": rule}), TODAY)
    assert shared.floor_deg == floor


def test_the_date_is_the_network_s_else_today() -> None:
    assert setting(network(), TODAY).date == TODAY
    given = setting(network(network={"date": "2027-02-03"}), TODAY)
    assert (given.date, given.install_date) == (dt.date(2027, 2, 3), dt.date(2027, 2, 3))
    later = network(network={"date": "2027-02-03", "install_date": "2027-09-08"})
    assert setting(later, TODAY).install_date == dt.date(2027, 9, 8)


def test_the_network_names_the_maps_that_are_in_use() -> None:
    shared = setting(network(methods={"cloud_maps": ""}), TODAY)
    assert shared.network.methods.cloud_maps == ""
    assert not shared.clouds.current
    plain = network()
    assert with_cloud_maps(plain, plain.methods.cloud_maps) is plain
    named = with_cloud_maps(plain, "some place")
    assert named.methods.cloud_maps == "some place"
    assert named.satellite == plain.satellite
