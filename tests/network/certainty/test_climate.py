"""How far years lie apart: its default, and what is refused."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from siteplan.network import ClimateTable, Network


def test_absent_and_given() -> None:
    assert Network.model_validate({"satellite": {"longitude_deg": 0}}).climate.ratio == 0.2
    assert ClimateTable(ratio=0.3).ratio == 0.3


@pytest.mark.parametrize("ratio", [0.04, 0.6])
def test_outside_its_range(ratio: float) -> None:
    with pytest.raises(ValidationError, match="than or equal to"):
        ClimateTable(ratio=ratio)
