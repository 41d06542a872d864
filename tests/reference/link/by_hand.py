"""One site's link budget in plain arithmetic: every line of both directions, and of the sky.

Look angles from vectors, budget and noise as in Maral and Bousquet, Satellite Communications
Systems, chapter 5, and ITU-R P.618-14 section 3. Each part of the attenuation is the itur
package's, an independent implementation of the same texts, put together by P.618-14 section 2.5.
Nothing here comes from the project.
"""

from __future__ import annotations

import functools
import math
from typing import Any, NamedTuple

import numpy as np

Tables = dict[str, Any]
#: Diameter [m] and efficiency; rated power [W] and back-off [dB].
Dish = tuple[float, float]
Buc = tuple[float, float]
Vector = tuple[float, ...] | list[float]

IDEAL_ES_N0_DB = {"8PSK 3/5": 5.50, "QPSK 2/3": 3.69}  # EN 302 307-1 table 13, EN 301 545-2


class Spot(NamedTuple):
    """A place on the ground: latitude, longitude [deg], height above sea level [km]."""

    lat: float
    lon: float
    altitude_km: float


class Site(NamedTuple):
    """A site, its target [%] and what it has already: antenna [m] and BUC [W]."""

    spot: Spot
    target_pct: float
    antenna_m: float | None = None
    buc_w: float | None = None


class Setup(NamedTuple):
    """A network with the share of the outage that its hub takes, its hub's place and its sites."""

    tables: Tables
    share: float
    hub: Spot
    sites: tuple[Site, ...]

    @property
    def network(self) -> Tables:
        """The network as it is planned."""
        return self.tables | {"rules": self.tables["rules"] | {"hub_outage_share": self.share}}


def db(ratio: float) -> float:
    return 10 * math.log10(ratio)


def num(level_db: float) -> float:
    return 10 ** (level_db / 10)


def combine(*terms_db: float) -> float:
    return -db(sum(num(-t) for t in terms_db))


K_DB = db(1.380649e-23)


def wavelength_m(ghz: float) -> float:
    return 0.299792458 / ghz


class Sight(NamedTuple):
    azimuth_deg: float
    elevation_deg: float
    range_km: float
    skew_deg: float


def sight(spot: Spot, satellite_lon: float) -> Sight:
    """Work out the look angles from vectors in the earth's frame (WGS 84)."""
    lat, lon, sub = (math.radians(x) for x in (spot.lat, spot.lon, satellite_lon))
    flat = 1 / 298.257223563
    e2 = flat * (2 - flat)
    radius = 6378.137 / math.sqrt(1 - e2 * math.sin(lat) ** 2)
    out = (radius + spot.altitude_km) * math.cos(lat)
    here = (out * math.cos(lon), out * math.sin(lon),
            (radius * (1 - e2) + spot.altitude_km) * math.sin(lat))  # fmt: skip
    there = (42164.17 * math.cos(sub), 42164.17 * math.sin(sub), 0.0)
    line = [b - a for a, b in zip(here, there, strict=True)]
    distance = math.hypot(*line)
    ray = [x / distance for x in line]
    up = (math.cos(lat) * math.cos(lon), math.cos(lat) * math.sin(lon), math.sin(lat))
    east = (-math.sin(lon), math.cos(lon), 0.0)
    north = cross(up, east)
    # Across the ray, seen along it: the site's vertical and what is to its right.
    right = unit(cross(ray, up))
    above = cross(right, ray)
    axis = (0.0, 0.0, 1.0)
    skew = math.degrees(math.atan2(dot(axis, right), dot(axis, above)))
    return Sight(
        math.degrees(math.atan2(dot(ray, east), dot(ray, north))) % 360,
        math.degrees(math.asin(dot(ray, up))),
        distance,
        90 - (90 - skew) % 180,
    )


def dot(a: Vector, b: Vector) -> float:
    return math.fsum(x * y for x, y in zip(a, b, strict=True))


def cross(a: Vector, b: Vector) -> Vector:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def unit(a: Vector) -> Vector:
    return [x / math.hypot(*a) for x in a]


class Sky(NamedTuple):
    gas: float
    cloud: float
    rain: float
    scintillation: float

    @property
    def total(self) -> float:
        return self.gas + math.hypot(self.rain + self.cloud, self.scintillation)

    @property
    def absorbed(self) -> float:
        return self.gas + self.cloud + self.rain


