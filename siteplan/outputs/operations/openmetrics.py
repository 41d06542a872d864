"""sites.prom: what monitoring is to expect as OpenMetrics text, a family of metrics a figure.

OpenMetrics 1.0: families stand together, each with its type and help, and ``# EOF`` ends the
text. Moments are seconds since 1970 (UTC), as the format has them; what is not known is left out.
"""

from __future__ import annotations

import itertools
import math
import shutil
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from pathlib import Path
from tempfile import SpooledTemporaryFile
from typing import IO, Any, Final

import numpy as np

from siteplan.answers.operations import Monitored, MonitoredHub
from siteplan.arrays import FloatArray
from siteplan.outputs.escaping import for_openmetrics
from siteplan.outputs.operations.records import numbers, transits_of
from siteplan.outputs.shown import whole_or_short
from siteplan.results import Plan

#: Metrics that have one figure a site and direction: name, figure, help.
_LEVELS: Final = (
    ("expected_es_n0_db", "es_n0_db", "Es/(N0+I0) in clear sky."),
    ("expected_c_n_db", "c_n_db", "C/(N+I) in clear sky in the bandwidth that is named."),
    ("expected_modem_input_dbm", "modem_input_dbm", "Level at the modem in clear sky."),
    ("expected_modem_output_dbm", "modem_output_dbm", "Level that the modem sends in clear sky."),
    (
        "expected_modem_output_most_dbm",
        "modem_output_most_dbm",
        "Level that the modem sends at most, in rain of its own.",
    ),
    ("warn_below_db", "warn_below_db", "Es/(N0+I0) under which to warn."),
    ("fault_below_db", "fault_below_db", "Es/(N0+I0) under which the carrier fails."),
)
#: How long a month a level is passed: figure, level, month.
_MINUTES: Final = (
    ("warn_min_month", "warn", "average"),
    ("warn_min_worst_month", "warn", "worst"),
    ("fault_min_month", "fault", "average"),
    ("fault_min_worst_month", "fault", "worst"),
)
_HEAD: Final = "siteplan_"
_PASSED: Final = "expected_minutes"
#: Of a transit.
_ENDS: Final = ("start", "end")
#: The directions of a site, in their order.
DIRECTIONS: Final = ("outbound", "inbound")
#: Sections up to so many bytes are laid aside in memory.
_IN_MEMORY: Final = 2**20


