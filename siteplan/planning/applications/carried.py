"""Which applications each site has, and the target that follows from them."""

from __future__ import annotations

import numpy as np

from siteplan.arrays import BoolArray, FloatArray, TextArray
from siteplan.errors import SitesError
from siteplan.model import Sites
from siteplan.network import Network
from siteplan.network.capacity.applications import Asked, known_text, named, unknown

#: The column of the sites table that names them.
COLUMN = "applications"


def asked(network: Network) -> tuple[Asked, ...]:
    """Return what each application of a network asks for, in the file's order."""
    return tuple(of.asked(network.traffic) for of in network.applications)


def carried(sites: Sites, network: Network) -> BoolArray:
    """Return which applications sites (n,) have (n, k): those named, else those of ``[network]``.

    Raises
    ------
    SitesError
        If a site names one that the network file does not list.
    """
    if any(unknown(named(text), network.applications) for text in set(sites.applications.tolist())):
        check_known(sites, network)
    return of_texts(sites.applications, len(sites), network)


def of_texts(texts: TextArray | None, n: int, network: Network) -> BoolArray:
    """Return which applications n sites have by what their cells say (n, k), all names known."""
    each = [of.name for of in network.applications]
    if texts is None or not each:
        return np.zeros((n, len(each)), dtype=bool)
    rows: dict[str, int] = {}
    which = [rows.setdefault(text, len(rows)) for text in texts.tolist()]
    found = np.zeros((len(rows), len(each)), dtype=bool)
    for text, row in rows.items():
        own = named(text) or network.network.applications
        found[row] = [name in own for name in each]
    return np.asarray(found[np.array(which, dtype=np.intp)])


def check_known(sites: Sites, network: Network, source: str = "") -> None:
    """Raise where a site names an application that the network file does not list.

    Raises
    ------
    SitesError
        Naming the row, and the applications that are known.
    """
    for text in dict.fromkeys(sites.applications.tolist()):
        if not (wrong := unknown(named(text), network.applications)):
            continue
        first = int(np.flatnonzero(sites.applications == text)[0])
        raise SitesError(
            f"there is no application {wrong[0]!r}; {known_text(network.applications)}.",
            where=f"{source or 'sites'}, row {int(sites.source_row[first])}, {COLUMN}",
            fix="Write a known name (several are joined by ';'), leave the cell empty, or list"
            " it with the network's applications; a column that means something else wants another"
            " heading.",
        )


def targets_pct(sites: Sites, network: Network) -> FloatArray:
    """Return the availability targets of sites (n,) [%].

    A site's own; else the highest of its applications'; else that of ``[network]``.
    """
    usual = np.full(len(sites), network.network.availability_pct)
    if network.applications:
        highest = np.fmax.reduce(_theirs_pct(sites, network), axis=1, initial=np.nan)
        usual = np.where(np.isnan(highest), usual, highest)
    return np.where(np.isnan(sites.availability_pct), usual, sites.availability_pct)


def target_sources(sites: Sites, network: Network) -> TextArray:
    """Return where the targets of sites (n,) come from, in words.

    Of applications that ask for the same the first of the network file is named.
    """
    theirs = _theirs_pct(sites, network)
    names = np.array([f"application {of.name}" for of in network.applications], dtype=object)
    highest = names[np.argmax(np.nan_to_num(theirs, nan=-1.0), axis=1)]
    usual = np.where(np.isnan(theirs).all(axis=1), "network file", highest)
    return np.where(np.isnan(sites.availability_pct), usual, "sites table").astype(object)


def _theirs_pct(sites: Sites, network: Network) -> FloatArray:
    """Return what each application of sites (n, k) asks for [%]; NaN where it asks nothing."""
    each = [of.availability_pct for of in asked(network)]
    known = np.array([np.nan if x is None else x for x in each])
    return np.where(carried(sites, network), known, np.nan)


def names(sites: Sites, network: Network) -> TextArray:
    """Return the names of the applications of sites (n,), joined by ``; ``."""
    usual = network.network.applications
    each: dict[str, str] = {}
    for text in set(sites.applications.tolist()):
        own = named(text) or usual
        each[text] = "; ".join(of.name for of in network.applications if of.name in own)
    return np.array([each[text] for text in sites.applications.tolist()], dtype=object)
