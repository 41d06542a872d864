"""Tables for what-if questions: margins against outage, and where the margin goes.

Both are worked out with the kit that the plan gave (or judged), so that they answer 'what if the
target moved', not 'what kit would another target need'.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from siteplan.arrays import FloatArray
from siteplan.network import Network
from siteplan.physics.propagation.climate import FROZEN_P_PCT
from siteplan.physics.radio.carrier import inverse_sum_db, uplink_es_n0_db
from siteplan.planning.link.budget import inbound_es_n0_db, outbound_es_n0_db
from siteplan.planning.link.ends import HubEnd, required_db
from siteplan.planning.link.hubfade import HubFade, HubLeak
from siteplan.planning.link.outage import Shares, margin_db
from siteplan.planning.link.ways import Inbound, Outbound, Way, margins_at_db

#: What attenuation, noise and the hub's rain take (n,) [dB].
Losses = tuple[FloatArray, FloatArray, FloatArray]
#: Names of the tables in ``Plan.tables``.
MARGINS: Final = "whatif_site_margin_db"
CLEAR: Final = "whatif_clear_db"
WET_PCT: Final = "whatif_wet_pct"
WET: Final = "whatif_wet_db"
#: How far a site's carrier stands under what the hub's third curve holds for (n,) [dB].
LOWERED: Final = "whatif_lowered_db"
BUDGET: Final = "budget_db"
#: Percentages of time [%] at which an end's margin is tabulated, rising and log-even; P.618's
#: rain exponent has a corner at 1 %.
PERCENTAGES: Final = tuple(
    float(f"{p:.5g}") for p in np.unique([*np.geomspace(0.001, FROZEN_P_PCT, 40), 0.93, 1.0, 1.075])
)
#: The directions along axis 1 of the tables.
DIRECTIONS: Final = ("outbound", "inbound")
#: The steps along axis 2 of the budget: see `budget_db`.
STEPS: Final = ("hop", "interference", "attenuation", "noise", "hub")


def tables(
    ways: tuple[Outbound, Inbound],
    split: Shares,
    p_pct: FloatArray,
    known_db: FloatArray | None = None,
) -> dict[str, FloatArray]:
    """Return the tables of n sites by name, sites along axis 0.

    ``split`` is how the target's outages ``p_pct`` (n,) [%] fall on the two ends, ``known_db``
    what `site_margins_db` gives, where that is known.
    """
    found = {
        MARGINS: site_margins_db(ways) if known_db is None else known_db,
        CLEAR: clear_db(ways),
        BUDGET: budget_db(ways, split, p_pct),
    }
    if ways[0].link.network.terminal.wet_loss_db > 0:
        found[WET_PCT] = ways[0].link.site.down.wet_until_pct
        found[WET] = about_wet_db(ways)
    lowered, hub = ways[1].driven.lowered_db, ways[0].link.hub
    if lowered is not None and hub.depolarized is not None and not hub.down_fade.silent:
        found[LOWERED] = lowered
    return found


def site_margins_db(ways: tuple[Way, Way]) -> FloatArray:
    """Return both directions' margins with the site faded, the hub clear (n, 2, k) [dB].

    At each of ``PERCENTAGES``; NaN below the horizon. With the hub's own curves they answer for
    any target: the split is worked out by whoever asks.
    """
    return np.stack([margins_at_db(way, PERCENTAGES).T for way in ways], axis=1)


def about_wet_db(ways: tuple[Way, Way]) -> FloatArray:
    """Return both directions' margins on the two sides of where dishes are wet (n, 2, 2) [dB].

    The first still wet, the second dry: between two of ``PERCENTAGES`` the margin jumps there.
    """
    until = ways[0].link.site.down.wet_until_pct
    sides = until, until * (1 + 1e-12)
    return np.stack([np.stack([way.site_db(p) for p in sides], axis=1) for way in ways], axis=1)


def clear_db(ways: tuple[Outbound, Inbound]) -> FloatArray:
    """Return what the hub's curves are set against (n, 3) [dB].

    The outbound margin in clear sky; and inbound, less the threshold, uplink and interference
    together, and the hub's downlink.
    """
    out, back = ways
    need = back.link.inbound_required_db
    return np.stack([out.clear_db, back.others_db - need, back.down_db - need], axis=1)


def hub_curves_db(hub: HubEnd, network: Network) -> tuple[tuple[float, ...], ...]:
    """Return what the hub's rain does at each of ``PERCENTAGES`` [dB], a curve a tuple.

    What it takes outbound, power control taken off, and inbound. A third only where it turns
    power over from the other polarization: the inbound carrier over that, less the threshold.
    """

    def at(curve: HubFade | HubLeak) -> FloatArray:
        return curve.at(np.array(PERCENTAGES))

    out = np.maximum(at(hub.up_fade) - hub.control_db, 0.0)
    curves = [out, at(hub.down_fade)]
    if hub.depolarized is not None and not hub.down_fade.silent:
        curves.append(at(hub.depolarized) - required_db("inbound", network.inbound))
    return tuple(tuple(curve.tolist()) for curve in curves)


def budget_db(ways: tuple[Outbound, Inbound], split: Shares, p_pct: FloatArray) -> FloatArray:
    """Return the steps from the site's own hop to the margin at the target (n, 2, 5) [dB].

    ``hop`` is the clear-sky Es/N0 of the site's own hop alone: the satellite's downlink outbound,
    the site's uplink inbound. What the other hop takes from it, and then ``interference`` of every
    kind, leads to the clear-sky Es/(N0+I0); less threshold and implementation loss that is the
    fade margin. The fade margin less ``attenuation`` (what reaches the receiver), ``noise`` (rise
    of the sky's noise, wet dish, outbound also what rain depolarizes) and ``hub`` (inbound with
    what its rain depolarizes) is the margin. Rain takes one end at a time: where the hub's rain
    is to blame, ``hub`` alone of these three is not zero.
    """
    out, back = ways
    hop = np.stack([_down_hop_db(out), _up_hop_db(back)], axis=1)
    others = np.stack([_outbound_interference_db(out), _inbound_interference_db(back)], axis=1)
    at = split.outbound_site_outage_pct, split.inbound_site_outage_pct
    losses = np.stack(
        [
            np.stack(_outbound_losses_db(out, at[0], p_pct), axis=1),
            np.stack(_inbound_losses_db(back, at[1], p_pct), axis=1),
        ],
        axis=1,
    )
    return np.concatenate([hop[:, :, None], others[:, :, None], losses], axis=2)


def _down_hop_db(way: Outbound) -> FloatArray:
    """Return the outbound Es/N0 (n,) [dB] of the downlink alone in clear sky."""
    clear = way.link.site.down.clear
    total = outbound_es_n0_db(way.link, way.dish, clear, 0.0, ci_db=way.ci_db)
    return np.asarray(-10 * np.log10(10 ** (-total / 10) - 10 ** (-_fixed_db(way) / 10)))


def _fixed_db(way: Outbound) -> FloatArray:
    """Return the outbound Es/N0 [dB] of uplink and interference together, the hub clear."""
    return inverse_sum_db(_hub_hop_db(way), way.ci_db - way.link.hub.short_db)


def _hub_hop_db(way: Outbound) -> FloatArray:
    """Return the outbound Es/N0 [dB] of the hub's uplink alone in clear sky."""
    carrier = way.link.outbound
    return np.asarray(uplink_es_n0_db(carrier, carrier.share_flux_dbw_m2 - way.link.hub.short_db))


