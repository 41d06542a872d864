"""Both ends of the link: the sites', the hub's, the carriers between them, and the kit judged.

Outbound is hub to remote, inbound remote to hub.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import FloatArray, IntArray, is_everyone, take
from siteplan.errors import NetworkError
from siteplan.network import Carrier, Hub, Network
from siteplan.physics.angles.geometry import (
    LookAngles,
    free_space_loss_db,
    look_angles,
    spreading_loss_db_m2,
)
from siteplan.physics.propagation.attenuation import (
    SlantPath,
    averaging,
    polarization_tilt_deg,
    slant_path,
)
from siteplan.physics.propagation.climate import Climate, site_climate, topographic_altitude_m
from siteplan.physics.propagation.cloud_maps import CloudMaps
from siteplan.physics.radio import noise
from siteplan.physics.radio.antennas import gain_dbi
from siteplan.physics.radio.carrier import CarrierPlan, share_backoff_db
from siteplan.physics.radio.waveforms import find_modcod, required_es_n0_db

#: A number, or one a site (n,).
Level = float | FloatArray

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


@dataclass(frozen=True)
class Kit:
    """The kit that each site is judged with (n,).

    ``antenna_m`` and ``buc_w`` are NaN where nothing was picked; ``dish_m``, ``efficiency``,
    ``offset_deg``, ``tried_w`` and ``buc_dbw`` are what the margins are computed with: the kit,
    or the largest pair of the catalogue where there is none.
    """

    antenna_m: FloatArray
    buc_w: FloatArray
    source: NDArray[np.object_]
    dish_m: FloatArray
    efficiency: FloatArray
    offset_deg: FloatArray
    tried_w: FloatArray
    buc_dbw: FloatArray

    @property
    def dish(self) -> Dish:
        """The dish of each site, for the budget."""
        return Dish(self.dish_m, self.efficiency)


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


def lower_ghz(network: Network) -> float:
    """Return the lower of the remotes' two frequencies [GHz], whose beam is the wider."""
    return min(network.outbound.downlink_ghz, network.inbound.uplink_ghz)


def hub_end(network: Network, clouds: CloudMaps) -> HubEnd:
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
    angles, climate = _hub_place(hub, network.satellite.longitude_deg, clouds)
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


def _hub_place(hub: Hub, satellite_lon_deg: float, clouds: CloudMaps) -> tuple[LookAngles, Climate]:
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
    return angles, site_climate(lat, lon, altitude_m / 1000, clouds)


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
