"""What every plan keeps of its inputs, for whoever compares it later: the folder ``inputs``."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from siteplan.model import Sites, Surroundings
from siteplan.network import Network
from siteplan.results import Plan
from siteplan.version import __version__

#: The folder in a plan's output.
INPUTS_NAME = "inputs"


def write_inputs(
    plan: Plan,
    network: Network,
    around: Surroundings,
    sites: Sites | Sequence[Path],
    folder: Path,
) -> None:
    """Write what a plan was made from.

    Parameters
    ----------
    plan : Plan
        For its date, its methods and the edition of its maps; of its sites any will do.
    network : Network
        As it was read.
    around : Surroundings
        What was known around the sites.
    sites : Sites, or sequence of Path
        The checked sites, or what `siteplan.outputs.inputs.sites.write_part` wrote of each part.
    folder : Path
        The folder that is made.
    """
    from siteplan.outputs.inputs.files import write_beside_sites
    from siteplan.outputs.inputs.sites import SITES_NAME, join_sites, write_sites

    folder.mkdir()
    write_beside_sites(network, around, made_by(plan, network), folder)
    if isinstance(sites, Sites):
        write_sites(sites, folder / SITES_NAME)
    else:
        join_sites(sites, folder / SITES_NAME)


def made_by(plan: Plan, network: Network) -> dict[str, Any]:
    """Return by what a plan was made: version, date, editions of methods and maps."""
    from siteplan.physics.angles.magnetic import MODEL_NAME, MODEL_START_YEAR
    from siteplan.physics.propagation.mapped.map_files import package_version
    from siteplan.physics.propagation.mapped.maps import EDITIONS
    from siteplan.planning.report.summary import methods
    from siteplan.planning.setting import clouds_of

    clouds = clouds_of(network)
    return {
        "siteplan": __version__,
        "name": plan.facts.name,
        "date": plan.facts.date,
        "methods": methods(plan.facts, plan.network),
        "maps": dict(EDITIONS) | {"package": f"itur {package_version()}"},
        "cloud_maps": {"edition": clouds.edition, "fingerprint": clouds.fingerprint},
        "magnetic_model": {"name": MODEL_NAME, "epoch": MODEL_START_YEAR},
    }
