"""An earlier plan, opened by its output folder: results, and inputs where it kept them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from siteplan.answers.differences import PlanNamed
from siteplan.arrays import BoolArray, TextArray
from siteplan.errors import ProjectError
from siteplan.jobs.compare.kept import INPUTS_NAME
from siteplan.jobs.opened import read_network
from siteplan.model import Surroundings
from siteplan.network import Network
from siteplan.planning.differences.replay import Inputs, State, served, state_of


@dataclass(frozen=True)
class Earlier:
    """An earlier plan: what it told of its sites (n,), and what it was made from.

    ``site_id`` and ``name`` are the sites', ``made`` what ``inputs/methods.json`` tells. ``inputs``
    is None where the plan kept none, or the table of results is not theirs.
    """

    named: PlanNamed
    site_id: TextArray
    name: TextArray
    state: State
    served: BoolArray
    rejects: Mapping[str, str]
    made: Mapping[str, Any]
    inputs: Inputs | None = None


def open_earlier(folder: Path) -> Earlier:
    """Return the plan whose outputs stand in a folder.

    Raises
    ------
    SiteplanError
        If there is no plan, or it cannot be read.
    """
    from siteplan.inputs.earlier.results import read_json, read_rejects, read_results

    if not folder.is_dir():
        raise ProjectError(
            "there is no such folder.",
            where=str(folder),
            fix="Give the output folder of a plan, such as output/my_project.",
        )
    columns = read_results(folder)
    state = state_of(columns)
    made = read_json(folder / INPUTS_NAME / "methods.json")
    summary = read_json(folder / "summary.json")
    named = PlanNamed(
        *(folder.resolve().name, str(made.get("name") or summary.get("name") or "")),
        *(str(made.get("date") or summary.get("date") or ""), str(made.get("siteplan") or "")),
    )
    inputs = _inputs(folder / INPUTS_NAME, made, len(columns["site_id"]))
    own = columns if inputs is None else {"site_id": inputs.sites.site_id,
                                          "name": inputs.sites.name}  # fmt: skip
    return Earlier(named, own["site_id"], own["name"], state, served(state), read_rejects(folder),
                   made, inputs)  # fmt: skip


def _inputs(folder: Path, made: Mapping[str, Any], rows: int) -> Inputs | None:
    """Return what a plan kept of its inputs; None where it kept nothing for so many rows."""
    from siteplan.inputs.earlier.sites import read_kept_obstructions, read_kept_sites, unusable

    if not made or not (folder / "sites.csv").is_file():
        return None
    sites = read_kept_sites(folder / "sites.csv")
    if len(sites) != rows:
        return None
    around = folder / "obstructions.csv"
    known = read_kept_obstructions(around) if around.is_file() else None
    try:
        date = dt.date.fromisoformat(str(made.get("date")))
    except ValueError as error:
        raise unusable(folder / "methods.json", error) from None
    return Inputs(_network(folder), sites, Surroundings(known), date)


def _network(folder: Path) -> Network:
    try:
        return read_network(folder / "network.toml")
    except OSError as error:
        raise ProjectError(str(error), where=INPUTS_NAME) from None
