"""The keys of contours: a file or an ellipse, levels in their range, one beam."""

from __future__ import annotations

from typing import Any

import pytest

from siteplan.errors import NetworkError
from siteplan.inputs.network.assumed import assumptions
from siteplan.inputs.network.read import network_from_mapping

ELLIPSE = {"lat": 0, "lon": 10, "major_deg": 3, "minor_deg": 2}
DOWN = {"direction": "down"}


def read(*contours: dict[str, Any], **tables: Any) -> Any:
    return network_from_mapping(
        {"satellite": {"longitude_deg": 10}, "contours": list(contours), **tables}
    )


@pytest.mark.parametrize(
    ("keys", "told"),
    [
        (DOWN, r"\[\[contours\]\] no\. 1 has no shape: give file, or an ellipse by lat, lon"),
        (DOWN | ELLIPSE | {"peak": 50, "file": "a.gpkg"}, "has file and lat: give a file, or an"),
        (DOWN | {"file": "a.gpkg"}, "file needs attribute: name the column"),
        (DOWN | {"attribute": "x"} | ELLIPSE | {"peak": 50}, "attribute goes with file"),
        (DOWN | ELLIPSE, "an ellipse needs peak: give the level at its centre"),
        (DOWN | {"lat": 1, "peak": 50}, "has lat without lon and major_deg and minor_deg"),
        (DOWN | {"edge_db": 4, "peak": 50}, "has edge_db without lat and lon and major_deg"),
        (DOWN | ELLIPSE | {"peak": -3}, "peak = -3 is no level of direction = 'down': it may be"),
        ({"direction": "up"} | ELLIPSE | {"peak": 45}, "it may be -30 to 40 dB/K"),
        ({"direction": "across"} | ELLIPSE, 'direction = "across" is not allowed'),
        (DOWN | ELLIPSE | {"peak": 50, "edge_db": 0.2}, r"edge_db = 0\.2 is out of range"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_the_key(keys: dict[str, Any], told: str) -> None:
    with pytest.raises(NetworkError, match=told):
        read(keys)


def test_contours_of_two_beams_are_refused_by_name() -> None:
    one, other = (DOWN | ELLIPSE | {"peak": 50, "beam": b} for b in ("east", "west"))
    with pytest.raises(NetworkError, match="are of the beams 'east', 'west', and there is one"):
        read(one, other)
    assert read(one, one | {"direction": "up", "peak": 2}).beam_names == ("east",)


def test_only_what_an_ellipse_rests_on_is_assumed() -> None:
    of_file = DOWN | {"file": "a.gpkg", "attribute": "x"}
    up = {"direction": "up", "peak": 3, "tilt_deg": 10, **ELLIPSE}
    keys = {a.key for a in assumptions(read(of_file, up))}
    assert {k for k in keys if k.startswith("contours")} == {"contours.2.edge_db"}
    assert "outbound.satellite_eirp_dbw" not in keys  # contours tell it at every site
    assert "inbound.satellite_g_t_db_k" in keys  # SFD stands at this G/T
    neighbours = [{"longitude_deg": 14}]
    keys = {a.key for a in assumptions(read(of_file, neighbours=neighbours))}
    assert "outbound.satellite_eirp_dbw" in keys  # neighbours are told over it
