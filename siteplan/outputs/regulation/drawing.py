"""mask_ANTENNA.svg: what an antenna radiates off its axis against each mask, a panel a mask.

Readable in grey: the limit is thick, the allowed power dashed, the used power dotted.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from siteplan.answers.licence import DensityLine, MaskCurves, MaskDrawing
from siteplan.outputs import svg
from siteplan.outputs.shown import amount
from siteplan.words import printable

#: The paper, and the field of a panel within it [units of the drawing].
WIDTH, PANEL, HEAD = 780.0, 462.0, 56.0
LEFT, RIGHT, ABOVE, BELOW = 76.0, 24.0, 40.0, 130.0
#: Steps of the scale of densities [dB].
_STEP_DB = 10
#: Angles that are written [deg].
_TICKS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 180)
_STYLE = (
    "text{font:13px sans-serif;fill:#111}.title{font-weight:bold;font-size:16px}"
    ".sub{fill:#444}.name{font-weight:bold}"
    "path,rect,circle{fill:none}.paper{fill:#fff}.frame{stroke:#333}.grid{stroke:#ddd}"
    ".mask{stroke:#111;stroke-width:3.5}"
    ".allowed{stroke:#1d5fa8;stroke-width:3;stroke-dasharray:10 5}"
    ".used{stroke:#c06014;stroke-width:2.2;stroke-dasharray:2 3}"
    ".touch{stroke:#111;stroke-width:1.5;fill:#fff}"
)
_FROM = {"axis": "the dish's axis", "satellite": "the line to the satellite"}


def drawing_text(of: MaskDrawing, *, simultaneous: int) -> str:
    """Return an antenna's drawing as the text of an SVG file.

    ``simultaneous`` is N of 10 log N that is taken off the limits of terminals.
    """
    height = HEAD + PANEL * len(of.panels)
    who = "Hub, antenna" if of.kind == "hub" else "Antenna"
    title = f"{who} of {amount(of.antenna_m, 'm')}: EIRP density off the axis"
    shared = simultaneous if of.kind != "hub" else 1
    less = f"; masks less {amount(10 * math.log10(shared), 'dB', 1)} for {shared} terminals"
    pattern = f"Side lobes: {of.tx_pattern}, co-polar, along the arc{less if shared > 1 else ''}"
    parts = [
        svg.box((0, 0), WIDTH, height, "paper"),
        svg.text((LEFT, 26), title, "title", anchor="start"),
        svg.text((LEFT, 46), pattern, "sub", anchor="start"),
    ]
    for number, panel in enumerate(of.panels):
        parts += _Panel(panel, HEAD + number * PANEL).parts(of)
    return svg.document(WIDTH, height, title, _STYLE, parts)


class _Panel:
    """One mask's panel: its scales, and what stands in it."""

    def __init__(self, of: MaskCurves, top: float) -> None:
        self.of, self.top = of, top
        points = [point for line in (*of.limit, of.allowed, of.used) for point in line]
        self.first_deg = min(angle for angle, _ in of.allowed)
        self.low = math.floor(min(dbw for _, dbw in points) / _STEP_DB) * _STEP_DB
        self.high = math.ceil(max(dbw for _, dbw in points) / _STEP_DB) * _STEP_DB
        self.low -= _STEP_DB if self.low == self.high else 0

    def at(self, angle_deg: float, dbw: float) -> svg.Point:
        """Return where an angle and a density stand."""
        across = math.log10(angle_deg / self.first_deg) / math.log10(180 / self.first_deg)
        up = (dbw - self.low) / (self.high - self.low)
        tall = PANEL - ABOVE - BELOW
        return LEFT + across * (WIDTH - LEFT - RIGHT), self.top + ABOVE + (1 - up) * tall

    def parts(self, of: MaskDrawing) -> Iterator[str]:
        """Yield the panel's pieces."""
        name = f"Mask {printable(self.of.mask)}"
        yield svg.text((LEFT, self.top + ABOVE - 12), name, "name", anchor="start")
        yield from self._scales()
        for line in self.of.limit:
            yield self._line(line, "mask")
        yield self._line(self.of.allowed, "allowed")
        yield self._line(self.of.used, "used")
        if not math.isnan(self.of.touches_deg):
            met = next(dbw for angle, dbw in self.of.allowed if angle == self.of.touches_deg)
            yield svg.circle(self.at(self.of.touches_deg, met), 5, "touch")
        yield from self._legend(of)
        edition = f"Mask: {printable(self.of.edition)}"
        yield svg.text((LEFT, self.top + PANEL - 20), edition, "sub", anchor="start")

    def _line(self, line: DensityLine, css: str) -> str:
        return svg.path([self.at(*point) for point in line], css)

    def _scales(self) -> Iterator[str]:
        """Yield grid, frame, and both axes with their units."""
        left, bottom = self.at(self.first_deg, self.low)
        right, top = self.at(180, self.high)
        for dbw in range(self.low, self.high + 1, _STEP_DB):
            yield svg.line(self.at(self.first_deg, dbw), self.at(180, dbw), "grid")
            y = self.at(180, dbw)[1] + 4
            yield svg.text((left - 8, y), amount(dbw, ""), anchor="end")
        for angle in _TICKS:
            if angle >= self.first_deg:
                yield svg.line(self.at(angle, self.low), self.at(angle, self.high), "grid")
                x = self.at(angle, self.low)[0]
                yield svg.text((x, bottom + 18), amount(angle, ""))
        yield svg.box((left, top), right - left, bottom - top, "frame")
        angles = f"Angle from {_FROM[self.of.angle_from]} [deg]"
        yield svg.text(((left + right) / 2, bottom + 40), angles)
        unit = f"EIRP density [dBW in {amount(self.of.reference_khz, 'kHz')}]"
        yield svg.text((right, self.top + ABOVE - 12), unit, anchor="end")

    def _legend(self, of: MaskDrawing) -> Iterator[str]:
        """Yield what each line is, in two columns below the field."""
        rows = [
            ("mask", "mask"),
            ("allowed", f"at the allowed {amount(of.allowed_feed_w, 'W', 3)} at the feed"),
            ("used", f"at the used {amount(of.used_feed_w, 'W', 3)} at the feed"),
        ]
        if not math.isnan(self.of.touches_deg):
            told = amount(self.of.touches_deg, "deg", 2)
            rows.append(("touch", f"tightest, at {told}: it sets the allowed power"))
        for number, (css, words) in enumerate(rows):
            x = LEFT + (number % 2) * (WIDTH - LEFT - RIGHT) / 2
            y = self.top + PANEL - 64 + number // 2 * 22
            if css == "touch":
                yield svg.circle((x + 28, y - 4), 5, css)
            else:
                yield svg.line((x + 8, y - 4), (x + 48, y - 4), css)
            yield svg.text((x + 58, y), words, anchor="start")
