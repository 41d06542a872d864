"""Both directions of every site: the budget's terms, in clear sky and in weather.

Outbound is hub to remote, inbound remote to hub. Rain takes one end at a time: the site faded
with the hub clear, or the hub faded with the site clear; the outage is shared between them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import is_everyone, stretch, take
from siteplan.errors import NetworkError
from siteplan.network import Carrier, Hub, Network
from siteplan.physics.angles.geometry import (
    LookAngles,
    free_space_loss_db,
    look_angles,
    spreading_loss_db_m2,
)
from siteplan.physics.propagation.attenuation import (
    P_RANGE_PCT,
    Attenuation,
    SlantPath,
    averaging,
    parts,
    polarization_tilt_deg,
    slant_path,
)
from siteplan.physics.propagation.climate import Climate, site_climate, topographic_altitude_m
from siteplan.physics.propagation.scintillation import fade_factor
from siteplan.physics.radio import noise
from siteplan.physics.radio.antennas import gain_dbi
from siteplan.physics.radio.carrier import CarrierPlan, es_n0_db, share_backoff_db
from siteplan.physics.radio.waveforms import find_modcod, required_es_n0_db

FloatArray = NDArray[np.float64]
#: A number, or one a site (n,).
Level = float | FloatArray
IntArray = NDArray[np.intp]

#: Distance from a hub that the network file does not place [km]: some 30 degrees of elevation.
UNPLACED_HUB_KM = 38500.0


class Dish(NamedTuple):
    """An antenna: diameter [m] and aperture efficiency, numbers or one a site (n,)."""

    diameter_m: Level
    efficiency: Level


@dataclass(frozen=True)
class SiteEnd:
    """The sites' end of the link, arrays (n,), whatever the kit.

    ``up`` is the path at the inbound uplink frequency, ``down`` at the outbound downlink's.
    """

    up: SlantPath
    down: SlantPath
    radiating_k: FloatArray
    spreading_db_m2: FloatArray
    free_space_db: FloatArray


@dataclass(frozen=True)
class HubEnd:
    """The hub's end: arrays (1,). The paths are None where the network file gives no place."""

    up: SlantPath | None
    down: SlantPath | None
    up_sigma_db: FloatArray
    down_sigma_db: FloatArray
    radiating_k: FloatArray
    free_space_db: FloatArray
    gain_dbi: float
    elevation_deg: float


@dataclass(frozen=True)
class Links:
    """All that the two directions need but the kit: thresholds, carriers and both ends."""

    network: Network
    outbound: CarrierPlan
    inbound: CarrierPlan
    outbound_required_db: float
    inbound_required_db: float
    site: SiteEnd
    hub: HubEnd

    def take(self, index: IntArray) -> Links:
        """Return the links of the sites at ``index`` (k,), distinct and rising."""
        if is_everyone(index, len(self)):
            return self
        return replace(self, site=take(self.site, index))

    def __len__(self) -> int:
        """Return the number of sites."""
        return len(self.site.free_space_db)


def required_db(table: str, carrier: Carrier) -> float:
    """Return the Es/N0 [dB] that a direction needs, implementation loss included.

    Raises
    ------
    NetworkError
        If the MODCOD is not one of the waveform's.
    """
    loss = carrier.implementation_loss_db
    if carrier.es_n0_db is not None:
        return carrier.es_n0_db + loss
    if carrier.eb_n0_db is not None:
        return required_es_n0_db(
            carrier.eb_n0_db, implementation_loss_db=loss, bits_per_symbol=carrier.bits_per_symbol
        )
    try:
        modcod = find_modcod(carrier.waveform, carrier.modcod or "")
    except ValueError as error:
        raise NetworkError(
            f"{error}.", where=f"network.toml, [{table}] modcod", fix="Use one of these names."
        ) from None
    return required_es_n0_db(modcod, implementation_loss_db=loss)


def carrier_plan(carrier: Carrier) -> CarrierPlan:
    """Return a direction's carrier as the physics takes it."""
    return CarrierPlan(
        uplink_ghz=carrier.uplink_ghz,
        downlink_ghz=carrier.downlink_ghz,
        symbol_rate_sps=carrier.symbol_rate_msps * 1e6,
        satellite_eirp_dbw=carrier.satellite_eirp_dbw,
        satellite_g_t_db_k=carrier.satellite_g_t_db_k,
        sfd_dbw_m2=carrier.sfd_dbw_m2,
        share_backoff_db=share_backoff_db(
            carrier.output_backoff_db, carrier.transponder_mhz, carrier.occupied_mhz
        ),
        backoff_gap_db=carrier.input_backoff_db - carrier.output_backoff_db,
        ci_db=carrier.ci_db,
    )


