"""How often the service is there: the weather's availability with equipment, hub and power."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import Arrays, Column
from siteplan.frozen import frozen
from siteplan.model import Sites
from siteplan.network import Network


@frozen(eq=False)
class Service(Arrays):
    """Availability of the service (n,) [%]; NaN where the weather's is not known."""

    service_availability_pct: Column


def service(sites: Sites, columns: Mapping[str, NDArray[Any]], network: Network) -> Service | None:
    """Return how often the service is there at sites (n,); None where equipment is not told of.

    All four are taken as independent: the weather, the site's equipment, the hub's, the power of
    sites that tell theirs.
    """
    own = network.network
    if own.equipment_mtbf_h is None or own.equipment_mttr_h is None:
        return None
    unit = unit_availability(own.equipment_mtbf_h, own.equipment_mttr_h)
    hub = with_standby(unit, network.hub.redundancy)
    power = np.where(np.isnan(sites.power_availability_pct), 100.0, sites.power_availability_pct)
    weather = columns["availability_achieved_pct"]
    return Service(weather * unit * hub * power / 100)


def unit_availability(mtbf_h: float, mttr_h: float) -> float:
    """Return the share of the time for which a unit works: MTBF over MTBF and MTTR together.

    Parameters
    ----------
    mtbf_h, mttr_h : float
        Mean time between failures, and to repair. [h]

    Examples
    --------
    >>> round(unit_availability(40_000, 24), 6)
    0.9994
    """
    return mtbf_h / (mtbf_h + mttr_h)


def with_standby(unit: float, redundancy: str) -> float:
    """Return the share of the time for which enough of the hub's chains work.

    Parameters
    ----------
    unit : float
        The share for which one does.
    redundancy : str
        ``1:0`` one alone, ``1:1`` one of two, ``1:2`` two of three, as in ``[hub] redundancy``.

    Examples
    --------
    >>> [round(with_standby(0.9, way), 3) for way in ("1:0", "1:1", "1:2")]
    [0.9, 0.99, 0.972]
    """
    fails = 1 - unit
    return {"1:0": unit, "1:1": 1 - fails**2, "1:2": unit**3 + 3 * unit**2 * fails}[redundancy]
