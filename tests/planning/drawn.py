"""Networks and sites drawn by hypothesis: three bands, any orbital position, any hub that sees it.

Longitudes are whole sixty-fourths of a degree, so that adding 360 to one loses no bit. Where
satellites, hubs and sites stand about the antimeridian is drawn as often as all the rest.
"""

from __future__ import annotations

import copy
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np
from hypothesis import strategies as st

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.planning.plan import make_plan
from siteplan.planning.setting import setting
from siteplan.results import Plan
from tests.planning.worked import Worked, work_out

Tables = dict[str, Any]

#: Uplink and downlink frequencies of each band [GHz].
BANDS = {
    "C": ((5.925, 6.425), (3.7, 4.2)),
    "Ku": ((13.75, 14.5), (10.95, 12.75)),
    "Ka": ((27.5, 30.0), (17.7, 20.2)),
}
#: Sites of an example.
SITES = 4


class Drawn(NamedTuple):
    """A network as tables, and sites: latitude and longitude (n,) [deg]."""

    tables: Tables
    lat: np.ndarray
    lon: np.ndarray

    @property
    def network(self) -> Network:
        return Network.model_validate(self.tables)

    @property
    def sites(self) -> Sites:
        return Sites.at(self.lat, self.lon)

    def changed(self, table: str, **keys: Any) -> Drawn:
        """Return the same with other figures in one table."""
        tables = copy.deepcopy(self.tables)
        tables[table] = tables.get(table, {}) | keys
        return self._replace(tables=tables)

    def plan(self) -> Plan:
        """Return the plan with the catalogue's one pair installed, so that it has every figure."""
        n, network = len(self.sites), self.network
        size, power = network.antennas[0].diameter_m, network.bucs[0].rated_w
        kit = {"fixed_antenna_m": np.full(n, size), "fixed_buc_w": np.full(n, power)}
        return make_plan(replace(self.sites, **kit), network)

    def worked(self) -> Worked:
        return work_out(self.sites, setting(self.network))


def wrapped(lon: Any) -> Any:
    """Return longitudes within -180 to 180 [deg]."""
    return (np.asarray(lon) + 180.0) % 360.0 - 180.0


def sixty_fourths(low: float, high: float) -> st.SearchStrategy[float]:
    return st.integers(round(low * 64), round(high * 64)).map(lambda n: n / 64)


@st.composite
def carriers(draw: st.DrawFn, band: str) -> Tables:
    """Draw a direction's frequencies and polarizations."""
    up, down = BANDS[band]
    kinds = st.sampled_from(["horizontal", "vertical", "circular"])
    return {
        "uplink_ghz": draw(st.floats(*up)),
        "downlink_ghz": draw(st.floats(*down)),
        "uplink_polarization": draw(kinds),
        "downlink_polarization": draw(kinds),
    }


@st.composite
def drawn(draw: st.DrawFn) -> Drawn:
    """Draw a network with one antenna and one BUC, and sites that mostly see the satellite."""
    band = draw(st.sampled_from(sorted(BANDS)))
    satellite = draw(st.one_of(sixty_fourths(-180, 180), st.sampled_from([-180.0, -177.5, 179.0])))
    hub_lat, hub_apart = draw(st.floats(-52, 52)), draw(sixty_fourths(-50, 50))
    sites = st.tuples(st.floats(-75, 75), sixty_fourths(-80, 80))
    lat, apart = zip(*draw(st.lists(sites, min_size=SITES, max_size=SITES)), strict=True)
    tables = {
        "network": {"date": "2026-06-01", "availability_pct": draw(st.floats(95, 99.9))},
        "satellite": {"longitude_deg": satellite},
        "hub": {
            "lat": hub_lat,
            "lon": float(wrapped(satellite + hub_apart)),
            "power_control_db": draw(st.sampled_from([0.0, 6.0])),
        },
        "outbound": draw(carriers(band)) | {"satellite_eirp_dbw": draw(st.floats(36, 56))},
        "inbound": draw(carriers(band)) | {"satellite_eirp_dbw": draw(st.floats(36, 56))},
        "terminal": {"wet_loss_db": draw(st.sampled_from([0.0, 0.7]))},
        "antennas": [{"diameter_m": draw(st.floats(0.6, 4.5))}],
        "bucs": [{"rated_w": draw(st.floats(0.5, 20))}],
        "rules": {"hub_outage_share": draw(st.sampled_from([None, 0.0, 0.2, 0.5]))},
    }
    return Drawn(tables, np.array(lat), wrapped(satellite + np.array(apart)))
