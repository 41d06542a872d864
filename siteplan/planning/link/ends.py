"""Both ends of the link: the sites', the hub's, the carriers between them, and the kit judged.

Outbound is hub to remote, inbound remote to hub.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import FloatArray, IntArray, at_sites, is_everyone, take
from siteplan.errors import NetworkError
from siteplan.frozen import frozen
from siteplan.network import Carrier, Network
from siteplan.physics.angles.geometry import (
    LookAngles,
    free_space_loss_db,
    look_angles,
    spreading_loss_db_m2,
)
from siteplan.physics.propagation.attenuation import (
    Attenuation,
    SlantPath,
    averaging,
    behind,
    polarization_tilt_deg,
    slant_path,
    without_climate,
)
from siteplan.physics.propagation.climate import Climate, site_climate, topographic_altitude_m
from siteplan.physics.propagation.diversity import Baseline
from siteplan.physics.propagation.mapped.cloud_maps import CloudMaps
from siteplan.physics.propagation.rain import rain_probability_pct
from siteplan.physics.radio import noise
from siteplan.physics.radio.antennas import gain_dbi, wavelength_m
from siteplan.physics.radio.carrier import (
    CarrierPlan,
    isotropic_aperture_dbm2,
    share_backoff_db,
)
from siteplan.physics.radio.waveforms import find_modcod, required_es_n0_db
from siteplan.planning.link.fading import Fading, fading
from siteplan.planning.link.hub.power import HubPower, hub_power
from siteplan.planning.link.hub.second import second_hub, spared
from siteplan.planning.link.hubfade import (
    NO_HUB_FADE,
    HubFade,
    HubLeak,
    hub_fade,
    hub_leak,
    hub_skies,
)
from siteplan.planning.link.spectrum.limits import Limits
from siteplan.planning.link.spectrum.lobes import S580, all_sides, gain_off_axis_dbi, numbers
from siteplan.planning.link.spectrum.neighbours import (
    Interference,
    hub_density_dbw_hz,
    power_sum_dbw,
    separations_deg,
)

#: A number, or one a site (n,).
Level = float | FloatArray

#: Distance from a hub that the network file does not place [km]: some 30 degrees of elevation.
UNPLACED_HUB_KM = 38500.0
#: Isolation of polarizations of a dish that the catalogue does not list [dB]; common practice.
DISH_XPI_DB = 30.0


class Dish(NamedTuple):
    """An antenna: diameter [m], aperture efficiency, pattern, isolation of polarizations [dB].

    Numbers or one a site (n,); the pattern is one of `lobes.all_sides`, by number.
    """

    diameter_m: Level
    efficiency: Level
    pattern: int | IntArray = S580
    xpi_db: Level = DISH_XPI_DB


@frozen
class SiteEnd:
    """The sites' end of the link, arrays (n,), whatever the kit.

    ``up`` is the path at the inbound uplink frequency, ``down`` at the outbound downlink's.
    ``beam_down_db`` is how far the satellite's EIRP at a site lies over the network file's,
    ``beam_up_db`` its G/T towards a site over the file's; None where the file's serve all, NaN
    where a site is in no beam.
    """

    up: Fading
    down: Fading
    radiating_k: FloatArray
    spreading_db_m2: FloatArray
    free_space_db: FloatArray
    beam_down_db: FloatArray | None = None
    beam_up_db: FloatArray | None = None

    @property
    def downlink_loss_db(self) -> FloatArray:
        """Free space (n,) [dB], less what the beam gives beyond the network file's EIRP.

        NaN where there is no link at all: below the horizon, and in no beam.
        """
        beam = self.beam_down_db
        return self.free_space_db if beam is None else self.free_space_db - beam

    @property
    def uplink_loss_db_m2(self) -> FloatArray:
        """Spreading (n,) [dB m2], less the beam's G/T beyond the network file's.

        An EIRP less this is the flux by which the file's G/T and SFD tell noise and back-off:
        where G/T is higher by some decibels, SFD is lower by as many.
        """
        beam = self.beam_up_db
        return self.spreading_db_m2 if beam is None else self.spreading_db_m2 - beam


@frozen
class HubEnd:
    """The hub's end: arrays (1,), and what its rain takes as tables.

    ``up_gas_db`` and ``down_gas_db`` are clear sky's. ``up_fade`` is what the outbound carrier
    loses on its uplink before power control, ``down_fade`` what the inbound one loses on its
    downlink, noise included; both are empty where the network file gives no place, or counts no
    rain at the hub. ``neighbours_dbw_hz`` is the EIRP density of neighbouring satellites less what
    the hub's side lobes, ``sides_dbi`` (k,) towards each, keep out [dBW/Hz], ``depolarized`` what
    its rain turns over from the other polarization; None where neither counts. ``control_db`` is
    the range of power control that the amplifier leaves, ``short_db`` how far it falls short of
    clear sky's power. ``spoken`` is what sentences call it, by the beams that it serves where there
    are several hubs.
    """

    up_gas_db: FloatArray
    down_gas_db: FloatArray
    up_fade: HubFade
    down_fade: HubFade
    radiating_k: FloatArray
    free_space_db: FloatArray
    gain_dbi: float
    elevation_deg: float
    rain_rate_mm_h: float
    neighbours_dbw_hz: Level | None = None
    sides_dbi: FloatArray | None = None
    depolarized: HubLeak | None = None
    control_db: Level = 0.0
    short_db: Level = 0.0
    spoken: str = "the hub"

    def take(self, index: IntArray) -> HubEnd:
        """Return the end as the sites at ``index`` (k,) have it, where that is a site's own."""
        return replace(
            self,
            up_fade=self.up_fade.take(index),
            down_fade=self.down_fade.take(index),
            depolarized=self.depolarized and self.depolarized.take(index),
            neighbours_dbw_hz=at_sites(self.neighbours_dbw_hz, index),
            control_db=at_sites(self.control_db, index),
            short_db=at_sites(self.short_db, index),
        )


