"""The sun at each site: transits through the beam, and bearings on the day of installation."""

from __future__ import annotations

import datetime as dt
from typing import Any

import numpy as np

from siteplan.arrays import Arrays, Column, FloatArray, TextArray, TextColumn
from siteplan.frozen import frozen
from siteplan.network import Network
from siteplan.physics.angles import sun_outage
from siteplan.physics.angles.geometry import look_angles
from siteplan.physics.angles.sun import hourly_sun, times_at_azimuth
from siteplan.physics.radio.antennas import beamwidth_deg, gain_dbi
from siteplan.physics.radio.noise import sky_noise_k, system_noise_k
from siteplan.physics.radio.sun_noise import antenna_sun_noise_k, degradation_db
from siteplan.planning.link.ends import Kit
from siteplan.planning.place import Place
from siteplan.planning.site.zones import local_times, midnights, offsets_min, texts
from siteplan.planning.step import Columns

#: Seasons that the table of transits holds.
SEASONS = 2
#: Dates between which the sun's series holds, with the seasons that follow.
SUN_DATES = dt.date(1950, 1, 1), dt.date(2048, 12, 31)


@frozen
class Listener:
    """A receiving station (n,): place, dish [m], frequency [GHz], system noise [K], loss [dB]."""

    lat: FloatArray
    lon: FloatArray
    altitude_m: FloatArray
    satellite_lon_deg: float
    diameter_m: FloatArray
    frequency_ghz: float
    system_k: FloatArray
    rx_loss_db: float

    @property
    def place(self) -> tuple[FloatArray, FloatArray, FloatArray, float, FloatArray]:
        """What the search for transits takes; beams too wide for it get no answer (NaN)."""
        half = sun_outage.outage_half_angle_deg(beamwidth_deg(self.diameter_m, self.frequency_ghz))
        half = np.where(half > sun_outage.MAX_HALF_ANGLE_DEG, np.nan, half)
        return self.lat, self.lon, self.altitude_m, self.satellite_lon_deg, half


def depth_db(of: Listener, separation_deg: FloatArray, site: Any = slice(None)) -> FloatArray:
    """Return the loss of G/T at an angle between sun and satellite, at the stations ``site``."""
    beam = beamwidth_deg(of.diameter_m[site], of.frequency_ghz)
    noise = antenna_sun_noise_k(of.frequency_ghz, beam, separation_deg)
    return degradation_db(of.system_k[site], noise, of.rx_loss_db)


@frozen(eq=False)
class Season(Arrays):
    """The next season of sun transits at each site (n,); blank where there is none.

    Days and the local time are those of ``timezone``, of UTC where it is blank.
    """

    timezone: TextColumn
    sun_first_day: TextColumn
    sun_last_day: TextColumn
    sun_days: Column
    sun_peak_utc: TextColumn
    sun_peak_local: TextColumn
    sun_longest_min: Column
    sun_depth_db: Column
    sun_outage: TextColumn


def listener(at: Place, kit: Kit, g_t_db_k: FloatArray, network: Network) -> Listener:
    """Return the remotes as stations that the sun can disturb: none where no pair is given.

    ``g_t_db_k`` (n,) is their G/T in clear sky [dB/K].
    """
    given = ~np.isnan(kit.antenna_m) & ~np.isnan(kit.buc_w)
    return Listener(
        at.lat,
        at.lon,
        at.altitude_m,
        network.satellite.longitude_deg,
        np.where(given, kit.dish_m, np.nan),
        network.outbound.downlink_ghz,
        system_noise_of_k(g_t_db_k, kit.dish_m, kit.efficiency, network),
        network.terminal.rx_loss_db,
    )


