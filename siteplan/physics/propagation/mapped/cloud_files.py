"""Cloud maps that a user has: ITU-R P.840-9's annual maps, found by name and checked by shape.

The Recommendation's supplement holds a text grid for each percentage of the year, ``L_5.TXT`` for
5 %; numpy's form of the same is ``v9_l_5.npz``. A leading zero stands for a decimal: ``L_05`` is
0.5 %. Five of the maps matter here: gas and cloud are frozen below 5 %, and the method ends at
50 %.
"""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.frozen import frozen

#: Percentages of the year whose maps matter [%].
LEVELS_PCT = (5.0, 10.0, 20.0, 30.0, 50.0)
#: Rows and columns of each map, 0.25 degree apart.
SHAPE = (721, 1441)
#: What a map may be called.
EXPECTED = " or ".join(
    ", ".join(name.format(p) for p in LEVELS_PCT) for name in ("L_{:g}.txt", "v9_l_{:g}.npz")
)

_KINDS = (".txt", ".npz")
_PERCENTAGE = re.compile(r"(?:^|_)l_?(\d+(?:\.\d+)?)(?:_|$)")
#: The supplement's other grids: mean, deviation, the log-normal approximation's, the axes.
_COMPANION = re.compile(r"(?:v9_)?(?:l_mean|l_std|m_?l?|s_?l?|p_?l?|lat|lon)")
#: More than a line of a map takes.
_LONGEST_LINE = 1 << 16


class CloudFilesError(ValueError):
    """Maps that cannot be used: what is wrong, where, and what to do."""

    def __init__(self, what: str, *, where: str, fix: str) -> None:
        self.what, self.where, self.fix = what, where, fix
        super().__init__(f"{where}: {what} {fix}")


@frozen
class MapFile:
    """A file with one map, in a folder or inside a ZIP (``member``)."""

    path: Path
    member: str = ""

    @property
    def name(self) -> str:
        """Where it is, for messages."""
        return f"{self.path}, {self.member}" if self.member else str(self.path)

    @property
    def stem(self) -> str:
        """The file's own name without its ending, in small letters."""
        return Path(self.member or self.path).stem.lower()

    @property
    def is_text(self) -> bool:
        """Whether it is a grid in text."""
        return (self.member or self.path.name).lower().endswith(".txt")

    def content(self) -> bytes:
        """Return the file's bytes.

        Raises
        ------
        CloudFilesError
            If it cannot be read.
        """
        with _readable(self.name):
            if not self.member:
                return self.path.read_bytes()
            with zipfile.ZipFile(self.path) as archive:
                return archive.read(self.member)

    def checksum(self) -> int:
        """Return the CRC-32 of the file's bytes; a ZIP carries it."""
        with _readable(self.name):
            if not self.member:
                return zlib.crc32(self.path.read_bytes())
            with zipfile.ZipFile(self.path) as archive:
                return archive.getinfo(self.member).CRC

    def first_line(self) -> bytes:
        """Return the first line of a text."""
        with _readable(self.name):
            if not self.member:
                with self.path.open("rb") as file:
                    return file.readline(_LONGEST_LINE)
            with zipfile.ZipFile(self.path) as archive, archive.open(self.member) as part:
                return part.readline(_LONGEST_LINE)