@frozen
class Links:
    """All that the two directions need but the kit: thresholds, carriers and both ends.

    ``lnb_more_k`` and ``pointing_more_deg`` are added to what the network file says of terminals,
    and ``stacked`` tells that carriers and hub may be a site's own: where that is asked.
    """

    network: Network
    outbound: CarrierPlan
    inbound: CarrierPlan
    outbound_required_db: float
    inbound_required_db: float
    site: SiteEnd
    hub: HubEnd
    interference: Interference | None = None
    limits: Limits | None = None
    lnb_more_k: Level = 0.0
    pointing_more_deg: Level = 0.0
    stacked: bool = False

    def take(self, index: IntArray) -> Links:
        """Return the links of the sites at ``index`` (k,), distinct and rising."""
        return self if is_everyone(index, len(self)) else self.repeated(index)

    def lighter(self) -> Links:
        """Return the links without the sites' climate: they answer up to 5 % of time alone."""
        up, down = (
            replace(way, path=without_climate(way.path)) for way in (self.site.up, self.site.down)
        )
        return replace(self, site=replace(self.site, up=up, down=down))

    def repeated(self, index: IntArray) -> Links:
        """Return the links of the sites at ``index`` (k,), in any order and any number."""
        others = None if self.interference is None else take(self.interference, index)
        back = take(self.inbound, index)  # its levels may be a site's own
        some = replace(self, site=take(self.site, index), interference=others, inbound=back)
        return some._own_taken(index) if self.stacked else some

    def _own_taken(self, index: IntArray) -> Links:
        """Return links of some sites (k,) with all else that is a site's own."""
        return replace(
            self,
            outbound=take(self.outbound, index),
            hub=self.hub.take(index),
            limits=None if self.limits is None else take(self.limits, index),
            lnb_more_k=at_sites(self.lnb_more_k, index),
            pointing_more_deg=at_sites(self.pointing_more_deg, index),
        )

    def in_beams(
        self, down_db: FloatArray, up_db: FloatArray, sfd_db: FloatArray | None = None
    ) -> Links:
        """Return the links of sites whose beams lie over the file's EIRP and G/T (n,) [dB].

        ``sfd_db`` (n,) is what SFD has beyond its fall where G/T rises; None for nothing.
        """
        site = replace(self.site, beam_down_db=down_db, beam_up_db=up_db)
        if sfd_db is None:
            return replace(self, site=site)
        own = replace(self.inbound, sfd_dbw_m2=self.inbound.sfd_dbw_m2 + sfd_db)
        return replace(self, site=site, inbound=own)

    def __len__(self) -> int:
        """Return the number of sites."""
        return len(self.site.free_space_db)