def clear(sky: Sky) -> Sky:
    return Sky(sky.gas, 0.0, 0.0, 0.0)


@functools.cache
def gas_db(spot: Spot, elevation: float, ghz: float) -> float:
    from itur.models import itu676, itu835, itu836, itu1510

    lat, lon, height = spot
    part = itu676.gaseous_attenuation_slant_path(
        ghz, elevation, itu836.surface_water_vapour_density(lat, lon, 5, height),
        itu835.standard_pressure(height), itu1510.surface_mean_temperature(lat, lon),
        itu836.total_water_vapour_content(lat, lon, 5, height), height,
    )  # fmt: skip
    return float(part.value)


@functools.cache
def rain_db(spot: Spot, elevation: float, tilt: float, ghz: float, p_pct: float) -> float:
    from itur.models import itu618

    lat, lon, height = spot
    part = itu618.rain_attenuation(lat, lon, ghz, elevation, height, p_pct, tau=tilt)
    return float(part.value)


@functools.cache
def cloud_db(spot: Spot, elevation: float, ghz: float) -> float:
    from itur.models import itu840

    return float(itu840.cloud_attenuation(spot.lat, spot.lon, elevation, ghz, 5).value)


@functools.cache
def scintillation_db(spot: Spot, elevation: float, ghz: float, p_pct: float, dish: Dish) -> float:
    from itur.models import itu618

    ghz = min(ghz, 20.0)  # P.618-14 section 2.4.1 holds up to 20 GHz; its examples keep 20 above
    with np.errstate(invalid="ignore"):  # itur works out a term that it drops for large dishes
        part = itu618.scintillation_attenuation(spot.lat, spot.lon, ghz, elevation, p_pct, *dish)
    return float(part.value)


def tilt_deg(polarization: str, skew_deg: float) -> float:
    """Tilt of the polarization from horizontal (ITU-R P.838-3: 45 for circular)."""
    size = abs(skew_deg)
    return {"horizontal": size, "vertical": 90 - size, "circular": 45.0}[polarization]


def sky(spot: Spot, seen: Sight, ghz: float, polarization: str, p_pct: float, dish: Dish) -> Sky:
    """Put itur's parts together: gas and cloud at 5 %, rain and scintillation at ``p_pct``."""
    elevation = seen.elevation_deg
    return Sky(
        gas_db(spot, elevation, ghz),
        cloud_db(spot, elevation, ghz),
        rain_db(spot, elevation, tilt_deg(polarization, seen.skew_deg), ghz, p_pct),
        scintillation_db(spot, elevation, ghz, p_pct, dish),
    )


@functools.cache
def radiating_k(spot: Spot) -> float:
    from itur.models import itu1510

    return 37.34 + 0.81 * float(itu1510.surface_mean_temperature(spot.lat, spot.lon).value)


def gain_dbi(dish: Dish, ghz: float) -> float:
    return db(dish[1] * (math.pi * dish[0] / wavelength_m(ghz)) ** 2)


def aperture_dbm2(ghz: float) -> float:
    return db(wavelength_m(ghz) ** 2 / (4 * math.pi))


def path_loss_db(range_km: float, ghz: float) -> float:
    return 20 * math.log10(4 * math.pi * range_km * 1e3 / wavelength_m(ghz))


def required_db(way: Tables) -> float:
    if "modcod" in way:
        ideal = IDEAL_ES_N0_DB[way["modcod"]]
    elif "es_n0_db" in way:
        ideal = way["es_n0_db"]
    else:
        ideal = way["eb_n0_db"] + db(way["bits_per_symbol"])
    return ideal + way["implementation_loss_db"]


