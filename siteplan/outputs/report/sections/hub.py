"""The hub: what it has to give, what its rain takes, what another antenna buys, what to ask for."""

from __future__ import annotations

import math
from collections.abc import Iterator

from markupsafe import Markup

from siteplan.answers.hub import HubAntenna, HubResult
from siteplan.outputs.report.blocks import (
    Block,
    Facts,
    Listed,
    Section,
    Shown,
    Table,
    Text,
    Words,
    dish,
    listed,
    user,
)
from siteplan.outputs.shown import DASH, amount

#: Amplifiers at work and standing by, in words.
_AMPLIFIERS = {
    "1:0": "one, and none that stands by: while it is mended nothing is sent",
    "1:1": "two: one at work, one that stands by",
    "1:2": "three: two at work, of which one for other carriers, and one that stands by for both",
}
_DEICING = {
    "yes": "ask whoever runs the hub whether its dish is kept free of snow and ice",
    "no": "no question of snow",
    "not known": "not known, since the hub is not placed",
}
#: What the keys are of whose default the figures rest on.
_ASSUMED = {
    "hub.tx_loss_db": "line loss",
    "hub.hpa_backoff_db": "back-off",
    "hub.carriers": "number of carriers",
    "hub.power_control_db": "range of power control",
    "satellite.station_keeping_deg": "the satellite's motion",
}
#: Beams that are named.
_NAMED = 4
#: The least share of time that fades are told for [%].
_LEAST_PCT = 0.001


def hub(shown: Shown) -> Section | None:
    """Return what each gateway gives, loses and needs; of several under their names."""
    blocks: list[Block] = []
    hubs = shown.plan.facts.hubs
    for found in hubs:
        blocks += [Words(user(found.name))] if len(hubs) > 1 else []
        blocks += [Facts(_power(found)), Listed(list(_told(found)), "small")]
        if found.antennas:
            units = shown.plan.network.network.units
            blocks += [Words(_SIZES, "small"), _sizes(found.antennas, units)]
    return Section("The hub", blocks) if blocks else None


_SIZES = (
    "Inbound margin of the sites with their kit, at their targets, by the antenna of the hub;"
    " median and worst site."
)


def _power(of: HubResult) -> list[tuple[str, Text]]:
    """Return the figures of one carrier and of the amplifier."""
    return [
        ("EIRP of a carrier", _number(of.eirp_dbw, "dBW")),
        ("At the feed", _watts(of.feed_w)),
        ("Amplifier needed", _watts(of.needed_hpa_w)),
        ("G/T, clear sky", _number(of.g_t_clear_db_k, "dB/K")),
        ("G/T in its rain", _number(of.g_t_faded_db_k, "dB/K")),
    ]


def _told(of: HubResult) -> Iterator[Text]:
    """Yield what stands behind the figures, and what to ask for, in sentences."""
    yield (
        f"The amplifier is rated for {of.carriers} {_carriers(of)}, {amount(of.tx_loss_db, 'dB')}"
        f" of line loss, {amount(of.hpa_backoff_db, 'dB')} of back-off and"
        f" {amount(of.control_asked_db, 'dB')} of power control; without that control"
        f" {_watts(of.clear_hpa_w)} would do."
    )
    if not math.isnan(of.hpa_w):
        yield _amplifier(of)
    if not math.isnan(of.outbound_pct):
        yield _rain(of)
    if of.diversity_km:
        yield f"A second hub {amount(of.diversity_km, 'km')} away takes over in rain."
    if not math.isnan(of.mask_margin_db):
        yield f"{_number(of.mask_margin_db, 'dB')} under {of.mask}, power control included."
    if of.also_beams:
        yield Markup("The same hub sends the carriers of {}, told apart from these: where one"
                     " amplifier sends all, count them in its number of carriers.").format(
            listed([user(beam) for beam in of.also_beams[:_NAMED]], len(of.also_beams) - _NAMED)
        )  # fmt: skip
    yield f"Amplifiers: {_AMPLIFIERS[of.redundancy]}."
    need = "the dish needs tracking" if of.tracking else "the dish may stand still"
    yield (
        f"The satellite strays {amount(of.box_deg, 'deg')} from its place in a day, which takes"
        f" {_number(of.tracking_loss_db, 'dB')}: {need}. De-icing: {_DEICING[of.deicing]}."
    )
    if names := [_ASSUMED[key] for key in of.assumed]:
        yield f"Given by nobody, and assumed for this: {', '.join(names)}."


def _carriers(of: HubResult) -> str:
    return "carrier" if of.carriers == 1 else "equal carriers"


def _amplifier(of: HubResult) -> str:
    """Return what the amplifier that is given leaves, or lacks."""
    what = f"Of {amount(of.hpa_w, 'W')} that the hub has"
    if of.short_db > 0:
        return (
            f"{what} {_number(of.short_db, 'dB')} are missing in clear sky: each carrier is"
            " weaker by that, and so is every margin outbound."
        )
    return (
        f"{what} {_number(of.headroom_db, 'dB')} are left for power control; the range used is"
        f" {_number(of.control_db, 'dB')}, set by the {of.control_by}."
    )


def _rain(of: HubResult) -> str:
    """Return what the hub's rain takes, at the median of the sites' shares."""
    left = f"{_number(of.up_left_db, 'dB')} left by power control"
    over = ""
    if of.saturated_sites:
        over = f" At {of.saturated_sites} of those its fade goes beyond that range."
    least = " in 0.001 % of the year" if of.inbound_pct < _LEAST_PCT else ""
    return (
        f"Its rain takes {_share(of.outbound_pct)} of the year from the sites outbound (at most"
        f" {_share(of.outbound_most_pct)}) and {_share(of.inbound_pct)} inbound (at most"
        f" {_share(of.inbound_most_pct)}), at the median site. Then its uplink fades by"
        f" {_number(of.up_fade_db, 'dB')} ({left}), its downlink by"
        f" {_number(of.down_fade_db, 'dB')}{least}, noise included. It, not the"
        f" site's own rain, decides the outbound margin of {of.hub_limited_sites} of {of.sites}"
        f" sites.{over}"
    )


def _sizes(antennas: tuple[HubAntenna, ...], units: str) -> Table:
    """Return what each antenna buys; the hub's own is marked."""
    heads = ("Antenna of the hub", "G/T, clear sky", "Median", "Worst", "Buys at the median")
    rows: list[tuple[Text, ...]] = [
        (
            dish(each.antenna_m, units) + (", as planned" if each.own else ""),
            _number(each.g_t_db_k, "dB/K"),
            *(_number(x, "dB") for x in (each.median_db, each.worst_db)),
            DASH if each.own else _number(each.buys_db, "dB", 2),
        )
        for each in antennas
    ]
    return Table(heads, rows, frozenset(range(1, 5)), "small")


def _number(value: float, unit: str, decimals: int = 1) -> str:
    return DASH if math.isnan(value) else amount(value, unit, decimals)


def _share(pct: float) -> str:
    return amount(round(pct, 4), "%")


def _watts(value: float) -> str:
    """Return a power: a tenth of a watt under 100 W, whole watts above."""
    return amount(value, "W", 1 if value < 100 else 0)