@frozen
class Kit:
    """The kit that each site is judged with (n,).

    ``antenna_m`` and ``buc_w`` are NaN where nothing was picked; ``dish_m``, ``efficiency``,
    ``offset_deg``, ``tried_w``, ``buc_dbw``, ``pattern`` and ``xpi_db`` are what the margins are
    computed with: the kit, or the largest pair of the catalogue where there is none.
    """

    antenna_m: FloatArray
    buc_w: FloatArray
    source: NDArray[np.object_]
    dish_m: FloatArray
    efficiency: FloatArray
    offset_deg: FloatArray
    tried_w: FloatArray
    buc_dbw: FloatArray
    pattern: IntArray
    xpi_db: FloatArray

    @property
    def dish(self) -> Dish:
        """The dish of each site, for the budget."""
        return Dish(self.dish_m, self.efficiency, self.pattern, self.xpi_db)


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
    """Return a direction's carrier as the physics takes it.

    A carrier that is planned over its share of power stands that much higher over what others
    send at the transponder's mean.
    """
    return CarrierPlan(
        uplink_ghz=carrier.uplink_ghz,
        downlink_ghz=carrier.downlink_ghz,
        symbol_rate_sps=carrier.symbol_rate_msps * 1e6,
        satellite_eirp_dbw=carrier.satellite_eirp_dbw,
        satellite_g_t_db_k=carrier.satellite_g_t_db_k,
        sfd_dbw_m2=carrier.sfd_dbw_m2,
        share_backoff_db=share_backoff_db(
            carrier.output_backoff_db, carrier.transponder_mhz, carrier.occupied_mhz
        )
        - carrier.over_share_db,
        backoff_gap_db=carrier.input_backoff_db - carrier.output_backoff_db,
        ci_db=carrier.ci_db + carrier.over_share_db,
    )