def site_end(network: Network, angles: LookAngles, climate: Climate) -> SiteEnd:
    """Return the sites' end of the link from their look angles and climate (n,)."""
    out, back = network.outbound, network.inbound
    return SiteEnd(
        up=_path(back.uplink_ghz, back.uplink_polarization, angles, climate),
        down=_path(out.downlink_ghz, out.downlink_polarization, angles, climate),
        radiating_k=noise.mean_radiating_temperature_k(climate.temperature_k),
        spreading_db_m2=spreading_loss_db_m2(angles.slant_range_km),
        free_space_db=free_space_loss_db(angles.slant_range_km, out.downlink_ghz),
    )


def _path(
    frequency_ghz: float, polarization: str, angles: LookAngles, climate: Climate
) -> SlantPath:
    tilt = polarization_tilt_deg(polarization, angles.skew_deg)
    return slant_path(frequency_ghz, angles.elevation_deg, tilt, climate)


def hub_end(network: Network) -> HubEnd:
    """Return the hub's end of the link.

    Raises
    ------
    NetworkError
        If the hub does not see the satellite.
    """
    hub, out, back = network.hub, network.outbound, network.inbound
    gain = float(gain_dbi(hub.antenna_m, hub.efficiency, back.downlink_ghz))
    none = np.zeros(1)
    if hub.lat is None or hub.lon is None:
        loss = free_space_loss_db(np.full(1, UNPLACED_HUB_KM), back.downlink_ghz)
        unknown = noise.mean_radiating_temperature_k(np.full(1, np.nan))
        return HubEnd(None, None, none, none, unknown, loss, gain, float("nan"))
    angles, climate = _hub_place(hub, network.satellite.longitude_deg)
    up = _path(out.uplink_ghz, out.uplink_polarization, angles, climate)
    down = _path(back.downlink_ghz, back.downlink_polarization, angles, climate)
    return HubEnd(
        up,
        down,
        averaging(up, hub.antenna_m, hub.efficiency),
        averaging(down, hub.antenna_m, hub.efficiency),
        noise.mean_radiating_temperature_k(climate.temperature_k),
        free_space_loss_db(angles.slant_range_km, back.downlink_ghz),
        gain,
        float(angles.elevation_deg[0]),
    )


def _hub_place(hub: Hub, satellite_lon_deg: float) -> tuple[LookAngles, Climate]:
    """Return the hub's look angles and climate, arrays (1,)."""
    lat, lon = np.array([hub.lat], dtype=float), np.array([hub.lon], dtype=float)
    altitude_m = topographic_altitude_m(lat, lon)
    angles = look_angles(lat, lon, altitude_m, satellite_lon_deg)
    if np.isnan(angles.elevation_deg[0]):
        below = -float(angles.geometric_elevation_deg[0])
        raise NetworkError(
            f"the hub does not see the satellite at {satellite_lon_deg:g} deg: it is"
            f" {below:.1f} deg below the horizon.",
            where="network.toml, [hub] lat and lon",
            fix="Check their signs and [satellite] longitude_deg (east positive).",
        )
    return angles, site_climate(lat, lon, altitude_m / 1000)


def links(network: Network, angles: LookAngles, climate: Climate, hub: HubEnd) -> Links:
    """Return the links of sites (n,) to the hub, ready for any kit."""
    return Links(
        network,
        carrier_plan(network.outbound),
        carrier_plan(network.inbound),
        required_db("outbound", network.outbound),
        required_db("inbound", network.inbound),
        site_end(network, angles, climate),
        hub,
    )


def clear(path: SlantPath) -> Attenuation:
    """Return clear sky: gas only, at its 5 % value."""
    zero = np.zeros_like(path.gas_db)
    return Attenuation(path.gas_db, zero, zero, zero)


