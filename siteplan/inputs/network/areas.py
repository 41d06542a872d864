"""The files that ``[[beams]]`` name: the polygons in which each beam serves."""

from __future__ import annotations

from pathlib import Path

from siteplan.errors import NetworkError, ProjectError
from siteplan.inputs.network.named import named_file
from siteplan.network import Beam, Network


def with_areas(network: Network, folder: Path) -> Network:
    """Return a network that holds the polygons of the service areas that its beams name.

    Parameters
    ----------
    network : Network
    folder : Path
        Where names of files count from.

    Returns
    -------
    Network
        The same one where it names no file. An area that a beam has already stays.

    Raises
    ------
    NetworkError
        A file is missing or cannot be used: with its name and what to do.
    """
    if not network.area_files:
        return network
    read = tuple(_filled(beam, folder, k) for k, beam in enumerate(network.beams, 1))
    return network.model_copy(update={"beams": read})


def _filled(beam: Beam, folder: Path, number: int) -> Beam:
    if not beam.lacks_area or beam.area is None:
        return beam
    from siteplan.inputs.area import read_area

    path = named_file(beam.area, folder, f"[[beams]] no. {number} area")
    try:
        area = read_area(path)
    except ProjectError as error:
        raise NetworkError(error.what, where=error.where, fix=error.fix) from None
    return beam.model_copy(update={"area_wkt": area.wkt})
