"""Keys of the hub: ranges, lists, and a second hub only where its gain is known."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from siteplan.inputs.network.assumed import assumptions
from siteplan.network import Network


def network(hub: dict[str, Any], **tables: Any) -> Network:
    return Network.model_validate({"satellite": {"longitude_deg": 0}, "hub": hub} | tables)


def test_defaults() -> None:
    hub = network({}).hub
    assert (hub.tx_loss_db, hub.hpa_w, hub.hpa_backoff_db, hub.carriers) == (1, None, 3, 1)
    assert (hub.diversity_km, hub.diversity_bearing_deg, hub.antennas_m) == (None, None, ())
    assert (hub.redundancy, hub.snow) == ("1:0", None)
    assert network({}).satellite.station_keeping_deg is None


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("tx_loss_db", 10.1), ("hpa_w", 0.9), ("hpa_w", 5001), ("hpa_backoff_db", -1),
        ("carriers", 0), ("carriers", 101), ("carriers", 1.5), ("diversity_km", 51),
        ("diversity_bearing_deg", 361), ("redundancy", "2:1"), ("antennas_m", [0.2]),
        ("antennas_m", [36]),
    ],
)  # fmt: skip
def test_out_of_range_is_refused(key: str, value: Any) -> None:
    with pytest.raises(ValidationError, match=key):
        network({key: value})


@pytest.mark.parametrize(
    ("way", "key", "ghz"), [("outbound", "uplink_ghz", 6.0), ("inbound", "downlink_ghz", 4.0)]
)
def test_a_second_hub_out_of_its_band_names_key_and_mend(way: str, key: str, ghz: float) -> None:
    told = rf"diversity_km = 12.* \[{way}\] {key} = {ghz:g} lies outside: take diversity_km out"
    with pytest.raises(ValidationError, match=told):
        network({"diversity_km": 12}, **{way: {key: ghz}})
    for none in (None, 0):
        assert network({"diversity_km": none}, **{way: {key: ghz}}).hub.diversity_km == none


def test_the_amplifiers_defaults_are_assumed_where_one_is_given() -> None:
    def assumed(hub: dict[str, Any]) -> set[str]:
        return {a.key for a in assumptions(network(hub)) if a.key.startswith("hub.")}

    keys = {f"hub.{k}" for k in ("tx_loss_db", "hpa_backoff_db", "carriers")}
    assert not keys & assumed({})
    assert keys <= assumed({"hpa_w": 40})
    assert assumed({"hpa_w": 40, "carriers": 2}) & keys == keys - {"hub.carriers"}
    assert not {"hub.redundancy", "hub.antennas_m", "hub.snow"} & assumed({"hpa_w": 40})
