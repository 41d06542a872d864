"""What the sky takes at the sites, at their share of the target's outage."""

from __future__ import annotations

import numpy as np

from siteplan.arrays import Arrays, Column, FloatArray
from siteplan.frozen import frozen
from siteplan.physics.propagation.attenuation import P_RANGE_PCT, Attenuation
from siteplan.planning.link.outage import Shares
from siteplan.planning.link.ways import Inbound, Outbound


@frozen(eq=False)
class Fades(Arrays):
    """Attenuation at the sites' share of the outage, and its parts (n,) [dB]."""

    uplink_attenuation_db: Column
    uplink_gas_db: Column
    uplink_cloud_db: Column
    uplink_rain_db: Column
    uplink_scintillation_db: Column
    downlink_attenuation_db: Column
    downlink_gas_db: Column
    downlink_cloud_db: Column
    downlink_rain_db: Column
    downlink_scintillation_db: Column


def fades(ways: tuple[Outbound, Inbound], split: Shares) -> Fades:
    """Return what the sky takes at the target on both of the sites' paths.

    The uplink at the site's share of the inbound outage, the downlink at its share of the
    outbound one, neither below 0.001 %.
    """
    out, back = ways
    up = back.sky(_in_range(split.inbound_site_outage_pct))
    down = out.sky(_in_range(split.outbound_site_outage_pct))
    return Fades(*_parts(up), *_parts(down))


def _in_range(p_pct: FloatArray) -> FloatArray:
    return np.maximum(p_pct, P_RANGE_PCT[0])


def _parts(sky: Attenuation) -> tuple[FloatArray, ...]:
    return sky.total, sky.gas, sky.cloud, sky.rain, sky.scintillation