def shares_pct(network: Network, p_pct: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the sites' and the hub's share of outages ``p_pct`` (n,) [%]."""
    hub = network.rules.hub_outage_share * p_pct
    return p_pct - hub, hub


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


def remote_g_t_db_k(link: Links, dish: Dish, sky: Attenuation, wet_db: float) -> FloatArray:
    """Return the remotes' G/T (n,) [dB/K] under a sky (n,), with the loss of a wet dish."""
    t = link.network.terminal
    system = noise.system_noise_k(
        noise.sky_noise_k(sky.absorption, link.site.radiating_k),
        t.spillover_noise_k,
        t.rx_loss_db,
        t.lnb_noise_k,
        wet_loss_db=wet_db,
    )
    gain = gain_dbi(dish.diameter_m, dish.efficiency, link.outbound.downlink_ghz)
    return noise.g_over_t_db(gain, t.rx_loss_db, system, wet_loss_db=wet_db)


def remote_eirp_dbw(link: Links, dish: Dish, buc_dbw: Level) -> FloatArray:
    """Return the remotes' clear-sky EIRP (n,) [dBW] from the BUC's power after back-off [dBW]."""
    t = link.network.terminal
    gain = gain_dbi(dish.diameter_m, dish.efficiency, link.inbound.uplink_ghz)
    return np.asarray(buc_dbw + gain - t.tx_loss_db - t.pointing_loss_db)


def outbound_es_n0_db(
    link: Links, dish: Dish, sky: Attenuation, hub_fade_db: Level, *, wet_db: float = 0.0
) -> FloatArray:
    """Return the outbound Es/(N0+I0) (n,) [dB] under a sky at the sites and a fade at the hub."""
    loss = link.site.free_space_db + sky.total + link.network.terminal.pointing_loss_db
    return es_n0_db(
        link.outbound,
        link.outbound.share_flux_dbw_m2 - hub_fade_db,
        loss,
        remote_g_t_db_k(link, dish, sky, wet_db),
        uplink_fade_db=hub_fade_db,
    )


def inbound_es_n0_db(
    link: Links,
    eirp_dbw: FloatArray,
    sky: Attenuation,
    hub_sky: Attenuation,
    *,
    wet_db: float = 0.0,
) -> FloatArray:
    """Return the inbound Es/(N0+I0) (n,) [dB] under a sky at the sites and one at the hub."""
    hub = link.hub
    system = noise.system_noise_k(
        noise.sky_noise_k(hub_sky.absorption, hub.radiating_k),
        0.0,
        0.0,
        link.network.hub.lna_noise_k,
    )
    fade = sky.total - link.site.up.gas_db + wet_db
    return es_n0_db(
        link.inbound,
        eirp_dbw - link.site.spreading_db_m2 - sky.total - wet_db,
        hub.free_space_db + hub_sky.total,
        noise.g_over_t_db(hub.gain_dbi, 0.0, system),
        uplink_fade_db=fade,
    )


def outbound_margin_db(link: Links, dish: Dish, at: Weather) -> FloatArray:
    """Return the outbound margin (n,) [dB]: the worse of a faded site and a faded hub."""
    wet = link.network.terminal.wet_loss_db
    faded = with_scintillation(link.site.down, at.down, at.factor, dish)
    site = outbound_es_n0_db(link, dish, faded, 0.0, wet_db=wet)
    hub = outbound_es_n0_db(link, dish, clear(link.site.down), at.hub_up_fade_db)
    return np.minimum(site, hub) - link.outbound_required_db


def inbound_margin_db(link: Links, dish: Dish, buc_dbw: Level, at: Weather) -> FloatArray:
    """Return the inbound margin (n,) [dB]: the worse of a faded site and a faded hub."""
    return inbound_margins_db(link, dish, [buc_dbw], at)[0]


def inbound_margins_db(
    link: Links, dish: Dish, bucs_dbw: Sequence[Level], at: Weather
) -> list[FloatArray]:
    """Return the inbound margin (n,) [dB] with each of several BUCs behind one dish."""
    wet = link.network.terminal.wet_loss_db
    faded = with_scintillation(link.site.up, at.up, at.factor, dish)
    sky, hub_sky = clear(link.site.up), hub_clear(link)
    margins = []
    for power in bucs_dbw:
        eirp = remote_eirp_dbw(link, dish, power)
        site = inbound_es_n0_db(link, eirp, faded, hub_sky, wet_db=wet)
        hub = inbound_es_n0_db(link, eirp, sky, at.hub_down)
        margins.append(np.minimum(site, hub) - link.inbound_required_db)
    return margins
