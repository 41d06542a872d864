"""What it would take, in sentences: the same on card, sheet, terminal, list and report."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache

import numpy as np

from siteplan.answers import NETWORK_WIDE, Remedy, Setting
from siteplan.arrays import telling
from siteplan.messages import english
from siteplan.network.reference import NETWORK_SHEET, list_sheets
from siteplan.outputs.shown import SiteValues, amount, whole_or_short
from siteplan.results import Plan

#: What stands over a site's remedies.
HEADING = "What it would take"
#: What each kind of change is called where sites are counted by the best of theirs.
WORDS: Mapping[str, str] = {
    "hub_control": "power control at the hub",
    "hub_amplifier": "a larger amplifier at the hub",
    "terminal_control": "power control at the sites",
    "buc": "a larger BUC",
    "antenna": "a larger antenna",
    "kit": "other kit than stands there",
    "modcod": "a more robust MODCOD",
    "modcods": "more robust MODCODs both ways",
    "beyond": "an antenna beyond the catalogue",
    "target": "a lower target",
    "coordinates": "coordinates to check",
    "below_horizon": "another satellite (below the horizon)",
    "outside_beam": "another beam (in none)",
    "low": "a satellite that stands higher",
    "blocked": "a clear way for the beam",
    "off_axis": "less power, or kit within the masks off axis",
    "nothing": "nothing that was tried",
}
#: Changes of the network: they move every other site as well.
_OF_NETWORK = frozenset(("hub_control", "hub_amplifier", "terminal_control", "modcod", "modcods"))
#: How sites stand that no change of kit or settings helps, by the code that says why.
_STATES = {
    "coordinates": "coordinates to check",
    "below_horizon": "below the horizon",
    "outside_beam": "in no beam",
    "low": "below the least elevation",
    "blocked": "blocked",
    "off_axis": "over a mask off axis",
}


def told(remedy: Remedy) -> str:
    """Return a remedy as a sentence: the change, what it buys, and what is then.

    >>> told(Remedy("A", "antenna", "2.4 m antenna instead of 1.8 m", 2.31, 0.2, True))
    '2.4 m antenna instead of 1.8 m: +2.3 dB, then served'
    """
    if not remedy.helps:
        return remedy.change
    after = remedy.margin_after_reserve_db
    size = amount(abs(float(telling(np.array(after)))), "dB")
    if not remedy.served:
        then = f"still {size} short of the reserve"
    elif state(remedy) == "tight":
        then = f"{size} after reserve"
    else:
        then = "served"
    told = f"{remedy.change}: +{amount(remedy.buys_db, 'dB', 1)}, then {then}"
    return "".join((told, *(f"; {more}" for more in besides(remedy))))


def besides(remedy: Remedy) -> Iterator[str]:
    """Yield what else a change brings: another mount, and that it moves the whole network."""
    if mount := on_mount(remedy):
        yield mount
    if remedy.reach == NETWORK_WIDE:
        yield english()["remedy.network_wide"]


def on_mount(remedy: Remedy) -> str:
    """Return on which mount the antenna of a change stands; empty where on the one planned.

    Where none is planned, only a mount that is to be surveyed is told.
    """
    words = english()
    if not remedy.mount or remedy.mount == remedy.mount_was:
        return ""
    mount = words[f"remedy.mount.on.{remedy.mount}"]
    open_ = ".open" if remedy.mount_open else ""
    if remedy.mount_was:
        was = words[f"remedy.mount.on.{remedy.mount_was}"]
        return words.one(f"remedy.mount.other{open_}", mount=mount, was=was)
    return words.one("remedy.mount.new.open", mount=mount) if open_ else ""


def state(remedy: Remedy) -> str:
    """Return how a remedy's site stands as it is planned: unserved, tight, or what hinders it."""
    if not remedy.helps:
        return _STATES.get(remedy.code) or ("tight" if remedy.served else "unserved")
    before = round(remedy.margin_after_reserve_db - remedy.buys_db, 6)
    return "tight" if before >= 0 else "unserved"


def to_set(remedy: Remedy, v: SiteValues) -> str:
    """Return what to set for a remedy: keys of the network, columns of the sites.

    Each where the user has it: in the files of a project, or on the sheets of its workbook.
    """
    wanted = [one for one in remedy.sets if not one[1].startswith("fixed_")]
    return "; ".join(_setting(one, v) for one in wanted)


def _setting(of: Setting, v: SiteValues) -> str:
    """Return one key with its value; one that the site's beam has of its own is changed there."""
    table, key, value = of
    called = v.plan.facts.called
    quoted = f'"{value}"' if isinstance(value, str) else whole_or_short(value)
    if table == "sites":
        where = f"sheet {called.sheet}" if called.sheet else "sites"
        return f"{where}: {called.heading(key)} = {quoted}"
    beam = next((b for b in v.plan.network.beams if b.name == v["beam"]), None)
    if beam is not None and key in getattr(getattr(beam, table, None), "model_fields_set", ()):
        names = {listed: sheet for sheet, listed in list_sheets().items()}
        where = f"sheet {names['beams']}," if called.sheet else "[[beams]]"
        return f'{where} "{beam.name}", {table}: {key} = {quoted}'
    if called.sheet:
        return f"sheet {NETWORK_SHEET}: {table}.{key} = {quoted.strip(chr(34))}"
    return f"[{table}] {key} = {quoted}"


def by_site(remedies: Iterable[Remedy]) -> dict[str, list[Remedy]]:
    """Return remedies by the id of their site, the best of each first."""
    found: dict[str, list[Remedy]] = {}
    for remedy in remedies:
        found.setdefault(remedy.site_id, []).append(remedy)
    return found


class _Held:
    """Remedies of a plan, told from others by being the same ones: to be remembered by."""

    def __init__(self, remedies: tuple[Remedy, ...]) -> None:
        self.remedies = remedies

    def __hash__(self) -> int:
        """Return what tells one tuple from another."""
        return id(self.remedies)

    def __eq__(self, other: object) -> bool:
        """Return whether the other holds the same tuple."""
        return isinstance(other, _Held) and other.remedies is self.remedies


@lru_cache(maxsize=1)
def _indexed(held: _Held) -> dict[str, list[Remedy]]:
    return by_site(held.remedies)


def of_site(plan: Plan, site_id: str) -> list[Remedy]:
    """Return the remedies of one site of a plan, the best first; none where none is needed."""
    return _indexed(_Held(plan.facts.remedies)).get(site_id, [])


def counted(best: Mapping[str, int]) -> str:
    """Return in words how many sites each kind of change is the best of; empty for none."""
    if not best:
        return ""
    wide = f" ({english()['remedy.network_wide']})"
    kinds = "; ".join(
        f"{WORDS[code]}{wide if code in _OF_NETWORK else ''} {count}"
        for code, count in best.items()
    )
    return f"{HEADING} for {sum(best.values())} unserved or tight sites, the best of each: {kinds}."
