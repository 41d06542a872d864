"""The link budget of one site, line by line: both directions, both hops, three columns.

The columns are clear sky; the site faded at its share of the outage with the hub clear; the hub
faded at its share with the site clear. Terms are those that the margins are made of.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from siteplan.answers.budget import BudgetPart, BudgetWay
from siteplan.arrays import FloatArray, take
from siteplan.frozen import frozen
from siteplan.messages import english
from siteplan.physics.radio.carrier import downlink_es_n0_db, uplink_es_n0_db
from siteplan.planning.link import mispointing
from siteplan.planning.link.budget import remote_g_t_db_k
from siteplan.planning.link.ends import HubPaths, hub_noise_k, hub_sky
from siteplan.planning.link.lines import inward, outward
from siteplan.planning.link.lines.interference import (
    ci_db,
    inbound_own_ci_db,
    inbound_sources,
    interference,
    outbound_sources,
)
from siteplan.planning.link.lines.parts import Hop, Remote, total
from siteplan.planning.link.lines.terms import Known, Sky, columns, sky_of, with_bases
from siteplan.planning.link.outage import Shares, fixed_share
from siteplan.planning.link.ways import Inbound, Outbound, Way

#: The columns of the site's and of the hub's fade.
_SITE, _HUB = 1, 2
_NO_FADE = np.zeros(3)


@frozen
class Judged:
    """Both directions of n sites with their kit, the split of their outage, their margins.

    ``buc_dbw`` (n,) is the power of the BUC after its back-off.
    """

    ways: tuple[Outbound, Inbound]
    split: Shares
    margins_db: tuple[FloatArray, FloatArray]
    buc_dbw: FloatArray

    def take(self, k: int) -> Judged:
        """Return the same of one site."""
        here, (out, back) = np.array([k]), self.ways
        margins = self.margins_db[0][here], self.margins_db[1][here]
        return Judged(
            (out.take(here), back.take(here)), take(self.split, here), margins, self.buc_dbw[here]
        )


def budget_ways(
    of: Judged, *, remote: Remote, own: frozenset[str], paths: HubPaths | None
) -> tuple[BudgetWay, BudgetWay]:
    """Return the budget of one site in both directions.

    Parameters
    ----------
    of : Judged
        The one site that is asked about, above the horizon.
    remote : Remote
        Its kit.
    own : frozenset of str
        Keys of the catalogue whose place the site's own figures take.
    paths : HubPaths, optional
        The hub's paths, where it is placed.
    """
    known = Known(of.ways[0].link.network, own)
    out, back = _shares(of.split, "outbound"), _shares(of.split, "inbound")
    lines = (
        _outbound(of.ways[0], known, remote, paths, out),
        _inbound(of.ways[1], known, remote, paths, back),
    )
    return (
        _way("outbound", of.ways[0], out, float(of.margins_db[0][0]), lines[0]),
        _way("inbound", of.ways[1], back, float(of.margins_db[1][0]), lines[1]),
    )


def _shares(split: Shares, direction: str) -> tuple[float, float]:
    """Return the site's and the hub's share of the outage [%] of one site."""
    ends = (getattr(split, f"{direction}_{end}_outage_pct") for end in ("site", "hub"))
    site, hub = (float(share[0]) for share in ends)
    return site, hub


def _way(
    direction: str,
    way: Way,
    shares: tuple[float, float],
    margin_db: float,
    parts: tuple[BudgetPart, ...],
) -> BudgetWay:
    """Return a direction's budget; the hub's column is blank where its rain does not count."""
    counted = not way.fade.silent
    if not counted:
        parts = tuple(_without_hub(part) for part in parts)
    parts = with_bases(parts)
    notes = tuple(_notes(way, shares, counted=counted))
    return BudgetWay(direction, *shares, counted, margin_db, parts, notes)


def _without_hub(part: BudgetPart) -> BudgetPart:
    """Return a part whose column of the hub's fade is blank."""
    lines = (replace(x, values=(x.values[0], x.values[1], float("nan"))) for x in part.lines)
    return replace(part, lines=tuple(lines))


def _notes(way: Way, shares: tuple[float, float], *, counted: bool) -> list[str]:
    """Return what is to be known of the split, in sentences."""
    words, network = english(), way.link.network
    site, hub = shares
    if not counted:
        placed = network.hub.lat is not None
        return [words["budget.note.hub_not_counted" if placed else "budget.note.no_hub"]]
    if fixed_share(way) is not None:
        share_pct = 100 * float(fixed_share(way) or 0.0)
        return [words.one("budget.note.fixed_share", share_pct=share_pct)]
    if hub == 0:
        return [words["budget.note.hub_zero"]]
    if site == 0:
        return [words["budget.note.site_zero"]]
    return [words["budget.note.split"]]


# --- the sky in the three columns -----------------------------------------------------------