@contextmanager
def _readable(name: str) -> Iterator[None]:
    """Turn what reading a file may raise into the refusal of it (a locked ZIP: RuntimeError)."""
    try:
        yield
    except (OSError, zipfile.BadZipFile, zlib.error, EOFError, RuntimeError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise CloudFilesError(
            f"it cannot be read ({reason}).",
            where=name,
            fix="Check its permissions, or fetch it anew.",
        ) from None


def find(place: Path) -> dict[float, MapFile]:
    """Return the files of the five maps by percentage [%], from a folder or a ZIP.

    Raises
    ------
    CloudFilesError
        If there is no such folder or ZIP, a map has no percentage in its name, two have the
        same, or one of the five is missing.
    """
    found: dict[float, MapFile] = {}
    for file in _files(place):
        p_pct = percentage(file.stem)
        if p_pct is None:
            _refuse_nameless(file)
            continue
        if p_pct in found:
            raise CloudFilesError(
                f"two maps for {p_pct:g} %: {found[p_pct].name} and {file.name}.",
                where=str(place),
                fix="Name the folder or ZIP of the annual maps alone.",
            )
        found[p_pct] = file
    missing = [f"{p:g}" for p in LEVELS_PCT if p not in found]
    if missing:
        raise CloudFilesError(
            f"of the five cloud maps those for {', '.join(missing)} % are missing.",
            where=str(place),
            fix=f"Expected names: {EXPECTED}.",
        )
    return {p: found[p] for p in LEVELS_PCT}


def percentage(stem: str) -> float | None:
    """Return the percentage [%] in the name of a map, None where it has none.

    >>> percentage("L_5"), percentage("v9_l_50"), percentage("L_05"), percentage("clouds")
    (5.0, 50.0, 0.5, None)
    """
    match = _PERCENTAGE.search(stem.lower())
    if match is None:
        return None
    digits = match[1]
    decimal = digits.startswith("0") and "." not in digits and len(digits) > 1
    return float(f"0.{digits[1:]}" if decimal else digits)


def _files(place: Path) -> list[MapFile]:
    """Return the files in a folder or a ZIP that may be maps."""
    with _readable(str(place)):
        folder = place.is_dir()
    if folder:
        with _readable(str(place)):
            paths = sorted(path for path in place.iterdir() if path.is_file())
        return [MapFile(path) for path in paths if _may_be_map(path.name)]
    with _readable(str(place)):
        there = place.exists()
    if not there:
        raise CloudFilesError(
            "there is no such folder or ZIP of cloud maps.",
            where=str(place),
            fix="Check the path; [methods] cloud_maps of a network.toml counts from the folder"
            " of that file.",
        )
    if not zipfile.is_zipfile(place) or place.suffix.lower() == ".npz":
        raise CloudFilesError(
            "it is neither a folder nor a ZIP of cloud maps.",
            where=str(place),
            fix=f"Name the folder or the ZIP that holds the five: {EXPECTED}.",
        )
    with _readable(str(place)), zipfile.ZipFile(place) as archive:
        # A member without a name is no folder, and asking whether it is one fails.
        named = (info for info in archive.infolist() if info.filename)
        members = sorted(info.filename for info in named if not info.is_dir())
    return [MapFile(place, member) for member in members if _may_be_map(Path(member).name)]


def _may_be_map(name: str) -> bool:
    return name.lower().endswith(_KINDS) and name[:1] not in (".", "~")


def _refuse_nameless(file: MapFile) -> None:
    """Refuse what has the shape of a map and no percentage in its name; pass over all else."""
    if _COMPANION.fullmatch(file.stem) or not _has_the_shape(file):
        return
    raise CloudFilesError(
        "it has the shape of a cloud map, and no percentage in its name.",
        where=file.name,
        fix=f"Expected names: {EXPECTED}.",
    )


def _has_the_shape(file: MapFile) -> bool:
    if file.is_text:
        return len(file.first_line().split()) == SHAPE[1]
    try:
        return _array(file).shape == SHAPE
    except CloudFilesError:
        return False


def read(file: MapFile) -> FloatArray:
    """Return the values of a map as the file has them (721, 1441) [kg/m2].

    Raises
    ------
    CloudFilesError
        If they are no numbers, of another shape, not a number (NaN) or below zero.
    """
    values = _numbers(file) if file.is_text else _array(file)
    fix = "Take the file anew from the supplement of ITU-R P.840-9."
    if values.shape != SHAPE:
        shape = " by ".join(map(str, values.shape))
        raise CloudFilesError(
            f"its shape is {shape}; the maps of P.840-9 are {SHAPE[0]} by {SHAPE[1]}.",
            where=file.name,
            fix=fix,
        )
    if values.dtype.kind not in "fiu":
        raise CloudFilesError("it does not hold numbers.", where=file.name, fix=fix)
    values = values.astype(np.float64, copy=False)
    bad = np.count_nonzero(~(np.isfinite(values) & (values >= 0)))
    if bad:
        raise CloudFilesError(
            f"{bad} of its values are not a number (NaN), infinite or below zero.",
            where=file.name,
            fix=fix,
        )
    return values


def _numbers(file: MapFile) -> FloatArray:
    """Return the numbers of a text grid."""
    content = file.content()
    try:
        if not content.strip():
            raise ValueError("it is empty")
        return np.loadtxt(io.BytesIO(content), comments=None, ndmin=2)
    except ValueError as error:
        raise CloudFilesError(
            f"it is no grid of numbers ({error}).",
            where=file.name,
            fix=f"A map is {SHAPE[0]} lines of {SHAPE[1]} numbers with spaces between.",
        ) from None


def _array(file: MapFile) -> FloatArray:
    """Return the one array of an npz file."""
    content = file.content()
    try:
        with np.load(io.BytesIO(content), allow_pickle=False) as archive:
            (name,) = archive.files
            values: FloatArray = archive[name]
    except (ValueError, OSError, EOFError, zipfile.BadZipFile, zlib.error, AttributeError) as error:
        raise CloudFilesError(
            f"it does not hold one array of numbers ({error}).",
            where=file.name,
            fix="Take the file anew.",
        ) from None
    return values
