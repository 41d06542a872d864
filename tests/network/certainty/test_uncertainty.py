"""How far figures may be off: defaults, what is refused, and that they are told as assumed."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from siteplan.inputs.network.assumed import assumptions
from siteplan.network import Network, Uncertainty

DEFAULTS = {
    "eirp_db": 0.5, "g_t_db": 0.5, "sfd_db": 0.5, "gain_db": 0.5,
    "noise_k": 10, "pointing_deg": 0.05, "rain_pct": 30, "pattern_db": 1,
}  # fmt: skip


def test_defaults_are_assumed_and_given_ones_are_not() -> None:
    network = Network.model_validate(
        {"satellite": {"longitude_deg": 0}, "uncertainty": {"rain_pct": 20}}
    )
    assert network.uncertainty.model_dump() == DEFAULTS | {"rain_pct": 20}
    told = {a.key for a in assumptions(network) if a.key.startswith("uncertainty.")}
    assert told == {f"uncertainty.{key}" for key in DEFAULTS if key != "rain_pct"}


@pytest.mark.parametrize("key", DEFAULTS)
def test_no_deviation_is_negative(key: str) -> None:
    with pytest.raises(ValidationError, match="greater than or equal to 0"):
        Uncertainty(**{key: -0.1})
