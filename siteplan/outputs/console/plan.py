"""What ``siteplan plan`` prints: the verdict, the worst sites and why, what was assumed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from siteplan.outputs.console.assumed import show_assumed
from siteplan.outputs.console.terminal import console, row, table
from siteplan.outputs.console.totals import capacity_line, cost_line
from siteplan.outputs.shown import DASH, alone, amount, share_of_time
from siteplan.outputs.taking import counted
from siteplan.words import of_month, orbital_position

if TYPE_CHECKING:
    from rich.table import Table


def show_summary(summary: Mapping[str, Any], folder: str) -> None:
    """Print the summary of a plan: the verdict, the worst sites and why, assumptions."""
    out = console()
    satellite = orbital_position(summary["satellite_lon_deg"], sign="")
    out.print(
        f"{summary['name']}: {summary['sites']} of {summary['rows_read']} sites planned,"
        f" {summary['rejected']} rejected; target {_target(summary)}"
        f"{of_month(summary.get('availability_basis', ''))}, satellite at {satellite}"
    )
    for line in summary["verdict"]["lines"]:
        out.print(line)
    for caution in summary["cautions"]:
        out.print(f"Caution: {caution}")
    out.print(_classes(summary["counts"]["margin_class"]))
    for line in (*_totals(summary), *fewest_lines(summary.get("fewest", ()))):
        out.print(line)
    out.print(_worst(summary["worst"]))
    best = counted(summary["counts"].get("best_remedy", {}))
    if best:
        out.print(f"{best} See what_it_takes.csv.", highlight=False)
    show_assumed(summary["assumed"])
    if summary.get("clouds", {}).get("current"):
        out.print(f"Clouds: {summary['methods']['cloud']} ({summary['clouds']['maps']})")
    for remark in summary["remarks"]:
        out.print(f"Mind: {remark}")
    out.print(f"Mind: {summary['limits'][0]} {summary['limits'][1]}")
    out.print(summary.get("crew", ""))
    if summary.get("workbook"):
        out.print(summary["workbook"])
    if folder:
        out.print(f"Written to {folder}")


def _target(summary: Mapping[str, Any]) -> str:
    """Return the target that the sites are planned for, or the range of theirs."""
    return share_of_time(*summary.get("targets_pct", (summary["availability_pct"],)))


def _totals(summary: Mapping[str, Any]) -> list[str]:
    """Return what the plan comes to, a line a subject: cost, lease, hub, beams."""
    at_hub = summary["counts"]["limiting_end"].get("hub", 0)
    rain = _rain(at_hub, summary.get("hubs", ()))
    new = (
        capacity_line(summary),
        beam_line(summary),
        hub_line(summary.get("hubs", ())),
        coding_line(summary.get("coding", {})),
    )
    told = [line for line in new if line][:_TOTALS]
    return [line for line in (cost_line(summary), *told, rain if at_hub else "") if line]


def _rain(at_hub: int, hubs: Sequence[Mapping[str, Any]]) -> str:
    """Return at how many sites the hub's rain is to blame; of several hubs at those of which."""
    whose = "The hub's rain, not the site's,"
    if len(hubs) > 1:
        told = [hub["name"] for hub in hubs if hub["hub_limited_sites"]]
        named = f" ({'; '.join(told[:_HUBS_TOLD])})" if 0 < len(told) <= _HUBS_TOLD else ""
        whose = f"Rain at their hub{named}, not their own,"
    return f"{whose} decides the margin of {at_hub} site{'' if at_hub == 1 else 's'}."


def _classes(counts: Mapping[str, int]) -> Table:
    """Return how many sites have each margin."""
    listed = table("", ("Margin", "Sites"), ("Sites",))
    for label, count in counts.items():
        row(listed, label, count)
    return listed


