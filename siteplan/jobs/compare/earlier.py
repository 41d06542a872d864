"""An earlier plan, opened by its output folder: results, and inputs where it kept them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from siteplan.answers.differences import PlanNamed, Totals
from siteplan.arrays import BoolArray, TextArray
from siteplan.errors import NetworkError, ProjectError
from siteplan.frozen import frozen
from siteplan.jobs.compare.kept import INPUTS_NAME
from siteplan.jobs.opened import read_network
from siteplan.messages import english
from siteplan.model import Surroundings
from siteplan.planning.differences.replay import Inputs, State, served, state_of


@frozen
class Earlier:
    """An earlier plan: what it told of its sites (n,), and what it was made from.

    ``site_id`` and ``name`` are the sites', ``stands`` (n, 2) where an antenna and a BUC stood
    there already, ``made`` what ``inputs/methods.json`` tells, ``totals`` what the plan comes to in
    all. ``inputs`` is None where the plan kept none, or the table of results is not theirs: ``why``
    says which.
    """

    named: PlanNamed
    site_id: TextArray
    name: TextArray
    state: State
    served: BoolArray
    stands: BoolArray
    rejects: Mapping[str, str]
    made: Mapping[str, Any]
    totals: Totals
    inputs: Inputs | None = None
    why: str = ""


def open_earlier(folder: Path, called: str = "") -> Earlier:
    """Return the plan whose outputs stand in a folder, which goes by its own name or another.

    Raises
    ------
    SiteplanError
        If there is no plan, or it cannot be read.
    """
    from siteplan.inputs.earlier.results import read_json, read_rejects, read_results
    from siteplan.inputs.earlier.totals import read_totals

    if not folder.is_dir():
        raise ProjectError(
            "there is no such folder.",
            where=str(folder),
            fix="Give the output folder of a plan, such as output/my_project.",
        )
    columns, called = read_results(folder), called or folder.resolve().name
    state = state_of(columns)
    made = read_json(folder / INPUTS_NAME / "methods.json")
    summary = read_json(folder / "summary.json")
    named = PlanNamed(
        *(called, str(made.get("name") or summary.get("name") or "")),
        *(str(made.get("date") or summary.get("date") or ""), str(made.get("siteplan") or "")),
    )
    why = _why_none(folder, made, called)
    found = why or _inputs(folder, made, columns["site_id"], called)
    inputs, why = (None, found) if isinstance(found, str) else (found, "")
    own = columns if inputs is None else {"site_id": inputs.sites.site_id,
                                          "name": inputs.sites.name}  # fmt: skip
    fixed = np.stack([columns["fixed_antenna_m"], columns["fixed_buc_w"]], axis=1)
    totals = read_totals(folder, summary)
    return Earlier(named, own["site_id"], own["name"], state, served(state), ~np.isnan(fixed),
                   read_rejects(folder), made, totals, inputs, why)  # fmt: skip


#: The files without which nothing can be planned anew.
_NEEDED = ("methods.json", "network.toml", "sites.csv")


def _why_none(folder: Path, made: Mapping[str, Any], called: str) -> str:
    """Return why a plan's inputs are not to be had, in a sentence; '' where they are."""
    from siteplan.outputs.inputs.files import FORMAT

    kept, words = folder / INPUTS_NAME, english()
    if not kept.is_dir():
        return words.one("differences.no_inputs", folder=called)
    missing = [name for name in _NEEDED if not (kept / name).is_file()]
    if not missing and not made:
        missing = ["methods.json"]
    if missing:
        return words.one("differences.inputs_damaged", folder=called, files=" and ".join(missing))
    if made.get("format") != FORMAT:
        return words.one("differences.inputs_unlike", folder=called)
    return ""


def _inputs(folder: Path, made: Mapping[str, Any], site_id: TextArray, called: str) -> Inputs | str:
    """Return what a plan kept of its inputs, or why it is of no use, in a sentence.

    Parameters
    ----------
    folder : Path
        The plan's output.
    made : mapping
        What its ``methods.json`` tells.
    site_id : (n,) array of str
        The sites of its results: those of the inputs must be the same, in order.
    called : str
        What its folder is called.

    Raises
    ------
    ProjectError
        If a file is not as a plan writes it.
    """
    from siteplan.inputs.earlier.sites import read_kept_obstructions, read_kept_sites, unusable

    kept = folder / INPUTS_NAME
    sites = read_kept_sites(kept / "sites.csv")
    if list(map(_plain, sites.site_id)) != list(map(_plain, site_id)):
        return english().one("differences.inputs_apart", folder=called)
    around = kept / "obstructions.csv"
    known = read_kept_obstructions(around) if around.is_file() else None
    try:
        date = dt.date.fromisoformat(str(made.get("date")))
    except ValueError as error:
        raise unusable(kept / "methods.json", error) from None
    try:
        network = read_network(kept / "network.toml")
    except NetworkError as error:
        why = str(error).splitlines()[0]
        return english().one("differences.inputs_network", folder=called, why=why)
    except OSError as error:
        raise unusable(kept / "network.toml", error) from None
    return Inputs(network, sites, Surroundings(known), date)


def _plain(site: str) -> str:
    """Return an id as any table has it: without its guard, and what UTF-8 cannot hold replaced."""
    from siteplan.inputs.earlier.results import unguarded

    return unguarded(site).encode("utf-8", "replace").decode("utf-8")


def told_apart(old: Path, new: Path) -> tuple[str, str]:
    """Return what two folders are called: with those above them where their names are alike.

    >>> told_apart(Path("/a/output/x"), Path("/b/output/x"))
    ('a/output/x', 'b/output/x')
    >>> told_apart(Path("/a/x"), Path("/a/y"))
    ('x', 'y')
    """
    one, other = old.resolve(), new.resolve()
    if one == other:
        return one.name, other.name
    for parts in range(1, max(len(one.parts), len(other.parts)) + 1):
        names = tuple(Path(*of.parts[-parts:]).as_posix() for of in (one, other))
        if names[0] != names[1]:
            break
    return names[0], names[1]
