"""The differences between two plans as CSV, of sites and of totals, and as a page to print."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from siteplan.answers.differences import Change, Differences, SiteChange, SiteMoved
from siteplan.outputs.assets import asset
from siteplan.outputs.differences import totals, words
from siteplan.outputs.escaping import CsvWriter
from siteplan.outputs.shown import fixed

#: What is written.
OUTPUT_NAMES = ("differences.csv", "differences_totals.csv", "differences.html")
#: Headings of the table before those of the groups' shares of a change of margin.
HEADINGS = ("site_id", "name", "what", "from", "to", "cause", "margin_change_db")
#: Decimals of the shares: so many that sums hold to a millionth.
_DECIMALS = 6
#: Most sites of each list on the page; the table has all of them.
MOST_SITES = 60


def write_differences(found: Differences, folder: Path) -> None:
    """Write both tables and the page into a folder that exists."""
    with (folder / OUTPUT_NAMES[0]).open("w", encoding="utf-8", errors="replace", newline="") as f:
        writer = CsvWriter(f)
        writer.writerow([*HEADINGS, *(f"{words.column(group)}_db" for group in words.COLUMNS)])
        writer.writerows(rows(found))
    with (folder / OUTPUT_NAMES[1]).open("w", encoding="utf-8", errors="replace", newline="") as f:
        writer = CsvWriter(f)
        writer.writerow(totals.HEADINGS)
        writer.writerows(map(totals.cells, found.totals))
    (folder / OUTPUT_NAMES[2]).write_text(page(found), encoding="utf-8", errors="replace")


def rows(found: Differences) -> Iterator[tuple[str, ...]]:
    """Yield the rows of the table: sites that are gone and added, then each change of the others.

    The shares of the groups stand beside the change of margin, so that each counts once.
    """
    blank = ("",) * (1 + len(words.COLUMNS))
    for what, moved in (("gone", found.gone), ("added", found.added)):
        for site in moved:
            yield (site.site_id, site.name, what, "", "", site.why, *blank)
    for changed in found.sites:
        for change in changed.changes:
            shares = _shares(changed) if change.what == "margin_db" else blank
            cause = words.cause(change)
            yield (changed.site_id, changed.name, change.what, change.old, change.new, cause,
                   *shares)  # fmt: skip


def _shares(site: SiteChange) -> tuple[str, ...]:
    """Return the whole change of a margin, and the share of each group in it; blank for none."""
    shares = dict.fromkeys(words.COLUMNS, 0.0)
    for groups, change in site.margin_by_group:
        if groups:
            shares[words.share_of(groups)] += change
    known = any(groups for groups, _ in site.margin_by_group)
    return (_number(site.margin_change_db),
            *(_number(share) if known else "" for share in shares.values()))  # fmt: skip


def _number(value: float) -> str:
    return "" if math.isnan(value) else fixed(value, _DECIMALS)


# --- the page -------------------------------------------------------------------------------


def page(found: Differences) -> str:
    """Return the differences as a page to print, what matters first."""
    from siteplan.outputs.paper.page import on_page

    title = f"What changed from {found.old.folder} to {found.new.folder}"
    heads, causes = words.causes(found)
    total_heads, total_rows = totals.table(found)
    shown: Mapping[str, Any] = {
        "title": title,
        "old": words.plan_line(found.old),
        "new": words.plan_line(found.new),
        "told": found.told,
        "empty": found.is_empty,
        "ordered": found.ordered,
        "total_heads": total_heads,
        "totals": total_rows,
        "heads": words.heads(found),
        "by_results": found.by_results,
        "cause_heads": heads,
        "causes": causes,
        "shares": words.share_rows(found),
        "share_heads": words.SHARE_HEADS,
        "input_heads": words.INPUT_HEADS,
        "inputs": [words.input_row(change) for change in found.inputs],
        "lists": list(_lists(found)),
        "most": MOST_SITES,
    }
    style = asset("differences/differences.css")
    return on_page(title, "differences/differences.html", shown, style=style)


#: What sites with another antenna or BUC are headed by, by the plan in which that stands already.
_KIT = (
    ("old", "Installed kit exchanged"),
    ("new", "Other kit installed than planned"),
    ("", "Other kit planned"),
)


def _lists(found: Differences) -> Iterator[dict[str, Any]]:
    """Yield the lists of the page, each with its sites: every site stands in one of them."""
    seen: set[str] = set()
    lists: tuple[tuple[str, Sequence[SiteChange | SiteMoved]], ...] = (
        ("Lost service", found.lost),
        ("Gone", found.gone),
        ("Gained service", found.gained),
        ("Added", found.added),
        *(
            (heading, tuple(s for s in found.other_kit if s.stood == plan))
            for plan, heading in _KIT
        ),
        ("Other margin class or flags", tuple(s for s in found.sites if words.told_of(s))),
        ("Margin alone", found.sites),
    )
    for heading, sites in lists:
        own = [site for site in sites if site.site_id not in seen]
        seen |= {site.site_id for site in own}
        if own:
            yield {"heading": heading, "count": len(own), **_listed(own[:MOST_SITES])}


def _other_kit(found: Differences, stood: str) -> tuple[SiteChange, ...]:
    """Return the sites with another antenna or BUC that stands already in one plan, or in none."""
    return tuple(site for site in found.other_kit if site.stood == stood)


def _listed(sites: Sequence[SiteChange | SiteMoved]) -> dict[str, Any]:
    """Return the rows of a list of the page."""
    moved = [s for s in sites if isinstance(s, SiteMoved)]
    if moved:
        return {"moved": [(site.site_id, site.name, site.why) for site in moved]}
    changed = [s for s in sites if isinstance(s, SiteChange)]
    return {"rows": _site_rows(changed), "several": any(map(words.told_of, changed))}


def _site_rows(sites: Sequence[SiteChange]) -> list[dict[str, Any]]:
    return [
        {
            "site_id": site.site_id,
            "name": site.name,
            "changes": [(words.change(c), words.cause(c)) for c in _in_words(site)],
            "margin": words.margin_change(site),
            "shares": words.shares(site),
        }
        for site in sites
    ]


def _in_words(site: SiteChange) -> list[Change]:
    """Return the changes of a site that are told one by one: the margin has a cell of its own."""
    return [change for change in site.changes if change.what != "margin_db"]
