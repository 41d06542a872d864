"""What was assumed because nobody gave it, what matters most first."""

from __future__ import annotations

from siteplan.outputs.report.blocks import Block, Section, Shown, Table, Text, Words
from siteplan.outputs.report.words import WEIGHTS
from siteplan.outputs.shown import choice, stated
from siteplan.reported import Ranked

#: Figures that are listed.
MOST = 26
#: Values of one heading that are told.
_VALUES = 4


def assumed(shown: Shown) -> Section:
    """Return the assumed figures by how much they matter; the least of them only counted."""
    heading, ranked = "Assumed, for nobody gave it", shown.report.ranked
    if not ranked:
        blocks: list[Block] = [Words("Nothing: every figure was given.")]
        return Section(heading, blocks)
    shown_ones = [r for r in ranked if r.weight != "little"][:MOST]
    heads = ("Figure", "Assumed", "It", "Why it matters")
    rows: list[tuple[Text, ...]] = [
        (r.label, _values(r), WEIGHTS[r.weight], r.reason) for r in shown_ones
    ]
    total = sum(len(r.values) for r in ranked)
    left = total - sum(len(r.values) for r in shown_ones)
    told = f"{total} figures, the weightiest first. Confirm those that decide before ordering."
    blocks = [Words(told), Table(heads, rows, css="small assumed")]
    if left:
        blocks.append(Words(f"{left} more of less weight stand in the list of what was assumed,"
                            " in the map and in summary.json.", "small"))  # fmt: skip
    return Section(heading, blocks)


def _values(ranked: Ranked) -> str:
    """Return the values that were assumed, each once."""
    texts = [stated(choice(a.value), a.unit if a.value[:1] in "-.0123456789"
                    else "") for a in ranked.values]  # fmt: skip
    each = list(dict.fromkeys(texts))
    more = f" and {len(each) - _VALUES} more" if len(each) > _VALUES else ""
    return ", ".join(each[:_VALUES]) + more