class Metrics:
    """The text as it grows piece by piece: families stand together, so each is laid aside.

    Parameters
    ----------
    folder : Path
        Where what is laid aside is kept until the text is written; nothing stays there.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._laid: list[IO[bytes]] = []
        self._held = ExitStack()

    def add(self, plan: Plan, of: Monitored) -> None:
        """Add some sites, those of each family behind the ones before."""
        for k, text in enumerate(_sections(plan, of)):
            if k == len(self._laid):
                spool = self._held.enter_context(
                    SpooledTemporaryFile(_IN_MEMORY, dir=str(self._folder))  # noqa: SIM115
                )
                self._laid.append(spool)
            self._laid[k].write(text.encode())

    def write(self, hubs: Sequence[MonitoredHub], file: IO[bytes]) -> None:
        """Write the text, with what is told of the hubs; what was laid aside is gone then."""
        with self._held:
            for part in _families(hubs):
                if isinstance(part, str):
                    file.write(part.encode())
                else:
                    self._laid[part].seek(0)
                    shutil.copyfileobj(self._laid[part], file)


def _families(hubs: Sequence[MonitoredHub]) -> Iterator[str | int]:
    """Yield what the text is made of: its words, and the numbers of the sections of sites."""
    number = itertools.count()
    yield _head("site", "info", "A site, its group and its hub.")
    yield next(number)
    for name, _, told in _LEVELS:
        yield _head(name, "gauge", told)
        yield from (next(number) for _ in DIRECTIONS)
    yield _head(_PASSED, "gauge", "Minutes a month for which a level is passed.")
    yield from (next(number) for _ in _MINUTES for _ in DIRECTIONS)
    yield from _hub_levels(hubs)
    for when in _ENDS:
        yield _head(_transit(when), "gauge", f"The {when} of a transit of the sun.")
        yield next(number)
        yield _hub_transits(hubs, when)
    yield "# EOF\n"


def _sections(plan: Plan, of: Monitored) -> Iterator[str]:
    """Yield the sections of some sites, in the order in which `_families` takes them."""
    ids = [for_openmetrics(str(plan.columns["site_id"][i])) for i in of.rows.tolist()]
    labels = [[f'site_id="{site}",direction="{way.direction}"' for site in ids] for way in of.ways]
    found = [numbers(way) for way in of.ways]
    yield _infos(plan, of, ids)
    for name, figure, _ in _LEVELS:
        for of_way, values in zip(labels, found, strict=True):
            wide = _with_bandwidth(of_way, values) if figure == "c_n_db" else of_way
            yield _samples(name, wide, values[figure])
    for figure, level, month in _MINUTES:
        more = f',level="{level}",month="{month}"'
        for of_way, values in zip(labels, found, strict=True):
            yield _samples(_PASSED, of_way, values[figure], more)
    yield from _transits(plan, of, dict(zip(of.rows.tolist(), ids, strict=True)))


def _with_bandwidth(labels: Sequence[str], values: dict[str, FloatArray]) -> list[str]:
    """Return labels (n,) with the bandwidth of each."""
    widths = map(whole_or_short, values["c_n_bandwidth_khz"].tolist())
    pairs = zip(labels, widths, strict=True)
    return [f'{text},bandwidth_khz="{khz}"' for text, khz in pairs]


def _head(name: str, kind: str, told: str) -> str:
    return f"# TYPE {_HEAD}{name} {kind}\n# HELP {_HEAD}{name} {told}\n"


def _infos(plan: Plan, of: Monitored, ids: Sequence[str]) -> str:
    """Return what a site is called, and where it belongs."""
    hubs = [for_openmetrics(hub.name) for hub in of.hubs]
    rows = []
    for site, i, hub in zip(ids, of.rows.tolist(), of.hub.tolist(), strict=True):
        name, group = (for_openmetrics(str(plan.columns[k][i])) for k in ("name", "group"))
        labels = f'site_id="{site}",name="{name}",group="{group}",hub="{hubs[hub]}"'
        rows.append(f"{_HEAD}site_info{{{labels}}} 1\n")
    return "".join(rows)


def _samples(name: str, labels: Sequence[str], values: FloatArray, more: str = "") -> str:
    """Return a sample a site of one direction, none for what is not known."""
    pairs = zip(labels, values.tolist(), strict=True)
    return "".join(
        [f"{_HEAD}{name}{{{text}{more}}} {x}\n" for text, x in pairs if not math.isnan(x)]
    )


def _hub_levels(hubs: Sequence[MonitoredHub]) -> Iterator[str]:
    """Yield what each hub sends in clear sky."""
    labels = [f'hub="{for_openmetrics(hub.name)}"' for hub in hubs]
    for name, told in (
        ("eirp_dbw", "EIRP of the hub's carrier in clear sky."),
        ("feed_w", "Power of the hub's carrier at the feed in clear sky."),
    ):
        values = np.round([getattr(hub, name) for hub in hubs], 3)
        yield _head(f"hub_{name}", "gauge", told) + _samples(f"hub_{name}", labels, values)


def _transits(plan: Plan, of: Monitored, ids: dict[int, str]) -> Iterator[str]:
    """Yield from when to when the sun stands behind the satellite at sites."""
    tables = transits_of(plan, of)
    sites = tables["sun_site"].tolist() if tables else []
    labels = [f'site_id="{ids.get(i)}",number="{k}"' for i, k in _numbered(sites)]
    for when in _ENDS:
        seconds = _seconds(tables[f"sun_{when}"]) if sites else []
        of_sites = zip(sites, labels, seconds, strict=True)
        name = f"{_HEAD}{_transit(when)}"
        yield "".join([f"{name}{{{text}}} {at}\n" for i, text, at in of_sites if i in ids])


def _hub_transits(hubs: Sequence[MonitoredHub], when: str) -> str:
    """Return when transits begin, or end, at hubs."""
    rows, name = [], f"{_HEAD}{_transit(when)}"
    for hub in hubs:
        label = for_openmetrics(hub.name)
        found = _seconds(np.array([t[when] for t in hub.transits], dtype="datetime64[s]"))
        rows += [f'{name}{{hub="{label}",number="{k}"}} {at}\n' for k, at in enumerate(found, 1)]
    return "".join(rows)


def _transit(when: str) -> str:
    return f"maintenance_{when}_timestamp_seconds"


def _numbered(sites: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Yield each transit's site, and which of the site's it is, from 1."""
    seen = Counter[int]()
    for i in sites:
        seen[i] += 1
        yield i, seen[i]


def _seconds(moments: Any) -> list[int]:
    found: list[int] = moments.astype("datetime64[s]").astype(np.int64).tolist()
    return found
