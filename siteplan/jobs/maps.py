"""The state of the cache of inflated maps."""

from __future__ import annotations


def map_cache_state(*, verify: bool = False, clear: bool = False) -> str:
    """Return where the inflated maps are kept and how many there are, in a sentence.

    ``verify`` checks every byte and drops what is bad; ``clear`` removes them all.
    """
    from siteplan.physics.propagation import map_cache as cache

    if clear:
        return f"{cache.clear()} maps removed from {cache.cache_root()}"
    bad = f", {len(cache.verify())} bad ones dropped" if verify else ""
    found = list(cache.files())
    size = sum(path.stat().st_size for path in found) / 1e6
    state = "in use" if cache.enabled() else "turned off"
    return f"{len(found)} maps, {size:.0f} MB, in {cache.cache_root()}, {state}{bad}"
