"""What ``siteplan budget`` prints: both directions of one site, line by line."""

from __future__ import annotations

from siteplan.answers.budget import Budget, BudgetLine, BudgetWay
from siteplan.outputs import budgets
from siteplan.outputs.console.terminal import console

#: Widths of a sign, of a figure, of a unit and of a basis, in letters.
_SIGN, _FIGURE, _UNIT, _BASIS = 3, 15, 9, 17
#: A terminal this wide shows where each figure comes from.
_WIDE = 150


def show_budget(of: Budget) -> None:
    """Print the link budget of a site; where there is no link, why."""
    out = console()
    out.print(f"{budgets.title(of)}\n{budgets.under_title(of)}")
    for sentence in of.notes:
        out.print(sentence)
    for way in of.ways:
        _show_way(way, wide=out.width >= _WIDE)
    if of.ways:
        out.print("\n" + "\n".join(budgets.READING))
        if out.width < _WIDE:
            out.print("A wider window, --page and --csv also tell where each figure comes from.")


def _show_way(way: BudgetWay, *, wide: bool) -> None:
    """Print one direction."""
    longest = max(len(line.label) for line in way.lines) + 1
    out = console()
    out.print(f"\n{budgets.way_title(way)}")
    for sentence in way.notes:
        out.print(sentence)
    for cells in (budgets.COLUMNS, budgets.shares(way)):
        out.print(" " * (_SIGN + longest) + "".join(cell.rjust(_FIGURE) for cell in cells))
    for part in way.parts:
        out.print(f"\n{part.heading}")
        for line in part.lines:
            out.print(_text(line, longest, wide=wide))


def _text(line: BudgetLine, longest: int, *, wide: bool) -> str:
    """Return a line with its figures under one another."""
    figures = "".join(text.rjust(_FIGURE) for text in budgets.figures(line))
    shown = f" {budgets.SIGNS[line.sign]}".ljust(_SIGN) + line.label.ljust(longest) + figures
    shown += f" {line.unit}".ljust(_UNIT)
    return (shown + line.basis.ljust(_BASIS) + line.source) if wide else shown + line.basis
