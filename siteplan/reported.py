"""What the report of a plan shows, worked out: planning fills it, the report's page prints it.

Figures and sentences alone; units, drawings and layout are the page's.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from typing import Any

from siteplan.answers import BillLine
from siteplan.arrays import BoolArray, FloatArray, IntArray
from siteplan.frozen import frozen
from siteplan.model import Assumption

#: How bad a risk is, the worst first, as flags have it.
SEVERITIES = ("stop", "warn", "note")


@frozen
class Counted:
    """How many sites have a thing; ``open`` of them rest on a question that is not answered."""

    name: str
    sites: int
    open: int = 0


@frozen
class Case:
    """A site that is not served or tight: who it is, its margin [dB] (NaN: none) and the reason.

    ``tried`` says that the margin is that of a pair that was tried and is not planned, ``doubted``
    that the coordinates are to be checked before anything is mended.
    """

    site_id: str
    name: str
    group: str
    margin_after_reserve_db: float
    served: bool
    tried: bool
    reason: str
    doubted: bool = False


@frozen
class Bars:
    """How many sites have which value of a field: a histogram.

    ``edges`` (k + 1,) part the bars, the first and the last of which are open; a value on an edge
    belongs to the bar above it. ``planned`` and ``tried`` count the sites with kit, and those whose
    value is that of a pair tried and not planned; ``missing`` sites have no value. ``marks`` are
    values to be marked: bounds of classes, a target.
    """

    field: str
    edges: tuple[float, ...]
    planned: tuple[int, ...]
    tried: tuple[int, ...]
    missing: int
    marks: tuple[float, ...] = ()


@frozen
class Matrix:
    """How many sites have which antenna [m] with which BUC [W]; ``none`` have no pair."""

    antennas_m: tuple[float, ...]
    bucs_w: tuple[float, ...]
    sites: tuple[tuple[int, ...], ...]
    none: int


@frozen
class Places:
    """Where the sites are, by class: points or, of many, cells of a grid, along axis 0.

    ``lat`` and ``lon`` (n,) [deg], ``counts`` (n, k) sites of each class there, ``doubt`` (n,)
    whether the place itself is in doubt, ``names`` (n,) what to write beside a point (empty:
    nothing). ``step_deg`` is the height of a cell, 0 for points.
    """

    lat: FloatArray
    lon: FloatArray
    counts: IntArray
    doubt: BoolArray
    names: tuple[str, ...]
    step_deg: float = 0.0


@frozen
class Risk:
    """Something that can go wrong, at how many sites (0: the whole network), and what to do.

    ``severity`` is one of `SEVERITIES`; ``examples`` name a few of the sites.
    """

    severity: str
    sites: int
    what: str
    todo: str
    examples: tuple[str, ...] = ()


@frozen
class Ranked:
    """A figure that nobody gave, by how much it matters: what it is, its weight, and why.

    ``values`` are those assumed under one heading, such as the efficiencies of all antennas;
    ``weight`` is ``decides``, ``shifts`` or ``little``.
    """

    label: str
    values: tuple[Assumption, ...]
    weight: str
    reason: str


@frozen
class SureSite:
    """One site's grade, availability achieved, chance of a bad year, worst month, outages a year.

    ``margin_pct`` is the chance that the margin is there. NaN where it is not known. [%]
    """

    site_id: str
    name: str
    grade: str
    achieved_pct: float
    risk_pct: float
    month_pct: float
    short_outages: float
    long_outages: float
    margin_pct: float


@frozen
class Sure:
    """How sure the plan is.

    ``letters`` are the sites of each grade, ``todo`` what would raise it (letter, sentence, sites,
    the most first). ``basis`` is what targets are of, ``climate_ratio`` how far years lie apart.
    Medians [%] are of the sites with kit; ``unknown_risk`` of them have no chance of a bad year.
    ``worst`` are the served sites that a bad year hits first, ``chances`` the sites with kit by the
    chance that their margin is there: classes in words, and sites.
    """

    letters: tuple[tuple[str, int], ...]
    todo: tuple[tuple[str, str, int], ...]
    basis: str
    climate_ratio: float
    median_risk_pct: float
    unknown_risk: int
    median_month_pct: float
    worst: tuple[SureSite, ...]
    chances: tuple[tuple[str, int], ...]


@frozen
class Report:
    """All that the report shows beside the network and the plan's own facts.

    ``served`` of ``sites`` are served as planned, ``tight`` of them with less than
    ``tight_db`` left after the reserve. ``unserved`` names the first of the others, ``cases`` the
    worst of those and of the tight ones. ``classes`` are the labels of the picture's classes, the
    first not served. ``in_doubt`` sites have coordinates that look wrong. ``table`` is the file
    that holds every site, ``left_out`` says what a very large plan's report does not show.
    ``coding`` is what each adaptive carrier brings, as the summary has it.
    """

    sites: int
    served: int
    tight: int
    tight_db: float
    unserved: tuple[str, ...]
    cases: tuple[Case, ...]
    reasons: tuple[Counted, ...]
    antennas: tuple[Counted, ...]
    bucs: tuple[Counted, ...]
    mounts: tuple[Counted, ...]
    classes: tuple[Counted, ...]
    places: Places
    bars: tuple[Bars, ...]
    matrix: Matrix
    lines: tuple[BillLine, ...]
    risks: tuple[Risk, ...]
    ranked: tuple[Ranked, ...]
    methods: Mapping[str, str]
    limits: tuple[str, ...]
    in_doubt: int = 0
    table: str = "sites.csv"
    left_out: str = ""
    sure: Sure | None = None
    coding: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
