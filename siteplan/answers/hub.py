"""What a plan answers of its hub: power, fades, what limits it, antennas, what to ask for."""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import Any, Literal

from siteplan.answers import _Answer
from siteplan.frozen import frozen

#: What sets the range of power control: the network file, or what the amplifier has left.
ControlBy = Literal["network file", "amplifier"]
#: Whether de-icing is to be asked about: yes, no, or not known for want of the hub's place.
Asked = Literal["yes", "no", "not known"]
_DECIMALS = 6


@frozen(eq=False)
class HubAntenna(_Answer):
    """What one size of hub antenna would bring: the inbound margins of the sites with their kit.

    ``buys_db`` is by how much the median lies above that of the hub's own antenna [dB]. ``own``
    marks that one.
    """

    antenna_m: float
    own: bool
    g_t_db_k: float
    median_db: float
    worst_db: float
    buys_db: float


@frozen(eq=False)
class HubResult(_Answer):
    """What one gateway has to give, loses and needs. What is not known is NaN.

    EIRP and ``feed_w`` are of one carrier in clear sky, as far as the amplifier reaches;
    ``needed_hpa_w`` is the rated power that all ``carriers`` need with line loss, back-off and the
    range of power control that is asked for, ``clear_hpa_w`` without that range.
    ``headroom_db`` is what ``hpa_w`` leaves over it, ``short_db`` what it lacks. ``control_db`` is
    the range used, by ``control_by``.

    Percentages are the hub's shares of the sites' outage, of all ``sites`` with kit: the median
    and the greatest, which is the availability lost to the hub. Fades and G/T stand at the medians
    (not below 0.001 %); ``up_left_db`` is what power control leaves of ``up_fade_db``. Of
    ``hub_limited_sites`` the hub limits outbound, and at ``saturated_sites`` of those its fade
    exceeds the range. ``mask_margin_db`` is that of the tightest limit off axis.

    ``amplifiers`` are those at work and those that stand by. ``tracking_loss_db`` is what the
    satellite's daily motion of ``box_deg`` takes from a dish that stands still. ``assumed`` are
    the keys whose default these figures rest on. ``beams`` are those that it serves, where the
    network file has any; of ``also_beams`` the very same hub sends other carriers, which are a
    result of their own.
    """

    name: str
    antenna_m: float
    elevation_deg: float
    carriers: int
    tx_gain_dbi: float
    eirp_dbw: float
    feed_w: float
    tx_loss_db: float
    hpa_backoff_db: float
    clear_hpa_w: float
    needed_hpa_w: float
    hpa_w: float
    headroom_db: float
    short_db: float
    control_asked_db: float
    control_db: float
    control_by: ControlBy
    sites: int
    outbound_pct: float
    outbound_most_pct: float
    inbound_pct: float
    inbound_most_pct: float
    up_fade_db: float
    up_left_db: float
    down_fade_db: float
    g_t_clear_db_k: float
    g_t_faded_db_k: float
    hub_limited_sites: int
    saturated_sites: int
    diversity_km: float
    diversity_angle_deg: float
    mask: str
    mask_margin_db: float
    antennas: tuple[HubAntenna, ...]
    redundancy: str
    amplifiers: int
    standby: int
    box_deg: float
    tracking_loss_db: float
    tracking: bool
    deicing: Asked
    assumed: tuple[str, ...]
    beams: tuple[str, ...] = ()
    also_beams: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Return the answer as plain data; what is not known is None."""
        data = asdict(self)
        antennas = [_plain(each) for each in data.pop("antennas")]
        return {**_plain(data), "antennas": antennas}


def _plain(data: dict[str, Any]) -> dict[str, Any]:
    return {name: _value(value) for name, value in data.items()}


def _value(value: Any) -> Any:
    if not isinstance(value, float):
        return list(value) if isinstance(value, tuple) else value
    return round(value, _DECIMALS) if math.isfinite(value) else None
