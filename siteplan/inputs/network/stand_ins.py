"""What stands in for values that are wrong or missing, so that the other keys are checked too."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, get_args

from siteplan.network.costs import MountName
from siteplan.network.reference import KeyRow
from siteplan.network.spectrum.neighbours import is_same

#: Stands in for a satellite's position.
ANY_POSITION = 0.0
#: The same for the parts of a limit.
_ANY_SEGMENTS = ((1.0, 180.0, 0.0, 0.0),)
#: Kinds of mount, to stand in for one that is wrong.
_MOUNTS = get_args(MountName)


def value_for(row: KeyRow) -> Any:
    """Return what keeps the check going for a required key, None for others."""
    if not row.required:
        return None
    if row.kind == "segments":
        return _ANY_SEGMENTS
    return row.example if row.kind == "text" else 1.0


def entry_for(table: str, index: int, data: Mapping[str, Any]) -> dict[str, Any]:
    """Return an entry of a list that is right and no twin of another.

    Parameters
    ----------
    table : str
    index : int
        Which entry of the list it stands in for.
    data : mapping
        All tables, the list with the faulty entry among them.
    """
    others = [entry for k, entry in enumerate(data[table]) if k != index]
    if table in ("overlays", "cables"):
        return {"file" if table == "overlays" else "name": f"entry {index + 1} (taken out)"}
    if table == "mounts":
        taken = [entry.get("kind") for entry in others]
        return {"kind": next((m for m in _MOUNTS if m not in taken), _MOUNTS[0])}
    if table == "neighbours":
        own = data.get("satellite", {}).get("longitude_deg")
        return {"longitude_deg": _free_position([own, *(e.get("longitude_deg") for e in others)])}
    if table in _NAMED:
        return _NAMED[table](data[table][index], index)
    first = "diameter_m" if table == "antennas" else "rated_w"
    return {first: 1.0 + (index + 1) * 1e-6}


def _free_position(taken: Sequence[Any]) -> float:
    """Return an orbital position that is none of others."""
    numbers = [float(t) for t in taken if isinstance(t, int | float) and abs(t) < 1e9]
    places = (float(k) for k in range(-180, 180))
    return next(p for p in places if not any(is_same(p, number) for number in numbers))


def _contours(faulty: Mapping[str, Any], index: int) -> dict[str, Any]:
    """Return contours that keep the name of their beam."""
    name, whole = faulty.get("beam"), {"lat": 0.0, "lon": 0.0, "major_deg": 1.0, "minor_deg": 1.0}
    kept = {"beam": name} if isinstance(name, str) and len(name) <= 60 else {}
    return {"direction": "down", "peak": 1.0, **whole, **kept}


def _mask(faulty: Mapping[str, Any], index: int) -> dict[str, Any]:
    """Return a limit that keeps its name, by which another table knows it."""
    return {
        "name": _name(faulty, index),
        "reference_khz": 40.0,
        "segments": _ANY_SEGMENTS,
    }


def _name(faulty: Mapping[str, Any], index: int) -> str:
    """Return the name by which other tables know an entry, or one that stands in for it."""
    name = faulty.get("name")
    kept = isinstance(name, str) and 0 < len(name) <= 60
    return str(name) if kept else f"entry {index + 1} (taken out)"


def _beam(faulty: Mapping[str, Any], index: int) -> dict[str, Any]:
    """Return a beam that keeps its name."""
    return {"name": _name(faulty, index)}


#: What stands in for entries that other tables know by their names, or name others themselves.
_NAMED: dict[str, Callable[[Mapping[str, Any], int], dict[str, Any]]] = {
    "contours": _contours,
    "masks": _mask,
    "beams": _beam,
}