def hub_line(hubs: Sequence[Mapping[str, Any]]) -> str:
    """Return what the hub's amplifier gives, in a line; nothing where none is given.

    Of several hubs the one that lacks most, else leaves least.
    """
    given = [hub for hub in hubs if hub["hpa_w"] is not None]
    if not given:
        return ""
    hub = min(given, key=lambda hub: (-hub["short_db"], hub["control_db"]))
    left = f"{amount(hub['control_db'], 'dB', 1)} of power control"
    if hub["short_db"]:
        left = f"{amount(hub['short_db'], 'dB', 1)} too little for clear sky"
    return (
        f"{hub['name'] if len(hubs) > 1 else 'Hub'}:"
        f" {amount(hub['eirp_dbw'], 'dBW', 1)} a carrier; of {amount(hub['hpa_w'], 'W')} the"
        f" carriers leave {left}, {amount(hub['needed_hpa_w'], 'W', 0)} would give all that is"
        " asked for. See hub.json."
    )


def coding_line(coding: Mapping[str, Any]) -> str:
    """Return what adaptive carriers bring at the median site, in a line; '' where none is."""
    told = [
        f"{way} {amount(found['mean_kbit_s_median'], 'kbit/s', 0)} on average"
        f" ({amount(found['target_kbit_s_median'], 'kbit/s', 0)} at the target{alone(found)})"
        for way, found in coding.items()
        if found["mean_kbit_s_median"] is not None
    ]
    assumed = "; the transponder taken as linear" if told else ""
    return f"Adaptive coding at the median site: {', '.join(told)}{assumed}." if told else ""


def fewest_lines(sets: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return what one, two and three kinds of kit would serve, a line each; none said twice.

    Sites with installed kit stand apart.
    """
    told: dict[str, str] = {}
    for found in sets:
        kinds = [
            f"{amount(kind['antenna_m'], 'm')} with {amount(kind['buc_w'], 'W')} at {kind['sites']}"
            for kind in found["kinds"]
        ]
        many = "1 kind of kit serves" if len(kinds) == 1 else f"{len(kinds)} kinds of kit serve"
        how = "" if found["exact"] else " (found step by step: a better set may exist)"
        text = f"{many} {found['served']} of {found['of']} sites to equip: {', '.join(kinds)}{how}"
        told.setdefault("; ".join(kinds), text)
    return list(told.values())


#: So many lines on lease, beams, hub and coding, in that order: the page stays one; files tell all.
_TOTALS = 3
#: So many hubs are named.
_HUBS_TOLD = 3
#: So many beams are told in the summary's line, those that leave most sites unserved first.
_BEAMS_TOLD = 6


def beam_line(summary: Mapping[str, Any]) -> str:
    """Return how many sites each beam has and serves, the worst first; '' of one beam."""
    beams = summary.get("beams", {})
    if not beams:
        return ""
    worst = sorted(beams, key=lambda name: beams[name]["served"] - beams[name]["sites"])
    told = [
        f"{name} serves {beams[name]['served']} of {beams[name]['sites']}"
        for name in worst
        if beams[name]["sites"]
    ]
    more = len(told) - _BEAMS_TOLD
    shown = [*told[:_BEAMS_TOLD], *([f"{more} more in summary.json"] if more > 0 else [])]
    left = summary.get("in_no_beam", 0)
    return f"Beams: {'; '.join(shown)}." + (f" In no beam: {left}." if left else "")


def _decimals(difference_db: float) -> int:
    """Return the decimals that a difference is shown with: more where one would hide its sign."""
    return 3 if difference_db and not round(difference_db, 1) else 1


def _worst(worst: list[Mapping[str, Any]]) -> Table:
    """Return the worst sites, their margin before and after the reserve, and what is wrong."""
    margins = {"Margin": "margin_db", "After reserve": "margin_after_reserve_db"}
    listed = table("The worst sites", ("Site", "Name", *margins, "With", "Why"), tuple(margins))
    for site in worst:
        figures = [site[name] for name in margins.values()]
        texts = [DASH if x is None else amount(x, "dB", _decimals(x)) for x in figures]
        sizes = (("tried_antenna_m", "m"), ("tried_buc_w", "W"))
        pair = [amount(site[k], unit) for k, unit in sizes if site.get(k) is not None]
        row(listed, site["site_id"], site["name"], *texts, ", ".join(pair), site["reason"])
    return listed
