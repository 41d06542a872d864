"""What the values of one column look like, added up chunk by chunk over the whole file."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import BoolArray, FloatArray, TextArray
from siteplan.inputs.bytewise.held import held
from siteplan.inputs.files.cells import as_texts, is_numeric, plain_numbers, unknown_mask
from siteplan.inputs.layout.packed import FORMS, packed_degrees, unpacked

#: The largest latitude, and the range of longitudes counted either way. [deg]
LAT_HIGHEST, LON_LOWEST, LON_HIGHEST = 90.0, -180.0, 360.0
#: A longer cell is no angle, nor a pair of them: the patterns below take their time over it.
LONGEST_POSITION = 120

_ANGLE = (
    r"[^\w]*[A-Za-z\u0400-\u04ff\u4e00-\u9fff.]{0,9}\s*[+-]?\d[\d\s.,:°º˚'’′\"”″\u4e00-\u9fffdm-]*"
    r"[^\d]{0,12}"
)
_SHAPE = (
    r"(?i)\s*(?:SRID=\d+;)?\s*(?:POINT|MULTIPOINT|LINESTRING|POLYGON)\b.*|\s*0[01][0-9a-f]{40,}"
)
_GEOJSON = r'(?i).*"coordinates"\s*:\s*\[.*'
_COMMA = r"[+-]?\d+,\d+"
#: Two plain numbers in one cell, with a height and an accuracy behind them or not.
PLAIN_PAIR = (
    r"[\s(\[]*(?P<a>[+-]?\d{1,3}(?:\.\d+)?)°?\s*(?:[,;/]|\s)\s*"
    r"(?P<b>[+-]?\d{1,3}(?:\.\d+)?)°?(?P<more>(?:[,;/\s]\s*[+-]?\d+(?:\.\d+)?){0,2})[\s)\]]*"
)
#: Two angles with letters, the latitude first, or the longitude.
LETTER_PAIR = r"(?P<a>.*\d.*?[NSns]|[NS].*\d[^EWO]*?)[\s,;/]+(?P<b>.*\d.*[EWOewo]|[EWO].*\d.*)"
BACK_PAIR = r"(?P<a>.*\d.*?[EWOewo]|[EWO].*\d[^NS]*?)[\s,;/]+(?P<b>.*\d.*[NSns]|[NS].*\d.*)"


@dataclass
class Facts:
    """What the cells of a column are.

    Of the ``filled`` cells ``numbers`` are plain numbers, from ``low`` to ``high``, ``negative``
    of them below zero, ``whole`` without decimals, ``as_lat`` and ``as_lon`` in degrees' range;
    ``angles`` look like an angle with marks or letters, ``shapes`` are points as text, ``pairs``
    two numbers; the rest is text. ``packed`` counts by (key, form) the numbers that can be
    degrees, minutes and seconds run together, ``whole_degrees`` those of a degree or more.
    """

    filled: int = 0
    numbers: int = 0
    low: float = np.inf
    high: float = -np.inf
    negative: int = 0
    whole: int = 0
    as_lat: int = 0
    as_lon: int = 0
    angles: int = 0
    shapes: int = 0
    pairs: int = 0
    first_beyond: int = 0
    second_beyond: int = 0
    four: int = 0
    lat_first: int = 0
    lon_first: int = 0
    example: str = ""
    packed: Counter[tuple[str, str]] = field(default_factory=Counter)
    whole_degrees: Counter[tuple[str, str]] = field(default_factory=Counter)

    def add(self, values: NDArray[Any]) -> None:
        """Add the cells (n,) of one more chunk."""
        numbers = plain_values(values)
        known = np.isfinite(numbers)
        self._add_numbers(numbers[known])
        self.filled += int(known.sum())
        if not self.example and known.any():
            self.example = str(values[int(known.argmax())]).strip()
        if not is_numeric(values) and not known.all():
            self._add_texts(as_texts(values[~known]))

    def _add_numbers(self, numbers: FloatArray) -> None:
        if not len(numbers):
            return
        self.numbers += len(numbers)
        self.low, self.high = min(self.low, numbers.min()), max(self.high, numbers.max())
        self.negative += int((numbers < 0).sum())
        self.whole += int((numbers == np.round(numbers)).sum())
        self.as_lat += int((np.abs(numbers) <= LAT_HIGHEST).sum())
        self.as_lon += int(((numbers >= LON_LOWEST) & (numbers <= LON_HIGHEST)).sum())
        beyond = numbers[np.abs(numbers) > LAT_HIGHEST]
        if len(beyond):
            self._add_packed(numbers)

    def _add_packed(self, numbers: FloatArray) -> None:
        for key, highest in (("lat", LAT_HIGHEST), ("lon", 180.0)):
            for form in FORMS:
                good = np.isfinite(packed_degrees(numbers, form, highest))
                self.packed[key, form] += int(good.sum())
                degrees = unpacked(numbers[good], form)[0]
                self.whole_degrees[key, form] += int((degrees >= 1).sum())

    def _add_texts(self, texts: TextArray) -> None:
        from pandas import Series

        texts = np.array([text.strip() for text in texts], dtype=object)
        cells = Series(texts[~unknown_mask(texts)], dtype=object)
        if not len(cells):
            return
        self.filled += len(cells)
        self.example = self.example or str(cells.iloc[0])[:60]
        shapes = cells.str.fullmatch(_SHAPE) | cells.str.fullmatch(_GEOJSON)
        self.shapes += int(shapes.sum())
        cells = cells[~shapes.astype(bool) & (cells.str.len() <= LONGEST_POSITION)]
        pairs = self._add_pairs(cells)
        angles = cells[~pairs].str.fullmatch(_ANGLE).astype(bool)
        self.angles += int(angles.sum())

    def _add_pairs(self, cells: Any) -> BoolArray:
        """Count cells of two numbers, and which of the two can be no latitude."""
        found = cells.str.extract(f"^{PLAIN_PAIR}$")
        a, b = (found[name].astype(float).to_numpy() for name in "ab")
        plain = np.isfinite(a) & ~cells.str.fullmatch(_COMMA).to_numpy(dtype=bool)
        self.first_beyond += int((plain & (np.abs(a) > LAT_HIGHEST)).sum())
        self.second_beyond += int((plain & (np.abs(b) > LAT_HIGHEST)).sum())
        more = found["more"].fillna("").str.split().str.len().to_numpy()
        self.four += int((plain & (more >= 2)).sum())
        lettered = cells.str.fullmatch(LETTER_PAIR).to_numpy(dtype=bool) & ~plain
        back = cells.str.fullmatch(BACK_PAIR).to_numpy(dtype=bool) & ~plain & ~lettered
        self.lat_first += int(lettered.sum())
        self.lon_first += int(back.sum())
        pairs = np.asarray(plain | lettered | back, dtype=bool)
        self.pairs += int(pairs.sum())
        return pairs

    def within(self, key: str) -> int:
        """Return how many cells can be a latitude or longitude as they stand."""
        # Degrees and minutes with a space between look like a pair.
        return (self.as_lat if key == "lat" else self.as_lon) + self.angles + self.pairs

    def fits(self, key: str) -> bool:
        """Whether most cells can be a latitude or longitude as they stand."""
        return self.filled > 0 and 2 * self.within(key) >= self.filled

    @property
    def metres(self) -> bool:
        """Whether most cells are numbers far beyond all degrees."""
        far = self.numbers - self.as_lon
        return self.filled > 0 and 2 * far > self.filled and max(-self.low, self.high) > 1000


def plain_values(values: NDArray[Any]) -> FloatArray:
    """Return plain numbers (n,), a comma for a point where it stands alone; NaN elsewhere."""
    if is_numeric(values):
        return values.astype(np.float64)
    from pandas import Series, to_numeric

    if held(values):
        numbers, plain = plain_numbers(values)
    else:
        numbers, plain = np.full(len(values), np.nan), np.zeros(len(values), dtype=bool)
    rest = to_numeric(Series(values[~plain], dtype=object), errors="coerce")
    numbers[~plain] = rest.to_numpy(dtype=np.float64)
    left = np.flatnonzero(np.isnan(numbers))
    if len(left):
        rest = Series(as_texts(values[left]), dtype=object).str.strip()
        comma = rest.str.fullmatch(_COMMA).to_numpy(dtype=bool)
        swapped = rest[comma].str.replace(",", ".", regex=False)
        numbers[left[comma]] = swapped.astype(float).to_numpy()
    return np.where(np.isfinite(numbers), numbers, np.nan)
