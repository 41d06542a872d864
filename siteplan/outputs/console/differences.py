"""What ``siteplan compare OLD NEW`` prints: what to know first, counts, causes, the worst."""

from __future__ import annotations

from siteplan.answers.differences import Differences
from siteplan.outputs.console.terminal import console, show_list, table
from siteplan.outputs.differences import words


def show_differences(found: Differences, folder: str) -> None:
    """Print what lies between two plans, and where all of it stands."""
    out = console()
    out.print(f"From {words.plan_line(found.old)} to {words.plan_line(found.new)}.")
    for sentence in found.told:
        out.print(sentence)
    if found.is_empty:
        out.print(f"Nothing changed: {found.common} sites come to the same.")
    else:
        counts = [f"{count} {what}" for what, count in words.heads(found) if count]
        out.print(f"Sites: {', '.join(counts)}.")
    heads, causes = words.causes(found)
    if causes:
        show_list(table("Changes by cause", heads), causes)
    if rows := words.share_rows(found):
        show_list(table("Margins by cause", words.SHARE_HEADS), rows)
    if first := [site for site in found.sites if words.told_of(site)]:
        listed = [
            (s.site_id, s.name, "; ".join(map(words.in_short, filter(words.shows, s.changes))))
            for s in first
        ]
        show_list(table("What matters first", ("Site", "Name", "Changes")), listed)
    out.print(f"Written to {folder}")
