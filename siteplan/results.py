"""What comes out: the plan, coverage of an area, what was built against what was planned."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import field
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from siteplan.answers import Bill, Kind, KindSet, Remedy, Tuned, Verdict
from siteplan.answers.beams import BeamFacts
from siteplan.answers.capacity import Capacity, PoolLoad
from siteplan.answers.certainty import KitChange
from siteplan.answers.costs import LifeCosts
from siteplan.answers.hub import HubResult
from siteplan.arrays import FloatArray
from siteplan.frozen import frozen
from siteplan.model import Assumption, Called, OutageLog, Reject
from siteplan.network import Network

if TYPE_CHECKING:
    from siteplan.answers.licence import Licence
    from siteplan.answers.outages import OutageReport
    from siteplan.answers.rollout import RolloutPlan

#: South, west, north, east [deg]; east may pass 180 where an area lies across the antimeridian.
Frame = tuple[float, float, float, float]


@frozen
class Facts:
    """What the outputs show of a plan as a whole, beside its columns and its network.

    ``date`` and ``install_date`` are ISO dates. ``cautions`` are sentences on the hub and on
    tuning that hold for every site, ``told_once`` the flags that are told once of the plan, each
    with its number of sites, ``remarks`` their sentences. ``whatif_p_pct`` are the percentages
    of time of the what-if tables, ``whatif_hub_db`` what the hub's rain takes at each, outbound
    and inbound, and where it depolarizes the carrier over that, less the threshold [dB],
    ``stand_off_heights_m`` the heights of the table of distances to keep.
    ``hub_sun`` holds the hub's sun transits. ``site_tables`` says, in a sentence, why a plan goes
    without tables of the site pack. ``sheets`` says whether sheets lie beside the map, ``shown``
    which of the sites a map shows that is too small for all. ``cloud_edition`` is the edition of
    the cloud maps in use, ``cloud_maps`` says where they come from. ``fewest`` are the sets of one,
    two and three kinds that serve most sites, ``remedies`` what would help unserved and tight
    sites, ``bill`` what to order, ``verdict`` the plan in a few counts. ``fits`` counts the sites
    to equip by which pairs of the catalogue serve them, a pattern as
    ``siteplan.planning.kit.fewest`` writes it; ``pairs`` are the kinds of the table
    ``pair_margin_db``. ``tuning`` is what the remotes receive and send, in that order. ``licence``
    is what a licence asks, None where no limit off axis is given. ``beams`` is what the sites of
    each of several beams share; ``hub_elevation_deg``, ``whatif_hub_db`` and ``tuning`` are then
    those of the first. ``heard`` counts what the sites say of their hub
    (``siteplan.planning.gateway.heard``), ``hubs`` has a result a gateway. ``loads`` is what the
    sites of each pool offer, ``capacity`` what carries that and is leased for it. ``month_law``
    turns the outage of a worst month into that of a year (factor, power, least and most [%]);
    empty where targets are of a year. ``changes_kit`` counts the sites whose pair changes when a
    figure is off by a step. ``costs`` is what all sites cost over the years, None where the network
    file prices nothing beyond kit; ``rollout`` when they are built, None where that is not told.
    ``called`` is what the list of sites calls our columns.
    """

    name: str = ""
    date: str = ""
    hub_elevation_deg: float = math.nan
    cautions: tuple[str, ...] = ()
    told_once: tuple[tuple[str, int], ...] = ()
    remarks: tuple[str, ...] = ()
    whatif_p_pct: tuple[float, ...] = ()
    whatif_hub_db: tuple[tuple[float, ...], ...] = ()
    install_date: str = ""
    stand_off_heights_m: tuple[float, ...] = ()
    hub_sun: tuple[Mapping[str, Any], ...] = ()
    site_tables: str = ""
    rows_read: int | None = None
    rejected: int | None = None
    source: str = ""
    sheets: bool = False
    shown: str = ""
    cloud_edition: str = ""
    cloud_maps: str = ""
    fewest: tuple[KindSet, ...] = ()
    fits: tuple[tuple[str, int], ...] = ()
    pairs: tuple[Kind, ...] = ()
    remedies: tuple[Remedy, ...] = ()
    bill: Bill | None = None
    tuning: tuple[Tuned, ...] = ()
    verdict: Verdict | None = None
    licence: Licence | None = None
    heard: tuple[tuple[str, int], ...] = ()
    hubs: tuple[HubResult, ...] = ()
    loads: tuple[PoolLoad, ...] = ()
    capacity: Capacity | None = None
    beams: tuple[BeamFacts, ...] = ()
    month_law: tuple[float, ...] = ()
    changes_kit: tuple[KitChange, ...] = ()
    costs: LifeCosts | None = None
    rollout: RolloutPlan | None = None
    called: Called = Called()

    def of_beam(self, name: str) -> BeamFacts | None:
        """Return what the sites of a beam share; None where there is one beam only."""
        return next((beam for beam in self.beams if beam.name == name), None)


@frozen
class Plan:
    """The results of a plan: named arrays, sites along axis 0, ready to be written.

    ``columns`` holds result fields only (see ``siteplan.fields``); ``extra`` the user's free
    columns under the names they are written by. ``tables`` holds what does not fit one number a
    site, such as ``horizon_deg`` (n, 72), for the map and the sheets (see
    ``siteplan.planning.site.tables``): they are not written as columns, and a plan may be without
    them.
    """

    columns: Mapping[str, NDArray[Any]]
    extra: Mapping[str, NDArray[Any]]
    network: Network
    assumptions: tuple[Assumption, ...]
    facts: Facts = Facts()
    tables: Mapping[str, NDArray[Any]] = field(default_factory=lambda: MappingProxyType({}))

    def __len__(self) -> int:
        """Return the number of sites."""
        return len(self.columns["site_id"])

    def beam_of(self, i: int) -> str:
        """Return the beam of a site by its index; '' where there is one beam without a name."""
        return str(self.columns["beam"][i]) if "beam" in self.columns else ""

    def tuning_of(self, i: int) -> tuple[Tuned, ...]:
        """Return what a site's remote receives and sends, by the site's index."""
        found = self.facts.of_beam(self.beam_of(i))
        return self.facts.tuning if found is None else found.tuning


@frozen
class AsBuilt:
    """What came back against what was planned, returned sites along axis 0.

    ``columns`` holds the fields of ``siteplan.fields.ASBUILT_FIELDS``; ``planned`` the sites'
    plan, ``replanned`` that of the measured position, cable and obstacles with the planned
    kit. ``blank`` counts rows left blank, ``missing`` names sites with kit that did not come back,
    ``unusable`` those of which all that came back is among ``rejects``; ``awaited`` is the plan of
    both (None: there are none, or nobody asked for it).
    """

    columns: Mapping[str, NDArray[Any]]
    planned: Plan
    replanned: Plan
    rejects: tuple[Reject, ...]
    blank: int
    missing: tuple[str, ...]
    awaited: Plan | None = None
    unusable: tuple[str, ...] = ()

    def __len__(self) -> int:
        """Return the number of returned sites."""
        return len(self.columns["site_id"])

    @property
    def counts(self) -> dict[str, int]:
        """Number of sites by verdict."""
        verdicts = ("accepted", "accepted but not served", "not accepted", "incomplete")
        found = dict.fromkeys((*verdicts, "nothing to accept"), 0)
        for verdict in self.columns["verdict"].tolist():
            found[verdict] += 1
        return found

    @property
    def cause_counts(self) -> dict[str, int]:
        """Number of sites by likely cause, the most frequent first."""
        found: dict[str, int] = {}
        for causes in self.columns["causes"].tolist():
            for cause in causes.split(";") if causes else ():
                found[cause] = found.get(cause, 0) + 1
        return dict(sorted(found.items(), key=lambda item: -item[1]))


@frozen
class OutageStatistics:
    """A log of outages against the plan: what it comes to, and the rows that cannot be used."""

    plan: Plan
    log: OutageLog
    report: OutageReport
    rejects: tuple[Reject, ...]

    @property
    def verdict_counts(self) -> dict[str, int]:
        """Number of sites by verdict on their rain, by code."""
        found: dict[str, int] = {}
        sites = self.report.weather.place >= 0
        for verdict in self.report.weather.verdict[sites].tolist():
            found[verdict] = found.get(verdict, 0) + 1
        return found


@frozen
class Grid:
    """Nodes of a regular grid: latitudes (r,) south to north, longitudes (c,) west to east [deg].

    Longitudes run on past 180 instead of jumping.
    """

    lat: FloatArray
    lon: FloatArray
    step_deg: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return len(self.lat), len(self.lon)

    @property
    def frame(self) -> Frame:
        """The outermost nodes [deg]."""
        return float(self.lat[0]), float(self.lon[0]), float(self.lat[-1]), float(self.lon[-1])

    @property
    def points(self) -> tuple[FloatArray, FloatArray]:
        """Latitude and longitude of every node (r * c,), row by row."""
        lat, lon = np.meshgrid(self.lat, self.lon, indexing="ij")
        return lat.ravel(), lon.ravel()


@frozen
class Band:
    """A class of a quantity: from ``low`` to ``high`` (infinite at open ends), and its words.

    ``care`` marks what cannot be served with the catalogue, or at all.
    """

    low: float
    high: float
    label: str
    care: bool = False

    @property
    def bounds(self) -> tuple[float | None, float | None]:
        """Low and high, None at an open end."""
        low, high = (None if math.isinf(v) else v for v in (self.low, self.high))
        return low, high


@frozen
class Coverage:
    """Quantities on a grid, arrays (r, c).

    ``columns`` holds result fields (see ``siteplan.fields``), NaN where there is no answer.
    ``surfaces`` holds, by the same names, what contours are drawn through: the same values,
    carried on where the field is blank but the surface goes on. Where ``elevation_deg`` is
    below ``floor_deg`` no kit is given. ``note`` says what the figures rest on.
    """

    grid: Grid
    columns: Mapping[str, FloatArray]
    surfaces: Mapping[str, FloatArray]
    bands: Mapping[str, tuple[Band, ...]]
    floor_deg: float
    note: str
