"""What ``siteplan asbuilt`` prints: verdicts, the sites that were not accepted and why."""

from __future__ import annotations

from siteplan.outputs.console.terminal import console, show_list, table
from siteplan.results import AsBuilt


def show_asbuilt(result: AsBuilt, folder: str) -> None:
    """Print what came back: verdicts, the sites that were not accepted and why."""
    out = console()
    counts = ", ".join(f"{count} {verdict}" for verdict, count in result.counts.items() if count)
    missing = f"; {len(result.missing)} have not come back" if result.missing else ""
    out.print(f"{len(result)} sites came back: {counts or 'none'}{missing}")
    c = result.columns
    failed = [i for i, verdict in enumerate(c["verdict"].tolist()) if verdict == "not accepted"]
    if failed:
        rows = [(c["site_id"][i], c["name"][i], c["findings"][i]) for i in failed]
        show_list(table("Not accepted", ("Site", "Name", "Findings")), rows)
    out.print(f"Written to {folder}")