class Budget:
    """One site's link with one antenna and one BUC, line by line.

    ``sky`` and ``warmth`` are where attenuation and radiating temperature come from, so that a
    wrong one can be tried.
    """

    def __init__(
        self, setup: Setup, site: Site, dish: Dish, buc: Buc,
        *, sky: Any = sky, warmth: Any = radiating_k,
    ) -> None:  # fmt: skip
        self.net, self.hub, self.site, self.dish, self.buc = (
            setup.network, setup.hub, site, dish, buc,
        )  # fmt: skip
        self.sky, self.warmth = sky, warmth
        longitude = self.net["satellite"]["longitude_deg"]
        self.seen, self.hub_seen = sight(site.spot, longitude), sight(setup.hub, longitude)
        self.hub_dish = self.net["hub"]["antenna_m"], self.net["hub"]["efficiency"]

    def site_sky(self, way: str, end: str, p_pct: float) -> Sky:
        """Sky on the site's path: the inbound's uplink or the outbound's downlink."""
        carrier = self.net[way]
        found: Sky = self.sky(
            self.site.spot, self.seen, carrier[f"{end}_ghz"], carrier[f"{end}_polarization"],
            p_pct, self.dish,
        )  # fmt: skip
        return found

    def hub_sky(self, way: str, end: str, p_pct: float) -> Sky:
        """Sky on the hub's path: the outbound's uplink or the inbound's downlink."""
        carrier = self.net[way]
        found: Sky = self.sky(
            self.hub, self.hub_seen, carrier[f"{end}_ghz"], carrier[f"{end}_polarization"],
            p_pct, self.hub_dish,
        )  # fmt: skip
        return found

    def sky_noise_k(self, spot: Spot, absorbed_db: float) -> float:
        return float(self.warmth(spot)) * (1 - num(-absorbed_db)) + 2.7 * num(-absorbed_db)

    def eirp_dbw(self) -> float:
        terminal = self.net["terminal"]
        drive = db(self.buc[0]) - self.buc[1] - terminal["tx_loss_db"]
        gain = gain_dbi(self.dish, self.net["inbound"]["uplink_ghz"])
        return drive + gain - terminal["pointing_loss_db"]

    def g_t_db_k(self, absorbed_db: float, wet_db: float) -> float:
        terminal = self.net["terminal"]
        line_db = terminal["rx_loss_db"] + wet_db
        through = num(-line_db)
        antenna = self.sky_noise_k(self.site.spot, absorbed_db) + terminal["spillover_noise_k"]
        system = antenna * through + 290.0 * (1 - through) + terminal["lnb_noise_k"]
        return gain_dbi(self.dish, self.net["outbound"]["downlink_ghz"]) - line_db - db(system)

    def outbound_es_n0(self, down: Sky, *, wet_db: float = 0.0, hub_fade_db: float = 0.0) -> float:
        return combine(*self.outbound_terms(down, down.absorbed, wet_db, hub_fade_db))

    def outbound_terms(
        self, down: Sky, warm_db: float, wet_db: float = 0.0, hub_fade_db: float = 0.0
    ) -> tuple[float, float, float]:
        """Es/N0 of uplink and downlink, and C/I; ``warm_db`` is the absorption that makes noise."""
        way = self.net["outbound"]
        occupied = way["symbol_rate_msps"] * (1 + way["roll_off"])
        band = db(way["symbol_rate_msps"] * 1e6)
        obo = way["output_backoff_db"] + db(way["transponder_mhz"] / occupied) + hub_fade_db
        flux = way["sfd_dbw_m2"] - obo - (way["input_backoff_db"] - way["output_backoff_db"])
        up = flux + aperture_dbm2(way["uplink_ghz"]) + way["satellite_g_t_db_k"] - K_DB - band
        loss = path_loss_db(self.seen.range_km, way["downlink_ghz"]) + down.total
        level = way["satellite_eirp_dbw"] - obo - loss - self.net["terminal"]["pointing_loss_db"]
        received = level + self.g_t_db_k(warm_db, wet_db) - K_DB - band
        return up, received, way["ci_db"] - hub_fade_db

    def inbound_flux(self, lost_db: float) -> float:
        return self.eirp_dbw() - db(4 * math.pi * (self.seen.range_km * 1e3) ** 2) - lost_db

    def inbound_es_n0(self, up: Sky, hub_down: Sky, *, wet_db: float = 0.0) -> float:
        return combine(*self.inbound_terms(up, hub_down, wet_db))

    def inbound_terms(
        self, up: Sky, hub_down: Sky, wet_db: float = 0.0
    ) -> tuple[float, float, float]:
        """Es/N0 of uplink and downlink, and C/I."""
        way, hub = self.net["inbound"], self.net["hub"]
        band = db(way["symbol_rate_msps"] * 1e6)
        flux = self.inbound_flux(up.total + wet_db)
        risen = flux + aperture_dbm2(way["uplink_ghz"]) + way["satellite_g_t_db_k"] - K_DB - band
        obo = way["sfd_dbw_m2"] - flux - (way["input_backoff_db"] - way["output_backoff_db"])
        loss = path_loss_db(self.hub_seen.range_km, way["downlink_ghz"]) + hub_down.total
        system = self.sky_noise_k(self.hub, hub_down.absorbed) + hub["lna_noise_k"]
        g_t = gain_dbi(self.hub_dish, way["downlink_ghz"]) - db(system)
        received = way["satellite_eirp_dbw"] - obo - loss + g_t - K_DB - band
        return risen, received, way["ci_db"] - (up.total - up.gas + wet_db)

    def shares_pct(self, outage_pct: float) -> tuple[float, float]:
        """Outage of the site and of the hub."""
        share = self.net["rules"]["hub_outage_share"]
        return outage_pct * (1 - share), outage_pct * share

    def outbound_ends_db(self, outage_pct: float) -> tuple[float, float]:
        """Outbound margin with the site in rain, and with the hub in rain."""
        at_site, at_hub = self.shares_pct(outage_pct)
        down, hub_up = (self.site_sky("outbound", "downlink", at_site),
                        self.hub_sky("outbound", "uplink", at_hub))  # fmt: skip
        risen = max(hub_up.total - hub_up.gas - self.net["hub"]["power_control_db"], 0.0)
        wet = self.net["terminal"]["wet_loss_db"]
        need = required_db(self.net["outbound"])
        return (self.outbound_es_n0(down, wet_db=wet) - need,
                self.outbound_es_n0(clear(down), hub_fade_db=risen) - need)  # fmt: skip

    def inbound_ends_db(self, outage_pct: float) -> tuple[float, float]:
        """Inbound margin with the site in rain, and with the hub in rain."""
        at_site, at_hub = self.shares_pct(outage_pct)
        up, hub_down = (self.site_sky("inbound", "uplink", at_site),
                        self.hub_sky("inbound", "downlink", at_hub))  # fmt: skip
        wet = self.net["terminal"]["wet_loss_db"]
        need = required_db(self.net["inbound"])
        return (self.inbound_es_n0(up, clear(hub_down), wet_db=wet) - need,
                self.inbound_es_n0(clear(up), hub_down) - need)  # fmt: skip

    def margin_db(self) -> float:
        outage = 100 - self.site.target_pct
        return min(*self.outbound_ends_db(outage), *self.inbound_ends_db(outage))

    def figures(self) -> dict[str, float]:
        """Everything that the plan tells of the link, by the name of its field."""
        outage = 100 - self.site.target_pct
        at_site, at_hub = self.shares_pct(outage)
        up, down = (self.site_sky("inbound", "uplink", at_site),
                    self.site_sky("outbound", "downlink", at_site))  # fmt: skip
        out = self.outbound_es_n0(clear(down))
        back = self.inbound_es_n0(clear(up), clear(self.hub_sky("inbound", "downlink", at_hub)))
        out_margin, back_margin = (min(self.outbound_ends_db(outage)),
                                   min(self.inbound_ends_db(outage)))  # fmt: skip
        out_fade = out - required_db(self.net["outbound"])
        back_fade = back - required_db(self.net["inbound"])
        return {
            "azimuth_true_deg": self.seen.azimuth_deg,
            "elevation_deg": self.seen.elevation_deg,
            "slant_range_km": self.seen.range_km,
            "skew_deg": self.seen.skew_deg,
            "remote_eirp_dbw": self.eirp_dbw(),
            "remote_g_t_db_k": self.g_t_db_k(down.gas, 0.0)
            - self.net["terminal"]["pointing_loss_db"],
            "outbound_clear_es_n0_db": out,
            "inbound_clear_es_n0_db": back,
            "outbound_fade_margin_db": out_fade,
            "inbound_fade_margin_db": back_fade,
            "fade_margin_db": back_fade if back_margin < out_margin else out_fade,
            "outbound_margin_db": out_margin,
            "inbound_margin_db": back_margin,
            "margin_db": min(out_margin, back_margin),
            **{f"uplink_{name}_db": part for name, part in up._asdict().items()},
            **{f"downlink_{name}_db": part for name, part in down._asdict().items()},
            "uplink_attenuation_db": up.total,
            "downlink_attenuation_db": down.total,
        }
