"""The grade of a site's plan, A to E: how much of what it rests on was given, and by whom.

From E up the first letter whose test holds is the site's. What is assumed is what the plan lists
as assumed; what a site has of its own (installed kit, altitude, horizon) is looked at there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import Arrays, BoolArray, TextColumn
from siteplan.fields import COORDINATE_DOUBT
from siteplan.frozen import frozen
from siteplan.messages import english
from siteplan.model import Assumption
from siteplan.network import Network
from siteplan.planning.assembly import with_step
from siteplan.planning.report.assumed import fits
from siteplan.planning.report.thinning import carrying
from siteplan.planning.step import Columns

LETTERS: Final = ("A", "B", "C", "D", "E")
#: What asks for grade D where it is assumed: the word for it, and the keys.
_DECIDING: Final[Mapping[str, tuple[str, ...]]] = {
    "eirp": ("*bound.satellite_eirp_dbw",),
    "g_t": ("*bound.satellite_g_t_db_k",),
    "sfd": ("*bound.sfd_dbw_m2",),
}
#: What asks for grade C: so do the satellite's other figures and the kit, which A and B ask for.
_SHIFTING: Final[Mapping[str, tuple[str, ...]]] = {
    "pattern": ("antennas.*.pattern", "hub.pattern"),
    "noise": ("terminal.lnb_noise_k", "terminal.spillover_noise_k", "hub.lna_noise_k"),
    "interference": ("*bound.ci_db", "neighbours.*_level_db", "neighbours.*_dbw_*", "*.xpi_db"),
    "transponder": (
        *("*bound.transponder_mhz", "*bound.input_backoff_db", "*bound.output_backoff_db"),
    ),
    "antennas": ("antennas.*.diameter_m", "antennas.*.efficiency", "antennas.*.gain_dbi"),
    "bucs": ("bucs.*.rated_w", "bucs.*.backoff_db"),
}
#: Figures of kit, and the columns that give them where it stands at the site already.
_OWN: Final = {
    "antennas": ("fixed_antenna_m", "fixed_efficiency"),
    "bucs": ("fixed_buc_w", "fixed_buc_backoff_db"),
}


@frozen(eq=False)
class Grade(Arrays):
    """How sure the plan of each site is (n,): a letter, and what would raise it."""

    certainty: TextColumn
    certainty_next: TextColumn


def graded(columns: Columns, network: Network, assumptions: Iterable[Assumption]) -> Columns:
    """Return the result fields of sites (n,) with their grades among them."""
    return with_step(columns, grade(columns, network, assumptions))


def grade(
    columns: Mapping[str, NDArray[Any]], network: Network, assumptions: Iterable[Assumption]
) -> Grade:
    """Return the grade of each site, and what to do for the next better one.

    Parameters
    ----------
    columns : mapping of arrays (n,)
        Result fields.
    network : Network
        Whose beams may give figures of their own.
    assumptions : iterable of Assumption
        What nobody gave.

    Returns
    -------
    Grade
        A: satellite's figures, pattern, noise, interference, kit and altitude given, the horizon
        surveyed. B: as A, horizon or altitude assumed. C: another of those assumed. D: EIRP, G/T
        or SFD assumed. E: the coordinates are doubted, or there is no answer.
    """
    letters = np.full(len(columns["site_id"]), "", dtype=object)
    words = letters.copy()
    for where, letter, sentence in _tests(columns, network, [a.key for a in assumptions]):
        here = where & (letters == "")
        letters[here], words[here] = letter, sentence
    return Grade(letters, words)


#: Where a letter's test holds (n,), the letter, and what to do about it.
_Test = tuple[BoolArray, str, str]


def _tests(
    columns: Mapping[str, NDArray[Any]], network: Network, assumed: list[str]
) -> Iterator[_Test]:
    """Yield the tests from E up, those of one letter together: the first that holds decides."""
    yield from _without_answer(columns)
    beams = _by_beam(columns, network, assumed)
    for where, keys in beams:
        yield from _assumed(where, "D", _DECIDING, keys)
    for where, keys in beams:
        for here, left in _without_own(where, columns, keys):
            yield from _assumed(here, "C", _SHIFTING, left)
    yield from _of_place(columns)


def _without_answer(columns: Mapping[str, NDArray[Any]]) -> Iterator[_Test]:
    told = english()
    unseen = np.isnan(columns["margin_db"])
    doubted = carrying(columns["flags"], frozenset([COORDINATE_DOUBT]))
    yield doubted, "E", told["certainty.E.doubted"]
    yield unseen, "E", told["certainty.E.no_answer"]


def _by_beam(
    columns: Mapping[str, NDArray[Any]], network: Network, assumed: list[str]
) -> list[tuple[BoolArray, list[str]]]:
    """Return the sites of each beam, and what is assumed there: a beam may give its own."""
    everywhere = np.ones(len(columns["site_id"]), dtype=bool)
    if not network.beams or "beam" not in columns:
        return [(everywhere, assumed)]
    found = []
    for beam in network.beams:
        tables = (("outbound", beam.outbound), ("inbound", beam.inbound), ("hub", beam.hub))
        own = {f"{name}.{key}" for name, of in tables for key in of.model_fields_set}
        found.append((columns["beam"] == beam.name, [key for key in assumed if key not in own]))
    return found


def _without_own(
    where: BoolArray, columns: Mapping[str, NDArray[Any]], assumed: list[str]
) -> Iterator[tuple[BoolArray, list[str]]]:
    """Yield the sites by what kit of theirs is given by installed one, and what is then assumed."""
    own = {
        table: where & ~np.logical_or.reduce([np.isnan(columns[name]) for name in names])
        for table, names in _OWN.items()
    }
    for antenna in (False, True):
        for buc in (False, True):
            here = where & (own["antennas"] == antenna) & (own["bucs"] == buc)
            if not here.any():
                continue
            spared = [t for t, given in (("antennas", antenna), ("bucs", buc)) if given]
            yield here, [key for key in assumed if not _of_kit(key, spared)]


def _of_kit(key: str, tables: list[str]) -> bool:
    """Whether a key is a figure of the kit of some tables."""
    return any(fits(key, like) for table in tables for like in _SHIFTING[table])


def _assumed(
    where: BoolArray, letter: str, kinds: Mapping[str, tuple[str, ...]], assumed: list[str]
) -> Iterator[_Test]:
    """Yield the test of figures of some kinds: any of them assumed."""
    told = english()
    found = [
        told[f"certainty.of.{kind}"]
        for kind, likes in kinds.items()
        if any(fits(key, like) for key in assumed for like in likes)
    ]
    if found:
        yield where, letter, told.one(f"certainty.{letter}", assumed=", ".join(found))


def _of_place(columns: Mapping[str, NDArray[Any]]) -> Iterator[_Test]:
    told = english()
    surveyed = np.array(["survey" in text for text in columns["horizon_source"]], dtype=bool)
    given = columns["altitude_source"] == "given"
    yield ~surveyed & ~given, "B", told["certainty.B.both"]
    yield ~surveyed, "B", told["certainty.B.horizon"]
    yield ~given, "B", told["certainty.B.altitude"]
    yield np.ones(len(given), dtype=bool), "A", told["certainty.A"]