def _hub_up(way: Outbound, paths: HubPaths | None, p_pct: float) -> tuple[Sky, FloatArray]:
    """Return the hub's sky on its uplink, and what power control does not make good (3,) [dB].

    The plan holds the loss in a table that never rises with p: the sky's total is that table's.
    """
    gas, control = way.link.hub.up_gas_db, way.link.hub.control_db
    fade = float(way.fade.at(p_pct))
    if paths is None or way.fade.silent or fade < 0:  # above 5 % gas may be less than clear sky's
        return sky_of(gas, None, _HUB), _NO_FADE
    sky = sky_of(gas, hub_sky(way.link.network, paths.up, paths.second, p_pct), _HUB)
    total = sky.total.copy()
    total[_HUB] = gas[0] + fade
    return replace(sky, total=total), columns(0.0, 0.0, max(fade - control, 0.0))


def _hub_down(way: Inbound, paths: HubPaths | None, p_pct: float) -> Sky:
    """Return the hub's sky on its downlink; its noise apart, the total is the plan's table's."""
    hub, network = way.link.hub, way.link.network
    if paths is None or way.fade.silent:
        return sky_of(hub.down_gas_db, None, _HUB)
    sky = sky_of(hub.down_gas_db, hub_sky(network, paths.down, paths.second, p_pct), _HUB)
    noise_k = hub_noise_k(network, sky.parts.absorption, hub.radiating_k)
    total = sky.total.copy()
    rise_db = 10 * np.log10(noise_k[_HUB] / noise_k[0])
    total[_HUB] = hub.down_gas_db[0] + float(way.fade.at(p_pct)) - rise_db
    return replace(sky, total=total)


# --- the two directions ---------------------------------------------------------------------


def _outbound(
    way: Outbound,
    known: Known,
    remote: Remote,
    paths: HubPaths | None,
    shares: tuple[float, float],
) -> tuple[BudgetPart, ...]:
    """Return the parts of the outbound budget."""
    link, carrier, at = way.link, way.link.outbound, np.array([shares[0]])
    down = link.site.down
    hub_sky, net = _hub_up(way, paths, shares[1])
    sky = sky_of(down.gas_db, way.sky(at), _SITE)
    wet = columns(0.0, down.wet_loss_db(at), 0.0)
    raised = hub_sky.total - hub_sky.gas[0] - net
    net = net + link.hub.short_db
    hop = Hop(known, remote, sky, hub_sky, raised, net, wet, float(link.hub.short_db))
    up_db = uplink_es_n0_db(carrier, carrier.share_flux_dbw_m2 - net)
    pointing = mispointing.loss_db(link.network, way.dish, carrier.downlink_ghz)
    loss = link.site.downlink_loss_db + sky.total + pointing
    g_t = remote_g_t_db_k(link, way.dish, sky.parts, wet)
    down_db = downlink_es_n0_db(carrier, carrier.share_flux_dbw_m2 - net, loss, g_t)
    margins = columns(way.clear_db, way.site_db(at), way.hub_db(shares[1]))
    need, sources = link.outbound_required_db, outbound_sources(way, shares[0])
    return (
        outward.hub_power(way, hop),
        outward.outbound_up(way, hop),
        outward.site_noise(way, hop),
        outward.site_g_t(way, hop),
        outward.outbound_down(way, hop, down_db),
        interference(hop, carrier, "outbound", sources, float(carrier.ci_db)),
        total(
            *(hop, carrier, "outbound", (up_db, down_db)),
            ci_db=ci_db(float(carrier.ci_db), sources),
            margin_db=margins,
            required_db=need,
        ),
    )


def _inbound(
    way: Inbound,
    known: Known,
    remote: Remote,
    paths: HubPaths | None,
    shares: tuple[float, float],
) -> tuple[BudgetPart, ...]:
    """Return the parts of the inbound budget."""
    link, carrier, at = way.link, way.link.inbound, np.array([shares[0]])
    faded, lost = way.sky(at), float(np.squeeze(link.site.up.wet_loss_db(at)))
    fade = float(faded.total[0] - link.site.up.gas_db[0]) + lost
    lighter = fade < 0  # above 5 % gas may be less than clear sky's: the plan counts no gain
    sky = sky_of(link.site.up.gas_db, None if lighter else faded, _SITE)
    wet = columns(0.0, lost, 0.0)
    net = columns(0.0, way.net_fade_db(at), 0.0)
    raised = columns(0.0, max(fade, 0.0), 0.0) - net
    hop = Hop(known, remote, sky, _hub_down(way, paths, shares[1]), raised, net, wet)
    up_db = uplink_es_n0_db(carrier, way.driven.flux_dbw_m2 - net)
    down_db = inward.inbound_down_db(way, hop, shares[1])
    margins = columns(way.clear_db, way.site_db(at), way.hub_db(shares[1]))
    need, sources = link.inbound_required_db, inbound_sources(way, net, shares[1])
    own = inbound_own_ci_db(way)
    return (
        inward.site_eirp(way, hop),
        inward.inbound_up(way, hop),
        inward.backoff(way, hop),
        inward.hub_noise(way, hop),
        inward.hub_g_t(way, hop),
        inward.inbound_down(way, hop, down_db),
        interference(hop, carrier, "inbound", sources, own),
        total(
            *(hop, carrier, "inbound", (up_db, down_db)),
            ci_db=ci_db(own, sources),
            margin_db=margins,
            required_db=need,
        ),
    )