def season(of: Listener, after: dt.date, fade_margin_db: FloatArray, zones: TextArray) -> Season:
    """Return the next season of transits after a date; margins (n,) [dB] tell if they hurt.

    ``zones`` (n,) are the sites' time zones, from `siteplan.planning.site.zones.zones_of`.
    """
    found = sun_outage.next_season(*_in_reach(of.place, after), after=_reachable(after))
    depth = depth_db(of, found.separation_deg)
    out = np.where(depth > fade_margin_db, "yes", "no").astype(object)
    out[np.isnan(depth) | np.isnan(fade_margin_db)] = ""
    first, last, peak = (
        local_times(times, zones) for times in (found.first, found.last, found.peak)
    )
    return Season(
        timezone=zones,
        sun_first_day=texts(first.times, "D"),
        sun_last_day=texts(last.times, "D"),
        sun_days=np.where(found.passages > 0, found.passages, np.nan),
        sun_peak_utc=texts(found.peak, "s"),
        sun_peak_local=peak.texts(),
        sun_longest_min=found.longest_min,
        sun_depth_db=depth,
        sun_outage=out,
    )


def _reachable(after: dt.date) -> dt.date:
    """Return the date, or one that the sun's series reaches."""
    return min(max(after, SUN_DATES[0]), SUN_DATES[1])


def _in_reach(
    place: tuple[FloatArray, FloatArray, FloatArray, float, FloatArray], after: dt.date
) -> tuple[FloatArray, FloatArray, FloatArray, float, FloatArray]:
    """Return the search's place, without an answer where the date is out of the series' reach."""
    if _reachable(after) == after:
        return place
    return (*place[:4], np.full_like(place[4], np.nan))


def transit_tables(of: Listener, after: dt.date, zones: TextArray) -> Columns:
    """Return every transit of the next seasons: flat arrays (m,), by site, then by time."""
    place = _in_reach(of.place, after)
    found = sun_outage.next_sun_outages(*place, after=_reachable(after), seasons=SEASONS)
    return {
        "sun_site": found.site.astype(np.int64),
        "sun_start": found.start,
        "sun_peak": found.peak,
        "sun_end": found.end,
        "sun_depth_db": depth_db(of, found.separation_deg, found.site),
        "sun_offset_min": offsets_min(found.peak, zones[found.site]),
    }


def bearing_tables(date: dt.date, at: Place, zones: TextArray) -> Columns:
    """Return the sun's bearings (n, 24) on the sites' day, and when it stands on the dish's (n, 2).

    The hours run from midnight of each site's zone, told as UTC (n,).
    """
    midnight = midnights(date, zones)
    sun = hourly_sun(midnight, at.lat, at.lon)
    return {
        "sun_hour_from": midnight,
        "sun_hour_azimuth_deg": sun.azimuth_true_deg.astype(np.float32),
        "sun_hour_elevation_deg": sun.elevation_deg.astype(np.float32),
        "sun_on_azimuth": times_at_azimuth(date, at.lat, at.lon, at.azimuth_true_deg),
    }


def hub_transits(network: Network, after: dt.date) -> list[dict[str, Any]]:
    """Return the hub's transits of the next seasons, for its inbound carriers."""
    hub, rx_ghz = network.hub, network.inbound.downlink_ghz
    if hub.lat is None or hub.lon is None:
        return []
    lat, lon, zero = (np.array([float(x)]) for x in (hub.lat, hub.lon, 0.0))
    satellite = network.satellite.longitude_deg
    if np.isnan(look_angles(lat, lon, zero, satellite).elevation_deg[0]):
        return []
    system = system_noise_k(sky_noise_k(np.zeros(1)), 0.0, 0.0, hub.lna_noise_k)
    dish = np.array([hub.antenna_m])
    of = Listener(lat, lon, zero, satellite, dish, rx_ghz, system, 0.0)
    table = transit_tables(of, after, np.array([network.network.timezone], dtype=object))
    return [
        {
            "start": str(table["sun_start"][i]),
            "peak": str(table["sun_peak"][i]),
            "end": str(table["sun_end"][i]),
            "depth_db": round(float(table["sun_depth_db"][i]), 1),
        }
        for i in range(len(table["sun_site"]))
    ]


def system_noise_of_k(
    g_t_db_k: FloatArray, diameter_m: FloatArray, efficiency: FloatArray, network: Network
) -> FloatArray:
    """Return the remotes' system noise (n,) [K] that a clear-sky G/T (n,) [dB/K] rests on."""
    gain = gain_dbi(diameter_m, efficiency, network.outbound.downlink_ghz)
    return np.asarray(10 ** ((gain - network.terminal.rx_loss_db - g_t_db_k) / 10))
