"""rollout.csv, rollout_periods.csv and kit_by_wave.csv: sites, months and kit of a roll-out."""

from __future__ import annotations

import math
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from siteplan.answers.rollout import RolloutPeriod, RolloutPlan, RolloutSite, WaveKit
from siteplan.outputs.escaping import CsvWriter
from siteplan.outputs.shown import fixed, money, price, whole_or_short

SITE_HEADINGS = (
    *("site_id", "name", "group", "wave", "week", "week_of", "round", "position", "note"),
)
PERIOD_HEADINGS = (
    *("period", "sites_built", "sites_live", "outbound_carriers", "inbound_carriers"),
    *("leased_mhz", "capex", "running", "cumulative_cost", "too_small"),
)
KIT_HEADINGS = ("wave", "part", "kind", "quantity", "unit", "price", "cost")


def write_rollout(found: RolloutPlan, sites: Path, periods: Path, kit: Path) -> None:
    """Write a roll-out as three tables (CSV, UTF-8), for whoever plans the work.

    A row a site in the order in which they are built, those that are not last; a row a month, or a
    wave where no weeks are told, with the lease and the costs so far; a row a wave and kind of kit,
    spares apart, with prices where any are given. What is not known is blank.
    """
    priced = found.priced
    _write(sites, SITE_HEADINGS, map(_site, found.sites))
    _write(periods, PERIOD_HEADINGS, map(_period, found.periods))
    heads = KIT_HEADINGS if priced else KIT_HEADINGS[:-2]
    _write(kit, heads, (_kit(of)[: len(heads)] for of in found.kit))


def _write(path: Path, headings: tuple[str, ...], rows: Iterable[list[str]]) -> None:
    with path.open("w", encoding="utf-8", errors="replace", newline="") as file:
        writer = CsvWriter(file)
        writer.writerow(headings)
        writer.writerows(rows)


def _site(of: RolloutSite) -> list[str]:
    return [of.site_id, of.name, of.group, of.wave, _or_blank(of.week), of.date, of.round,
            _or_blank(of.position), of.state or of.remark]  # fmt: skip


def _period(of: RolloutPeriod) -> list[str]:
    counts = (of.built, of.live, of.outbound_carriers, of.inbound_carriers)
    costs = (of.capex, of.running, of.cumulative)
    return [of.period, *map(str, counts), fixed(of.leased_mhz, 3),
            *("" if math.isnan(cost) else money(cost) for cost in costs),
            " ".join(of.overflows)]  # fmt: skip


def _kit(of: WaveKit) -> list[str]:
    return [of.wave, of.part, of.kind, whole_or_short(of.quantity), of.unit, price(of.price),
            money(of.cost)]  # fmt: skip


def _or_blank(value: Any) -> str:
    return "" if value is None else str(value)
