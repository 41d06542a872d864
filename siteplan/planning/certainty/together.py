"""Sites under several figures that may be off, side by side.

A question is asked of few sites many times over: most of its time goes into calling the link's
functions, not into what they work out. Stacked, the sites under one figure stand behind those under
the other, and one call does for all. Each function treats rows apart, so the answers are the same.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any, Final, NamedTuple, TypeVar

import numpy as np

from siteplan.arrays import IntArray, at_once, of_each, take
from siteplan.planning.certainty.items import Stand
from siteplan.planning.link.ends import HubEnd, Links
from siteplan.planning.link.hubfade import tables_of_each

#: The levels of a carrier, and what else of links and of the hub's end, may be a row's own.
_OF_CARRIER: Final = ("satellite_eirp_dbw", "satellite_g_t_db_k", "sfd_dbw_m2", "ci_db")
_OF_LINKS: Final = ("lnb_more_k", "pointing_more_deg")
_OF_HUB: Final = ("neighbours_dbw_hz", "control_db", "short_db")
_FADES: Final = ("up_fade", "down_fade", "depolarized")
G = TypeVar("G")


class Together(NamedTuple):
    """How rows (r,) stand: each of some of those asked for, under one of the ways to stand."""

    stand: Stand
    which: IntArray
    rows: IntArray


def together(
    stands: Sequence[Stand], wanted: Sequence[IntArray], site: IntArray
) -> Iterator[Together]:
    """Yield rows under the ways to stand in which they are wanted, many at once.

    Parameters
    ----------
    stands : sequence of Stand
        Ways in which n sites may stand, each what `Change` makes of the same.
    wanted : sequence of (r,) arrays
        The rows that are wanted under each of them.
    site : array
        The site of each row, rising and distinct among the rows of one way.
    """
    for some in at_once([len(rows) for rows in wanted]):
        yield _joined(stands, wanted, site, some)


def _joined(
    stands: Sequence[Stand], wanted: Sequence[IntArray], site: IntArray, some: list[int]
) -> Together:
    """Return the rows of some of the ways to stand."""
    rows = np.concatenate([wanted[k] for k in some])
    place = np.repeat(np.arange(len(some)), [len(wanted[k]) for k in some])
    if len(some) == 1:
        stand = stands[some[0]].take(site[rows])
    else:
        stand = _Stack([stands[k] for k in some], place, site[rows]).stand()
    return Together(stand, np.array(some)[place], rows)


class _Stack(NamedTuple):
    """Ways to stand, and which of them and which site each row (r,) has."""

    stands: list[Stand]
    which: IntArray
    site: IntArray

    def stand(self) -> Stand:
        """Return how the rows stand."""
        link = self._links([stand.link for stand in self.stands])
        p_pct = self._own([stand.p_pct for stand in self.stands])
        worse = self._own([stand.worse for stand in self.stands])
        return Stand(link, p_pct, self.stands[0].shared, worse)

    def _own(self, values: list[Any]) -> Any:
        """Return the value of each row, of numbers or arrays (n,): a number where all are alike."""
        return of_each(values, self.which, self.site)

    def _replaced(self, groups: Sequence[G], names: tuple[str, ...]) -> G:
        """Return the first of some groups with each row's own of what is named."""
        own = {name: self._own([getattr(group, name) for group in groups]) for name in names}
        return replace(groups[0], **own)  # type: ignore[type-var]

    def _links(self, links: list[Links]) -> Links:
        first = links[0]
        site = take(first.site, self.site)
        scales = [(link.site.up.rain_scale, link.site.down.rain_scale) for link in links]
        up, down = (self._own(list(of)) for of in zip(*scales, strict=True))
        own = self._replaced(links, _OF_LINKS)
        limits, others = first.limits, first.interference
        if limits is not None:
            each: list[Any] = [link.limits for link in links]
            limits = replace(limits, lobes_db=self._own([of.lobes_db for of in each]))
        if others is not None:
            each = [link.interference for link in links]
            lobes = self._own([of.lobes_db for of in each])
            densities = self._densities([of.density_dbw_hz for of in each])
            others = replace(take(others, self.site), lobes_db=lobes, density_dbw_hz=densities)
        return replace(
            own,
            outbound=self._replaced([link.outbound for link in links], _OF_CARRIER),
            inbound=self._replaced([link.inbound for link in links], _OF_CARRIER),
            site=replace(
                site,
                up=replace(site.up, rain_scale=up),
                down=replace(site.down, rain_scale=down),
            ),
            hub=self._hub([link.hub for link in links]),
            interference=others,
            limits=limits,
            stacked=True,
        )

    def _densities(self, each: list[Any]) -> Any:
        """Return the densities of neighbours (k,), or each row's (k, r)."""
        if all(of is each[0] for of in each):
            return each[0]
        return np.ascontiguousarray(np.array(each)[self.which].T)

    def _hub(self, hubs: list[HubEnd]) -> HubEnd:
        fades: dict[str, Any] = {
            name: tables_of_each([getattr(hub, name) for hub in hubs], self.which)
            for name in _FADES
        }
        return replace(self._replaced(hubs, _OF_HUB), **fades)
