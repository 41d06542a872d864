"""How margins, elevations and availabilities are spread, and which antenna goes with which BUC."""

from __future__ import annotations

from markupsafe import Markup

from siteplan.outputs.report.blocks import (
    Block,
    Figures,
    Section,
    Shown,
    Table,
    Text,
    Words,
    dish,
    sites,
)
from siteplan.outputs.report.charts import histogram
from siteplan.outputs.shown import amount, label
from siteplan.reported import Bars, Matrix

#: What a field's dashed line marks, and why some sites have no value.
_MARKED = {
    "margin_after_reserve_db": "Dashed: nothing left after the reserve.",
    "elevation_deg": "Dashed: the least elevation that is given kit.",
    "availability_achieved_pct": "Dashed: the target.",
}
_MISSING = {
    "margin_after_reserve_db": "without a margin: the satellite is not in view",
    "elevation_deg": "without: the satellite is below the horizon",
    "availability_achieved_pct": "without: under 50 %, or the satellite is not in view",
}
_IN_NO_BEAM = "in no beam, or the satellite is not in view"


def spread(shown: Shown) -> Section:
    """Return three histograms and the matrix of antennas by BUCs."""
    each, network = shown.report.bars, shown.plan.network
    beams = bool(network.beams or network.contours)
    figures = [
        (Markup(histogram(bars, _name(bars))), _caption(bars, beams))
        for bars in each
        if _counted(bars)
    ]
    blocks: list[Block] = [Figures(figures, "charts")] if figures else []
    blocks += [Words(_caption(bars, beams)) for bars in each if not _counted(bars)]
    return Section(
        "How the sites are spread",
        blocks + _matrix(shown.report.matrix, shown.plan.network.network.units),
    )


def _counted(bars: Bars) -> bool:
    """Return whether any site has a value."""
    return any(bars.planned) or any(bars.tried)


def _name(bars: Bars) -> str:
    return f"{label(bars.field)}: number of sites"


def _caption(bars: Bars, beams: bool) -> Markup:
    """Return the name of a histogram and what its marks and its gaps are.

    Where there are ``beams``, a site that none of them reaches has no margin either.
    """
    told = []
    inner = [m for m in bars.marks if bars.edges[0] < m < bars.edges[-1]]
    told += [_MARKED[bars.field]] if inner else []
    told += ["Hollow: tried, not planned."] if any(bars.tried) else []
    if bars.missing:
        missing = _MISSING[bars.field]
        if beams:
            missing = missing.replace("the satellite is not in view", _IN_NO_BEAM)
        told.append(f"{sites(bars.missing)} {missing}.")
    return Markup("<b>{}</b> {}").format(_name(bars), " ".join(told))


def _matrix(matrix: Matrix, units: str) -> list[Block]:
    """Return how many sites have which antenna with which BUC."""
    if not matrix.antennas_m:
        return [Words("Antennas by transmitters: none, for no site gets kit.")]
    heads = ("Antenna", *(f"with {amount(w, 'W')}" for w in matrix.bucs_w), "in all")
    rows: list[tuple[Text, ...]] = [
        (dish(m, units), *(str(n) if n else "" for n in line), str(sum(line)))
        for m, line in zip(matrix.antennas_m, matrix.sites, strict=True)
    ]
    every = zip(*matrix.sites, strict=True)
    sums = [sum(column) for column in every]
    rows.append(("in all", *(str(n) for n in sums), str(sum(sums))))
    numbers = frozenset(range(1, len(heads)))
    none = f" {sites(matrix.none)} without kit." if matrix.none else ""
    told = f"Sites by antenna and transmitter (BUC), kit that stands already counted.{none}"
    return [Words(told), Table(heads, rows, numbers, "small matrix")]