def _outbound_interference_db(way: Outbound) -> FloatArray:
    """Return what all interference takes from the outbound Es/N0 of both hops (n,) [dB]."""
    clean = inverse_sum_db(_down_hop_db(way), _hub_hop_db(way))
    return np.asarray(clean - (way.clear_db + way.link.outbound_required_db))


def _inbound_interference_db(way: Inbound) -> FloatArray:
    """Return what all interference takes from the inbound Es/N0 of both hops (n,) [dB]."""
    clean = inverse_sum_db(_up_hop_db(way), way.down_db)
    return np.asarray(clean - (way.clear_db + way.link.inbound_required_db))


def _up_hop_db(way: Inbound) -> FloatArray:
    """Return the inbound Es/N0 (n,) [dB] of the uplink alone in clear sky."""
    return uplink_es_n0_db(way.link.inbound, way.driven.flux_dbw_m2)


def _outbound_losses_db(way: Outbound, site_pct: FloatArray, p_pct: FloatArray) -> Losses:
    """Return what attenuation, noise and the hub's rain take outbound (n,) [dB]."""
    link = way.link
    sky, dry = way.sky(site_pct), link.site.down.clear
    # The downlink's level falls by the attenuation; the rest is noise and the wet dish.
    dimmed = inverse_sum_db(_down_hop_db(way) - (sky.total - dry.total), _fixed_db(way))
    return _worse(way, dimmed - link.outbound_required_db, site_pct, p_pct)


def _inbound_losses_db(way: Inbound, site_pct: FloatArray, p_pct: FloatArray) -> Losses:
    """Return what attenuation, a wet dish and the hub's rain take inbound (n,) [dB]."""
    rise = way.sky(site_pct).total - way.link.site.up.gas_db
    net = np.maximum(rise - way.driven.raise_db, 0.0)
    dimmed = inbound_es_n0_db(way.link, way.driven, net) - way.link.inbound_required_db
    return _worse(way, dimmed, site_pct, p_pct)


def _worse(way: Way, dimmed: FloatArray, site_pct: FloatArray, p_pct: FloatArray) -> Losses:
    """Return the losses [dB] of the end to blame: attenuation and noise, or the hub's rain."""
    start, margin = way.clear_db, margin_db(way, p_pct)
    at_site = way.site_db(site_pct) <= margin + 1e-6
    none = np.where(np.isnan(start), np.nan, 0.0)
    return (
        np.where(at_site, start - dimmed, none),
        np.where(at_site, dimmed - margin, none),
        np.where(at_site, none, start - margin),
    )
