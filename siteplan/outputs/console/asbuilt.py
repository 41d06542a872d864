"""What ``siteplan asbuilt`` prints: verdicts, the sites that are not accepted yet and why."""

from __future__ import annotations

from siteplan.outputs.console.terminal import console, show_list, table
from siteplan.results import AsBuilt


def show_asbuilt(result: AsBuilt, folder: str) -> None:
    """Print what came back: verdicts, and why sites are not accepted or incomplete."""
    out = console()
    counts = ", ".join(f"{count} {verdict}" for verdict, count in result.counts.items() if count)
    unusable = result.unusable
    of_no_use = f"; {len(unusable)} came back and could not be used" if unusable else ""
    missing = f"; {len(result.missing)} have not come back" if result.missing else ""
    out.print(f"{len(result)} sites came back: {counts or 'none'}{of_no_use}{missing}")
    c = result.columns
    for verdict in ("not accepted", "incomplete", "accepted but not served", "nothing to accept"):
        here = [i for i, found in enumerate(c["verdict"].tolist()) if found == verdict]
        if here:
            rows = [(c["site_id"][i], c["name"][i], c["findings"][i]) for i in here]
            show_list(table(verdict.capitalize(), ("Site", "Name", "Findings")), rows)
    out.print(f"Written to {folder}")