def site_end(network: Network, angles: LookAngles, climate: Climate) -> SiteEnd:
    """Return the sites' end of the link from their look angles and climate (n,)."""
    out, back, wet_db = network.outbound, network.inbound, network.terminal.wet_loss_db
    often = rain_probability_pct(climate.lat, climate.lon) if wet_db > 0 else None
    up = _path(back.uplink_ghz, back.uplink_polarization, angles, climate)
    down = _path(out.downlink_ghz, out.downlink_polarization, angles, climate)
    return SiteEnd(
        up=fading(up, wet_db, often),
        down=fading(down, wet_db, often),
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


def higher_ghz(network: Network) -> float:
    """Return the higher of the remotes' two frequencies [GHz], whose beam is the narrower."""
    return max(network.outbound.downlink_ghz, network.inbound.uplink_ghz)


def hub_end(network: Network, clouds: CloudMaps) -> HubEnd:
    """Return the hub's end of the link.

    Raises
    ------
    NetworkError
        If the hub does not see the satellite.
    """
    paths = hub_paths(network, clouds)
    return hub_under(network, paths, skies_over(network, paths))


def hub_under(network: Network, paths: HubPaths | None, skies: HubSkies | None) -> HubEnd:
    """Return the hub's end under its skies, as `skies_over` gives them."""
    hub, back = network.hub, network.inbound
    gain = float(gain_dbi(hub.antenna_m, hub.efficiency, back.downlink_ghz))
    if paths is None:
        loss = free_space_loss_db(np.full(1, UNPLACED_HUB_KM), back.downlink_ghz)
        unknown, none = noise.mean_radiating_temperature_k(np.full(1, np.nan)), np.zeros(1)
        nowhere = HubEnd(
            none, none, NO_HUB_FADE, NO_HUB_FADE, unknown, loss, gain, float("nan"), float("nan")
        )
        return powered(network, nowhere)
    return powered(network, _placed_hub(network, gain, paths, skies))


def powered(network: Network, hub: HubEnd) -> HubEnd:
    """Return the hub's end with what its amplifier leaves of the power control, or lacks."""
    found = power_of(network, hub)
    return replace(hub, control_db=found.control_db, short_db=found.short_db)


def power_of(network: Network, hub: HubEnd) -> HubPower:
    """Return what the hub's amplifier has to give, and what it has left."""
    return hub_power(network.hub, share_eirp_dbw(network, hub) - hub_tx_gain_dbi(network))


def hub_tx_gain_dbi(network: Network) -> float:
    """Return the gain of the hub's antenna at the outbound uplink [dBi]."""
    hub = network.hub
    return float(gain_dbi(hub.antenna_m, hub.efficiency, network.outbound.uplink_ghz))


class HubPaths(NamedTuple):
    """The hub's look angles, climate and paths (1,): outbound up, inbound down.

    ``second`` is where a second hub stands that takes over in rain.
    """

    angles: LookAngles
    climate: Climate
    up: SlantPath
    down: SlantPath
    second: Baseline | None = None


def hub_paths(network: Network, clouds: CloudMaps) -> HubPaths | None:
    """Return the hub's paths; None where the network file does not place it.

    Raises
    ------
    NetworkError
        If the hub does not see the satellite.
    """
    hub, out, back = network.hub, network.outbound, network.inbound
    if hub.lat is None or hub.lon is None:
        return None
    angles, climate = _hub_place(network, clouds)
    return HubPaths(
        angles,
        climate,
        _path(out.uplink_ghz, out.uplink_polarization, angles, climate),
        _path(back.downlink_ghz, back.downlink_polarization, angles, climate),
        second_hub(network, angles),
    )


def _placed_hub(network: Network, gain: float, paths: HubPaths, skies: HubSkies | None) -> HubEnd:
    """Return the hub's end where the network file gives its place."""
    angles, climate, up, down, _ = paths
    back = network.inbound
    radiating_k = noise.mean_radiating_temperature_k(climate.temperature_k)
    dry = HubEnd(
        up_gas_db=up.gas_db,
        down_gas_db=down.gas_db,
        up_fade=NO_HUB_FADE,
        down_fade=NO_HUB_FADE,
        radiating_k=radiating_k,
        free_space_db=free_space_loss_db(angles.slant_range_km, back.downlink_ghz),
        gain_dbi=gain,
        elevation_deg=float(angles.elevation_deg[0]),
        rain_rate_mm_h=float(climate.rain_rate_mm_h[0]),
        sides_dbi=hub_sides_dbi(network),
    )
    dry = beside_neighbours(network, dry)
    return dry if skies is None else in_rain(network, dry, paths, skies)


def hub_sides_dbi(network: Network) -> FloatArray | None:
    """Return the gain of the hub's side lobes towards each neighbouring satellite (k,) [dBi].

    NaN towards one that it does not see; None where it sees none.
    """
    if not network.neighbours:
        return None
    hub, ghz = network.hub, network.inbound.downlink_ghz
    lat, lon = np.array([hub.lat], dtype=float), np.array([hub.lon], dtype=float)
    away = separations_deg(network, lat, lon, topographic_altitude_m(lat, lon))[:, 0]
    gain = float(gain_dbi(hub.antenna_m, hub.efficiency, ghz))
    pattern = all_sides(network)[numbers(network)[1]].rx
    x = float(hub.antenna_m / wavelength_m(ghz))
    side = gain_off_axis_dbi(pattern, away, gain_dbi=gain, wavelengths=x)
    return None if np.isnan(away).all() else np.asarray(side)


def beside_neighbours(network: Network, hub: HubEnd) -> HubEnd:
    """Return the hub's end with what it receives of neighbouring satellites, by a network's levels.

    Their EIRP densities, less what its side lobes keep out of each.
    """
    if hub.sides_dbi is None:
        return hub
    densities = np.array([hub_density_dbw_hz(n, network) for n in network.neighbours])
    total = power_sum_dbw(densities + hub.sides_dbi - hub.gain_dbi)
    return replace(hub, neighbours_dbw_hz=float(total))


class HubSkies(NamedTuple):
    """The sky of the hub's paths, up and down, at the percentages of a table (k,): one hub's."""

    p_pct: FloatArray
    up: Attenuation
    down: Attenuation


def skies_over(network: Network, paths: HubPaths | None) -> HubSkies | None:
    """Return the skies over the hub; None where it has no place, or its rain is not counted."""
    if paths is None or network.rules.hub_outage_share == 0:
        return None
    hub = network.hub
    (p_pct, up), (_, down) = (
        hub_skies(path, averaging(path, hub.antenna_m, hub.efficiency))
        for path in (paths.up, paths.down)
    )
    return HubSkies(p_pct, up, down)


def skies_behind(network: Network, paths: HubPaths, skies: HubSkies) -> HubSkies:
    """Return skies over a hub as they are behind the network's hub antenna."""
    hub, p_pct = network.hub, skies.p_pct
    up, down = (
        behind(sky, p_pct, averaging(path, hub.antenna_m, hub.efficiency))
        for sky, path in ((skies.up, paths.up), (skies.down, paths.down))
    )
    return HubSkies(p_pct, up, down)


def in_rain(network: Network, hub: HubEnd, paths: HubPaths, skies: HubSkies) -> HubEnd:
    """Return the hub's end with what the skies over it take, less what a second hub spares."""
    up, down, p_pct = paths.up, paths.down, skies.p_pct
    above, below = (spared(s, p, paths.second) for s, p in ((skies.up, up), (skies.down, down)))
    level, leak = network.inbound.cross_polar_level_db, None
    if level is not None:
        leak = hub_leak(p_pct, fading(down, 0.0, None).xpd_db(below.rain, p_pct) - level)
    return replace(
        hub,
        up_fade=hub_fade(p_pct, above.total - up.gas_db),
        down_fade=_down_fade(network, hub, p_pct, below),
        depolarized=leak,
    )


def hub_sky(
    network: Network, path: SlantPath, second: Baseline | None, p_pct: float
) -> Attenuation:
    """Return the sky (1,) of one of the hub's paths at a percentage of time."""
    sigma = averaging(path, network.hub.antenna_m, network.hub.efficiency)
    sky = fading(path, 0.0, None).sky(np.array([p_pct]), sigma)
    return spared(sky, path, second)


def _down_fade(network: Network, hub: HubEnd, p_pct: FloatArray, sky: Attenuation) -> HubFade:
    """Return what the hub's downlink loses against clear sky: attenuation, and noise."""
    clear, radiating_k = hub.down_gas_db, hub.radiating_k
    faded = sky.total + 10 * np.log10(hub_noise_k(network, sky.absorption, radiating_k))
    dry = clear + 10 * np.log10(hub_noise_k(network, clear, radiating_k))
    return hub_fade(p_pct, faded - dry)


def hub_noise_k(network: Network, absorption_db: FloatArray, radiating_k: FloatArray) -> FloatArray:
    """Return the noise of the hub's receiver [K] behind a sky that absorbs [dB]."""
    sky = noise.sky_noise_k(absorption_db, radiating_k)
    return noise.system_noise_k(sky, 0.0, 0.0, network.hub.lna_noise_k)


def _hub_place(network: Network, clouds: CloudMaps) -> tuple[LookAngles, Climate]:
    """Return the hub's look angles and climate, arrays (1,)."""
    hub, satellite = network.hub, network.satellite
    lat, lon = np.array([hub.lat], dtype=float), np.array([hub.lon], dtype=float)
    altitude_m = topographic_altitude_m(lat, lon)
    angles = look_angles(lat, lon, altitude_m, satellite.longitude_deg, tilt_deg=satellite.tilt_deg)
    if np.isnan(angles.elevation_deg[0]):
        below = -float(angles.geometric_elevation_deg[0])
        raise NetworkError(
            f"the hub does not see the satellite at {satellite.longitude_deg:g} deg: it is"
            f" {below:.1f} deg below the horizon.",
            where="network.toml, [hub] lat and lon",
            fix="Check their signs and [satellite] longitude_deg (east positive).",
        )
    return angles, site_climate(lat, lon, altitude_m / 1000, clouds)


def hub_spreading_db_m2(network: Network, hub: HubEnd) -> float:
    """Return the spreading over the hub's distance [dB m2]."""
    aperture = isotropic_aperture_dbm2(network.inbound.downlink_ghz)
    return float(hub.free_space_db[0] + aperture)


def hub_eirp_dbw(network: Network, hub: HubEnd, gas_db: float | None = None) -> float:
    """Return the hub's EIRP in clear sky [dBW], as far as its amplifier reaches.

    ``gas_db`` is what the gas takes of it, else as the hub's end has it.
    """
    return float(share_eirp_dbw(network, hub, gas_db) - hub.short_db)


def share_eirp_dbw(network: Network, hub: HubEnd, gas_db: float | None = None) -> float:
    """Return the hub's EIRP [dBW] that gives its carrier its share of the flux in clear sky.

    ``gas_db`` is what the gas takes of it, else as the hub's end has it.
    """
    gas = float(hub.up_gas_db[0]) if gas_db is None else gas_db
    share = carrier_plan(network.outbound).share_flux_dbw_m2
    return float(share + hub_spreading_db_m2(network, hub) + gas)


def links(
    network: Network,
    angles: LookAngles,
    climate: Climate,
    hub: HubEnd,
    *,
    interference: Interference | None = None,
    limits: Limits | None = None,
) -> Links:
    """Return the links of sites (n,) to the hub, ready for any kit."""
    return Links(
        network,
        carrier_plan(network.outbound),
        carrier_plan(network.inbound),
        required_db("outbound", network.outbound),
        required_db("inbound", network.inbound),
        site_end(network, angles, climate),
        hub,
        interference,
        limits,
    )
