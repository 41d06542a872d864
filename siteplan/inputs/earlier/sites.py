"""The sites and obstacles that an earlier plan kept in ``inputs/``, read back bit for bit.

They were checked when that plan was made: nothing is doubted, mended or guessed again.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import fields
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import TextArray
from siteplan.errors import ProjectError
from siteplan.model import Note, Obstructions, Sites

if TYPE_CHECKING:
    import pyarrow as pa

#: The column of the notes.
_NOTES = "notes"
#: Headings of the obstructions' file by the name of ours.
_AROUND = {"from_deg": "azimuth_from_deg", "to_deg": "azimuth_to_deg"}
_FIX = "Compare by results only: take the folder inputs away. Or make the plan again."


def read_kept_sites(path: Path) -> Sites:
    """Return the sites that a plan kept.

    Raises
    ------
    ProjectError
        If the file is not as a plan writes it.
    """
    blank = Sites.at(np.zeros(0), np.zeros(0))
    kinds = {f.name: getattr(blank, f.name).dtype for f in fields(blank)
             if f.name not in (_NOTES, "extra")}  # fmt: skip
    table = read_columns(path, {**kinds, _NOTES: np.dtype(object)}, _bare)
    columns: dict[str, Any] = {name: table[name] for name in kinds}
    return Sites(**columns, notes=_notes(table[_NOTES], path))


def read_kept_obstructions(path: Path) -> Obstructions:
    """Return the obstacles that a plan kept.

    Raises
    ------
    ProjectError
        If the file is not as a plan writes it.
    """
    kinds = {f.name: np.dtype(_kind(f.name)) for f in fields(Obstructions)}
    named = {_AROUND.get(name, name): kind for name, kind in kinds.items()}
    table = read_columns(path, named, _bare)
    return Obstructions(**{name: table[_AROUND.get(name, name)] for name in kinds})


def _kind(name: str) -> type:
    return {"site_id": object, "kind": object, "source_row": np.int64}.get(name, np.float64)


def read_columns(
    path: Path, kinds: Mapping[str, np.dtype[Any]], bare: Callable[[str], str]
) -> dict[str, NDArray[Any]]:
    """Return columns (n,) of a CSV by name; one that is not there is blank.

    Parameters
    ----------
    path : Path
        As siteplan writes it.
    kinds : mapping
        What each column holds: texts, numbers, or whole numbers.
    bare : callable
        Takes the guard against formulas off a text.

    Raises
    ------
    ProjectError
        If it cannot be read so.
    """
    import pyarrow as pa
    from pyarrow import csv

    arrow = {"O": pa.string(), "i": pa.int64(), "f": pa.float64()}
    try:
        table = csv.read_csv(
            path,
            parse_options=csv.ParseOptions(newlines_in_values=True),
            convert_options=csv.ConvertOptions(
                column_types={name: arrow[kind.kind] for name, kind in kinds.items()},
                include_columns=list(kinds),
                include_missing_columns=True,
                null_values=[""],
            ),
        )
        return {name: _as_numpy(table.column(name), kind, bare) for name, kind in kinds.items()}
    except (OSError, ValueError, TypeError) as error:
        raise unusable(path, error) from None


def _bare(text: str) -> str:
    """Return a text without its first apostrophe, which is never the user's."""
    return text[1:] if text[:1] == "'" else text


def _as_numpy(
    column: pa.ChunkedArray, kind: np.dtype[Any], bare: Callable[[str], str]
) -> NDArray[Any]:
    """Return a column as numpy: texts without their guard, '' for none; numbers NaN for none."""
    if kind.kind == "O":
        texts = [bare(text) for text in column.fill_null("").to_pylist()]
        return np.array([*texts, None], dtype=object)[:-1]
    if kind.kind == "i" and column.null_count:
        raise ValueError("a whole number is missing")
    found: NDArray[Any] = np.asarray(column.to_numpy(), dtype=kind)
    return found


def unusable(path: Path, why: object) -> ProjectError:
    """Return the error of a file that is not as a plan writes it, with the plan's folder."""
    above = path.resolve().parents
    plan = f"{above[1].name}/" if path.parent.name == "inputs" else ""
    return ProjectError(
        f"it is not as a plan writes it: {str(why).splitlines()[0][:200]}.",
        where=f"{plan}{above[0].name}/{path.name}",
        fix=_FIX,
    )


def _notes(texts: TextArray, path: Path) -> Mapping[int, tuple[Note, ...]]:
    """Return the notes of each site that has any."""
    try:
        return MappingProxyType(
            {
                index: tuple(
                    Note(code, key, tuple((name, value) for name, value in values))
                    for code, key, values in json.loads(text)
                )
                for index, text in enumerate(texts.tolist())
                if text
            }
        )
    except (ValueError, TypeError) as error:
        raise unusable(path, error) from None
