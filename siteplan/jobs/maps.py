"""The maps: the state of the cache of inflated ones, the editions in use, the user's own."""

from __future__ import annotations

from pathlib import Path


def map_cache_state(*, verify: bool = False, clear: bool = False) -> str:
    """Return where the inflated maps are kept and how many there are, in a sentence.

    ``verify`` checks every byte and drops what is bad; ``clear`` removes them all, and the
    compiled templates beside them.
    """
    from siteplan.outputs.paper import compiled
    from siteplan.physics.propagation.mapped import map_cache as cache

    if clear:
        compiled.clear(cache.cache_root())
        return f"{cache.clear()} maps removed from {cache.cache_root()}"
    bad = f", {len(cache.verify())} bad ones dropped" if verify else ""
    found = list(cache.files())
    size = sum(path.stat().st_size for path in found) / 1e6
    state = "in use" if cache.enabled() else "turned off"
    return f"{len(found)} maps, {size:.0f} MB, in {cache.cache_root()}, {state}{bad}"


def keep_templates() -> None:
    """Keep compiled templates beside the inflated maps, unless the cache is turned off."""
    from siteplan.outputs.paper.page import keep_compiled
    from siteplan.physics.propagation.mapped import map_cache as cache

    if cache.enabled():
        keep_compiled(cache.cache_root())


def map_editions() -> list[tuple[str, str, str]]:
    """Return quantity, edition and source of each map in use where a project names none.

    Raises
    ------
    MapsError
        If cloud maps were added that cannot be used.

    Examples
    --------
    >>> map_editions()[0][:2], map_editions()[-1][0]
    (('rain rate', 'P.837-7'), 'clouds')
    """
    from siteplan.physics.propagation.mapped import cloud_maps
    from siteplan.physics.propagation.mapped.map_files import package_version
    from siteplan.physics.propagation.mapped.maps import EDITIONS
    from siteplan.planning.setting import told_as_ours

    with told_as_ours():
        clouds = cloud_maps.in_use()
    package = f"itur {package_version()}"
    source = clouds.place if clouds.place else package
    return [(name, edition, package) for name, edition in EDITIONS] + [
        ("clouds", clouds.edition, source)
    ]


def add_cloud_maps(place: str | Path) -> Path:
    """Keep ITU-R P.840-9's annual cloud maps for all projects; return the folder.

    Parameters
    ----------
    place : path
        Folder or ZIP of the maps, as the Recommendation's supplement has them. They are checked;
        maps that were added before are replaced. Deleting the folder takes them out again.

    Raises
    ------
    MapsError
        If the maps cannot be used or not be written.
    """
    from siteplan.physics.propagation.mapped import cloud_maps
    from siteplan.planning.setting import told_as_ours

    with told_as_ours():
        return cloud_maps.add(Path(place))
