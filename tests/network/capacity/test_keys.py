"""Traffic and lease: defaults, and what is refused with a remedy."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from siteplan.inputs.network.assumed import assumptions
from siteplan.network import Lease, Network, Traffic


def network(**tables: Any) -> Network:
    return Network.model_validate({"satellite": {"longitude_deg": 1}, **tables})


def test_defaults() -> None:
    found = network()
    assert found.traffic == Traffic()
    traffic = found.traffic
    assert (traffic.outbound_kbit_s, traffic.inbound_kbit_s, traffic.activity) == (256, 64, 0.2)
    assert (traffic.access, traffic.used, traffic.blocking_pct) == ("assigned", 0.7, 1)
    assert (traffic.growth_pct, traffic.sites_growth_pct, traffic.years) == (0, 0, 5)
    assert found.lease == Lease()
    assert (found.lease.guard_pct, found.lease.step_mhz) == (5, 0.1)
    assert found.outbound.level_db == found.inbound.clear_sky_reduction_db == 0


@pytest.mark.parametrize(("access", "used"), [("contention", 0.25), ("circuit", 1.0)])
def test_each_access_may_use_its_own_share_of_a_carrier(access: str, used: float) -> None:
    assert network(traffic={"access": access}).traffic.used == used
    assert network(traffic={"access": access, "utilisation": 0.3}).traffic.used == 0.3


def test_slots_by_chance_carry_no_more_than_they_can() -> None:
    assert network(traffic={"access": "contention", "utilisation": 0.36}).traffic.used == 0.36
    with pytest.raises(ValidationError, match=r"at most 0\.36 of a carrier gets through"):
        network(traffic={"access": "contention", "utilisation": 0.37})


def test_a_carrier_takes_no_more_than_the_saturated_transponder() -> None:
    whole = {"symbol_rate_msps": 30.0, "roll_off": 0.2, "output_backoff_db": 2.0}
    assert network(outbound=whole | {"level_db": 2.0}).outbound.over_share_db == 2.0
    with pytest.raises(ValidationError, match=r"this carrier takes all of it at 2\.00 dB"):
        network(outbound=whole | {"level_db": 2.1})
    with pytest.raises(ValidationError, match="extra"):
        network(inbound={"level_db": 1.0})


def test_what_nobody_gave_is_assumed_where_it_counts() -> None:
    def told(**tables: Any) -> dict[str, str]:
        return {a.key: a.value for a in assumptions(network(**tables))}

    assert told()["traffic.utilisation"] == "0.7"
    assert told(traffic={"access": "contention"})["traffic.utilisation"] == "0.25"
    assert "traffic.blocking_pct" not in told()
    circuit = told(traffic={"access": "circuit"})
    assert circuit["traffic.blocking_pct"] == "1"
    assert "traffic.utilisation" not in circuit
    assert told()["lease.guard_pct"] == "5"
    # Off is no figure.
    assert not {"outbound.level_db", "inbound.clear_sky_reduction_db"} & told().keys()
