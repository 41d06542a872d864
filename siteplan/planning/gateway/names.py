"""What each hub of a network is called, so that none is taken for another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from siteplan.messages import english
from siteplan.planning.setting import Setting

#: What the only hub is called, in results and within a sentence.
_NAME: Final = "hub"


def hub_names(groups: Sequence[Sequence[Setting]]) -> tuple[str, ...]:
    """Return what the hub of each group of passes is called, all of them unlike.

    A hub is told from others by the first of the beams that it serves. One that sends several sets
    of carriers is one hub, whose sets are told apart by theirs.

    Parameters
    ----------
    groups : sequence of sequences of Setting
        Passes that are told together.
    """
    if len(groups) == 1:
        return (_NAME,)
    stations: dict[str, list[str]] = {}
    for group in groups:
        stations.setdefault(station_of(group[0]), []).extend(_beams_of(group))
    return tuple(_called(group, stations) for group in groups)


def _called(group: Sequence[Setting], stations: Mapping[str, Sequence[str]]) -> str:
    mine, all_of = _beams_of(group), stations[station_of(group[0])]
    words, more = english(), f" and {len(mine) - 1} more" if len(mine) > 1 else ""
    if len(all_of) == len(mine):
        return words.one("hub.of", beam=mine[0], more=more)
    if len(stations) == 1:
        return words.one("hub.one.carriers", beam=mine[0], more=more)
    others = f" and {len(all_of) - 1} more"
    return words.one("hub.of.carriers", hub=all_of[0], others=others, beam=mine[0], more=more)


def _beams_of(group: Sequence[Setting]) -> list[str]:
    return [name for shared in group for name in shared.own]


def station_of(shared: Setting) -> str:
    """Return what is the same of passes that one hub serves: all of ``[hub]``."""
    return shared.network.hub.model_dump_json()


def spoken(name: str) -> str:
    """Return a hub's name as it stands within a sentence.

    >>> spoken("hub"), spoken("Hub of West")
    ('the hub', 'the hub of West')
    """
    return f"the {name[:1].lower()}{name[1:]}"
