"""What does not fit one value a site, for sheets and map: tables, sites along axis 0.

========================  ===========  ==========================================================
``horizon_deg``           (n, 72)      surveyed horizon at azimuths 0, 5, ... 355 [deg]
``stand_off_m``           (n, 5)       distance to keep from obstacles of ``sky.HEIGHTS_M``, counted
                                       from the surface that the dish stands on [m]
``mount_score``           (n, kinds)   score of each kind of mount, of 100
``neighbour_*_deg``       (n, k)       azimuth, elevation, separation of neighbouring satellites
``sun_hour_from``         (n,)         midnight of the day of installation in the site's zone (UTC)
``sun_hour_*_deg``        (n, 24)      azimuth, elevation of the sun each hour from then on
``sun_on_azimuth``        (n, 2)       when the sun stands on the dish's azimuth that day
``sun_site``, ``sun_*``   (m,)         transits of the sun: index of the site, start, peak, end,
                                       depth [dB], offset of the local time [min]
========================  ===========  ==========================================================
"""

from __future__ import annotations

import datetime as dt

import numpy as np

from siteplan.arrays import TextArray
from siteplan.network import Network
from siteplan.planning.place import Place
from siteplan.planning.site import sky, sun
from siteplan.planning.site.stance import Stance
from siteplan.planning.step import Columns

#: What the tables of kit rest on (`siteplan.fields.RESTS_ON`): blank where it is not given. The
#: horizon is that of the place where no dish is given, and such a site has no transits.
RESTS_ON = {"stand_off_m": "dish", "mount_score": "dish"}
#: The tables that hold a row a transit of the sun.
BY_TRANSIT = ("sun_site", "sun_start", "sun_peak", "sun_end", "sun_depth_db", "sun_offset_min")
#: Plans of more sites than this go without the tables of the site pack.
MOST_SITES = 20_000
#: What is said of them.
SKIPPED = f"Plans of more than {MOST_SITES} sites go without tables of sun and horizon."


def sky_tables(standing: Stance, of: sky.Clearance, network: Network) -> Columns:
    """Return the tables of horizon, stand-off and mounts (n, ...)."""
    return {
        "horizon_deg": sky.horizon_grid_deg(of.obstacles, len(standing.kind)),
        "stand_off_m": sky.stand_off_m(of.view, network.site.clearance_deg),
        "mount_score": standing.chosen.score.astype(np.float32),
    }


def sun_tables(
    at: Place, of: sun.Listener, zones: TextArray, *, dates: tuple[dt.date, dt.date]
) -> Columns:
    """Return transits, and the sun's bearings on the day of installation.

    Parameters
    ----------
    at, of, zones : Place, Listener, (n,) array
        The sites, as stations, and their time zones.
    dates : pair of datetime.date
        The plan's, and that of the installation.
    """
    return sun.transit_tables(of, dates[0], zones) | sun.bearing_tables(dates[1], at, zones)
