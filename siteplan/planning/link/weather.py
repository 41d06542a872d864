"""The sky at both ends: clear, and faded at each end's own share of an outage."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from siteplan.arrays import Arrays, Column, FloatArray, IntArray, is_everyone, stretch, take
from siteplan.physics.propagation.attenuation import (
    P_RANGE_PCT,
    Attenuation,
    SlantPath,
    averaging,
    parts,
)
from siteplan.physics.propagation.scintillation import fade_factor
from siteplan.planning.link.ends import Dish, Links
from siteplan.planning.link.outage import shares_pct


def clear(path: SlantPath) -> Attenuation:
    """Return clear sky: gas only, at its 5 % value."""
    zero = np.zeros_like(path.gas_db)
    return Attenuation(path.gas_db, zero, zero, zero)


class Weather:
    """Attenuation at both ends, each at its own share of outages ``p_pct`` (n,) [%].

    Each part is worked out when it is first asked for: a direction asks only for its own. The
    sites' parts are without scintillation, which depends on the dish: ``factor`` is what its
    standard deviation is multiplied by.
    """

    def __init__(self, link: Links, p_pct: FloatArray) -> None:
        self._link = link
        self._p_site, self._p_hub = shares_pct(link.network, p_pct)

    def take(self, index: IntArray) -> Weather:
        """Return the weather of the sites at ``index`` (k,), distinct and rising."""
        if is_everyone(index, len(self._link)):
            return self
        part = Weather.__new__(Weather)
        part.__dict__.update(
            up=take(self.up, index),
            down=take(self.down, index),
            factor=self.factor[index],
            hub_up_fade_db=self.hub_up_fade_db[index],
            hub_down=take(self.hub_down, index),
        )
        return part

    @cached_property
    def up(self) -> Attenuation:
        """The sites' uplink, inbound (n,)."""
        return parts(self._link.site.up, self._p_site, np.zeros(1))

    @cached_property
    def down(self) -> Attenuation:
        """The sites' downlink, outbound (n,)."""
        return parts(self._link.site.down, self._p_site, np.zeros(1))

    @cached_property
    def factor(self) -> FloatArray:
        """What the standard deviation of scintillation is multiplied by (n,)."""
        return fade_factor(np.clip(self._p_site, *P_RANGE_PCT))

    @cached_property
    def hub_up_fade_db(self) -> FloatArray:
        """What is left of the hub's uplink fade after power control (n,)."""
        hub = self._link.hub
        clear_db = 0.0 if hub.up is None else hub.up.gas_db
        rise = self._at_hub(hub.up, hub.up_sigma_db).total - clear_db
        return np.maximum(rise - self._link.network.hub.power_control_db, 0.0)

    @cached_property
    def hub_down(self) -> Attenuation:
        """The hub's downlink, inbound (n,)."""
        return self._at_hub(self._link.hub.down, self._link.hub.down_sigma_db)

    def _at_hub(self, path: SlantPath | None, sigma_db: FloatArray) -> Attenuation:
        """Return one path's attenuation at the hub, for each site's outage (n,)."""
        n = len(self._link)
        if path is None:
            zero = np.zeros(n)
            return Attenuation(zero, zero, zero, zero)
        if self._link.network.rules.hub_outage_share == 0:  # the hub's rain is not counted
            return stretch(clear(path), n)
        return parts(stretch(path, n), self._p_hub, sigma_db)


def weather(link: Links, p_pct: FloatArray) -> Weather:
    """Return the attenuation at both ends for outages ``p_pct`` (n,) [%] shared between them."""
    return Weather(link, p_pct)


def hub_clear(link: Links) -> Attenuation:
    """Return the hub's downlink attenuation in clear sky, arrays (1,)."""
    if link.hub.down is None:
        zero = np.zeros(1)
        return Attenuation(zero, zero, zero, zero)
    return clear(link.hub.down)


def with_scintillation(
    path: SlantPath, dry: Attenuation, factor: FloatArray, dish: Dish
) -> Attenuation:
    """Return attenuation (n,) completed by the scintillation behind a dish."""
    sigma = averaging(path, dish.diameter_m, dish.efficiency)
    return replace(dry, scintillation=factor * sigma)


@dataclass(frozen=True, eq=False)
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


def fades(link: Links, at: Weather, dish: Dish) -> Fades:
    """Return what the sky takes at the target on both of the sites' paths."""
    up = with_scintillation(link.site.up, at.up, at.factor, dish)
    down = with_scintillation(link.site.down, at.down, at.factor, dish)
    return Fades(*_parts(up), *_parts(down))


def _parts(sky: Attenuation) -> tuple[FloatArray, ...]:
    return sky.total, sky.gas, sky.cloud, sky.rain, sky.scintillation
