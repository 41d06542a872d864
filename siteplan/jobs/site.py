"""One place without any file."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from siteplan.errors import NetworkError
from siteplan.jobs.opened import read_network
from siteplan.network import Network
from siteplan.results import Plan


def plan_one(
    lat: str,
    lon: str,
    *,
    satellite: str | None = None,
    network: str | Path | None = None,
    altitude_m: float | None = None,
    availability_pct: float | None = None,
    today: dt.date | None = None,
) -> Plan:
    """Plan one place without any file.

    Parameters
    ----------
    lat, lon : str
        Coordinates [deg], decimal or DMS, as in a sites table.
    satellite : str, optional
        Orbital position [deg], east positive, or such as ``61W``.
    network : path, optional
        A network.toml for all else; ``satellite`` goes before its position.
    altitude_m, availability_pct : float, optional
        Altitude [m] and availability target [%] of the site.
    today : datetime.date, optional
        Date of the plan.

    Returns
    -------
    Plan
        Of one site; below the horizon its results are NaN, and its flag says so.

    Raises
    ------
    SitesError, NetworkError
        If a coordinate or the orbital position cannot be read, or neither network nor
        satellite is given.

    Examples
    --------
    >>> found = plan_one("3 06 S", "60 01 W", satellite="61W")
    >>> round(float(found.columns["elevation_deg"][0]), 1)
    86.2
    """
    from siteplan.inputs.network.assumed import assumptions
    from siteplan.inputs.sites.single import one_site
    from siteplan.planning.plan import make_plan

    site = one_site(lat, lon, altitude_m=altitude_m, availability_pct=availability_pct)
    checked = _network_for_one(satellite, network)
    return make_plan(site, checked, assumptions=assumptions(checked), today=today)


def _network_for_one(satellite: str | None, network: str | Path | None) -> Network:
    """Return the network of a plan for one place, from a file, an orbital position or both."""
    from siteplan.inputs.network.read import network_from_mapping
    from siteplan.inputs.sites.single import orbital_position_deg

    if network is None and satellite is None:
        raise NetworkError(
            "neither --satellite nor --network is given.",
            fix="Say where the satellite stands, for example --satellite -61.",
        )
    if network is None:
        position = orbital_position_deg(satellite or "")
        return network_from_mapping({"satellite": {"longitude_deg": position}})
    checked = read_network(network)
    if satellite is None:
        return checked
    moved = checked.satellite.model_copy(update={"longitude_deg": orbital_position_deg(satellite)})
    return checked.model_copy(update={"satellite": moved})
