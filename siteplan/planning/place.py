"""The place: altitude, look angles, climate, compass; what the place itself has one know."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import numpy as np

from siteplan.arrays import Arrays, BoolArray, Column, FloatArray, TextColumn
from siteplan.frozen import frozen
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.physics.angles.geometry import (
    LookAngles,
    azimuth_sensitivity_deg_per_km,
    look_angles,
)
from siteplan.physics.angles.magnetic import compass_reliable, magnetic_field, model_valid
from siteplan.physics.propagation.climate import Climate, site_climate, topographic_altitude_m
from siteplan.physics.propagation.mapped.cloud_maps import CloudMaps
from siteplan.planning import targets
from siteplan.planning.applications.carried import targets_pct
from siteplan.planning.step import Raised, Told, flag

#: Elevations under this see a long path in rain and near obstacles [deg]; common practice.
LOW_ELEVATION_DEG = 12.0
#: Elevation below which ITU-R P.676 annex 2 and P.618 section 2.4.1 do not hold [deg].
METHOD_ELEVATION_DEG = 5.0
#: Rain rates exceeded for 0.01 % of the year that count as heavy [mm/h]; common practice. Sites
#: are told apart by them in the wettest networks too; a hub feeds all, and is warned of sooner.
HEAVY_RAIN_MM_H, HEAVY_HUB_RAIN_MM_H = 100.0, 80.0
#: A position error of 1 km that turns the azimuth by more than a compass is good to matters
#: [deg/km]; common practice, no source.
SENSITIVE_DEG_KM = 1.0


@frozen(eq=False)
class Place(Arrays):
    """Where sites (n,) stand, and what they see from there.

    ``annual_pct`` (n,) is the share of an average year that their targets ask for, ``by_month``
    whether those are of the worst month.
    """

    altitude_m: Column
    altitude_source: TextColumn
    availability_target_pct: Column
    rain_rate_mm_h: Column
    rain_height_km: Column
    azimuth_true_deg: Column
    elevation_deg: Column
    skew_deg: Column
    slant_range_km: Column
    lat: FloatArray
    lon: FloatArray
    annual_pct: FloatArray
    by_month: bool
    angles: LookAngles
    climate: Climate

    @property
    def seen(self) -> BoolArray:
        """Where the satellite stands above the horizon (n,)."""
        return ~np.isnan(self.elevation_deg)


def place(sites: Sites, network: Network, clouds: CloudMaps) -> Place:
    """Return altitude, angles and climate of sites (n,), and the targets that they have."""
    given = ~np.isnan(sites.altitude_m)
    altitude_m = np.where(given, sites.altitude_m, topographic_altitude_m(sites.lat, sites.lon))
    stands = network.satellite
    angles = look_angles(
        sites.lat, sites.lon, altitude_m, stands.longitude_deg, tilt_deg=stands.tilt_deg
    )
    climate = site_climate(sites.lat, sites.lon, altitude_m / 1000, clouds)
    target = targets_pct(sites, network)
    skew = np.full_like(angles.skew_deg, np.nan) if circular_feed(network) else angles.skew_deg
    return Place(
        altitude_m=altitude_m,
        altitude_source=np.where(given, "given", "P.1511").astype(object),
        availability_target_pct=target,
        rain_rate_mm_h=climate.rain_rate_mm_h,
        rain_height_km=climate.rain_height_km,
        azimuth_true_deg=angles.azimuth_true_deg,
        elevation_deg=angles.elevation_deg,
        skew_deg=skew,
        slant_range_km=angles.slant_range_km,
        lat=sites.lat,
        lon=sites.lon,
        annual_pct=targets.annual_target_pct(network, target),
        by_month=targets.by_month(network),
        angles=angles,
        climate=climate,
    )


def circular_feed(network: Network) -> bool:
    """Return whether the remotes' feed is circular both ways, so that there is no skew."""
    feed = network.outbound.downlink_polarization, network.inbound.uplink_polarization
    return feed == ("circular", "circular")


def any_site_sees(sites: Sites, network: Network) -> bool:
    """Return whether the satellite stands above the horizon of any site."""
    angles = look_angles(sites.lat, sites.lon, 0.0, network.satellite.longitude_deg)
    return bool(np.any(angles.geometric_elevation_deg >= 0))


def raised(at: Place, network: Network, doubted: BoolArray) -> Iterator[Raised]:
    """Yield the flags that the place decides; ``doubted`` (n,) are coordinates to be checked."""
    elevation = at.elevation_deg
    low, least = {"elevation_deg": elevation}, network.rules.min_elevation_deg
    asked = at.availability_target_pct
    beyond = targets.outside(network, asked)
    yield flag("target_out_of_range", beyond, target_pct=asked, annual_pct=at.annual_pct)
    under = {"depression_deg": -at.angles.geometric_elevation_deg}
    yield flag("below_horizon", ~at.seen & ~doubted, **under)
    yield Raised("below_horizon", Told("flag.below_horizon.doubted", ~at.seen & doubted, under))
    yield flag("below_min_elevation", elevation < least, min_elevation_deg=least, **low)
    yield flag(
        "method_range",
        elevation < METHOD_ELEVATION_DEG,
        method_elevation_deg=METHOD_ELEVATION_DEG,
    )
    yield flag("low_elevation", elevation < LOW_ELEVATION_DEG, **low)
    yield flag("heavy_rain", at.rain_rate_mm_h >= HEAVY_RAIN_MM_H, rain_rate_mm_h=at.rain_rate_mm_h)
    longitude = network.satellite.longitude_deg
    turn = azimuth_sensitivity_deg_per_km(at.lat, at.lon, at.altitude_m, longitude)
    turn = np.minimum(np.nan_to_num(turn, nan=90.0), 90.0)
    near = at.seen & ~(turn < SENSITIVE_DEG_KM)
    yield flag("azimuth_sensitive", near, azimuth_turn_deg_km=turn)


@frozen(eq=False)
class Compass(Arrays):
    """What a compass shows at sites (n,), and whether it can be trusted."""

    azimuth_magnetic_deg: Column
    magnetic_declination_deg: Column
    reliable: BoolArray


def compass(at: Place, date: dt.date) -> Compass:
    """Return the satellite's bearing by compass, on the plan's date."""
    field = magnetic_field(at.lat, at.lon, at.altitude_m, date)
    return Compass(
        azimuth_magnetic_deg=np.mod(at.azimuth_true_deg - field.declination_deg, 360.0),
        magnetic_declination_deg=field.declination_deg,
        reliable=compass_reliable(field.horizontal_nt),
    )


def compass_raised(of: Compass, date: dt.date) -> Iterator[Raised]:
    """Yield the flags that the compass and the magnetic model's dates decide."""
    valid = model_valid(date)
    yield flag("compass_unreliable", ~of.reliable & valid)
    yield flag("magnetic_model_date", np.full(len(of.reliable), not valid))
