"""What a gateway has to give, loses and needs: one result from the link's end and the sites' word.

Planning figures. Which antenna needs tracking and where de-icing is asked about follow common
practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from siteplan.answers.hub import Asked, HubAntenna, HubResult
from siteplan.arrays import FloatArray
from siteplan.network import Network
from siteplan.physics.angles.pointing import pointing_loss_db
from siteplan.physics.propagation.attenuation import P_RANGE_PCT
from siteplan.physics.radio import noise
from siteplan.physics.radio.antennas import beamwidth_deg
from siteplan.planning.gateway.heard import (
    INBOUND,
    LIMITED,
    OUTBOUND,
    OWN,
    SATURATED,
    only_of,
    values_of,
)
from siteplan.planning.gateway.names import hub_names, station_of
from siteplan.planning.link.ends import (
    HubEnd,
    HubPaths,
    hub_eirp_dbw,
    hub_noise_k,
    hub_sky,
    hub_tx_gain_dbi,
    power_of,
)
from siteplan.planning.link.hub.sizes import Size
from siteplan.planning.setting import Setting

if TYPE_CHECKING:
    from siteplan.answers.licence import Licence

#: How far a satellite strays in a day where nobody says [deg]; common practice, no source.
USUAL_BOX_DEG: Final = 0.05
#: A dish that loses more than this by the satellite's motion needs tracking [dB]; common practice.
TRACKING_FROM_DB: Final = 0.5
#: From this latitude on snow on the hub's dish is asked about [deg]; common practice, no source.
SNOW_FROM_DEG: Final = 35.0
#: Amplifiers at work and standing by, by redundancy.
AMPLIFIERS: Final = {"1:0": (1, 0), "1:1": (1, 1), "1:2": (2, 1)}
#: Keys of ``[hub]`` whose default the amplifier's figures rest on.
_AMPLIFIER: Final = ("tx_loss_db", "hpa_backoff_db", "carriers", "power_control_db")


def hubs_of(
    passes: Sequence[Setting], counts: Mapping[str, int], licence: Licence | None
) -> tuple[HubResult, ...]:
    """Return the result of each gateway of a plan: of each hub with the carriers that it sends.

    Parameters
    ----------
    passes : sequence of Setting
        What the sites of each pass share.
    counts : mapping
        What the sites say of their hub, as `siteplan.planning.gateway.heard.heard` counts it and
        `siteplan.planning.gateway.heard.of_pass` marks it; of a plan in parts those of all parts
        added.
    licence : Licence or None
        What a licence asks, where limits off axis are given.
    """
    asked = (None,) * len(passes) if licence is None else (licence, *licence.others)
    names = hub_names([[shared] for shared in passes])
    return tuple(
        _hub_of(names[k], shared, only_of(k, counts), asked[k], _beside(shared, passes))
        for k, shared in enumerate(passes)
    )


def _beside(shared: Setting, passes: Sequence[Setting]) -> tuple[str, ...]:
    """Return the beams whose other carriers the very same hub sends."""
    return tuple(
        beam
        for other in passes
        if other is not shared and station_of(other) == station_of(shared)
        for beam in other.own
    )


def _hub_of(
    name: str,
    shared: Setting,
    counts: Mapping[str, int],
    licence: Licence | None,
    beside: tuple[str, ...],
) -> HubResult:
    paths = shared.hub_sky.paths
    mask = licence.hub.off_axis_mask if licence else ""
    margin = licence.hub.off_axis_margin_db if licence else math.nan
    sizes = shared.hub_sizes if shared.network.hub.antennas_m else ()
    return HubResult(
        name=name,
        beams=tuple(shared.own),
        also_beams=beside,
        antenna_m=shared.network.hub.antenna_m,
        elevation_deg=shared.hub.elevation_deg,
        mask=mask,
        mask_margin_db=margin,
        antennas=_antennas(shared.network, shared.hub, sizes, counts),
        **power_figures(shared.network, shared.hub),
        **_losses(shared.network, shared.hub, paths, counts),
        **_station(shared.network),
    )


def power_figures(network: Network, hub: HubEnd) -> dict[str, Any]:
    """Return what the hub's amplifier has to give, and the range of power control it leaves."""
    power, given = power_of(network, hub), network.hub
    gain = hub_tx_gain_dbi(network)
    eirp = hub_eirp_dbw(network, hub)
    limited = power.control_db < given.power_control_db
    return {
        "carriers": given.carriers,
        "tx_gain_dbi": gain,
        "eirp_dbw": eirp,
        "feed_w": 10 ** ((eirp - gain) / 10),
        "tx_loss_db": given.tx_loss_db,
        "hpa_backoff_db": given.hpa_backoff_db,
        "clear_hpa_w": 10 ** (power.drive_dbw / 10),
        "needed_hpa_w": 10 ** (power.needed_dbw / 10),
        "hpa_w": math.nan if given.hpa_w is None else given.hpa_w,
        "headroom_db": math.nan if given.hpa_w is None else power.headroom_db,
        "short_db": power.short_db,
        "control_asked_db": given.power_control_db,
        "control_db": power.control_db,
        "control_by": "amplifier" if limited else "network file",
    }


def _losses(
    network: Network, hub: HubEnd, paths: HubPaths | None, counts: Mapping[str, int]
) -> dict[str, Any]:
    """Return what the hub's rain takes, at the medians of the sites' shares."""
    out, back = (values_of(counts, what) for what in (OUTBOUND, INBOUND))
    known = paths is not None and network.rules.hub_outage_share != 0
    middle = [_median(values) if known else math.nan for values in (out, back)]
    up = _fade_db(hub.up_fade.at, middle[0])
    return {
        "sites": len(out),
        "outbound_pct": middle[0],
        "outbound_most_pct": _most(out) if known else math.nan,
        "inbound_pct": middle[1],
        "inbound_most_pct": _most(back) if known else math.nan,
        "up_fade_db": up,
        "up_left_db": up if math.isnan(up) else max(up - hub.control_db, 0.0),
        "down_fade_db": _fade_db(hub.down_fade.at, middle[1]),
        "g_t_clear_db_k": g_t_db_k(network, hub, hub.down_gas_db),
        "g_t_faded_db_k": _faded_g_t_db_k(network, hub, paths, middle[1]),
        "hub_limited_sites": counts.get(LIMITED, 0),
        "saturated_sites": counts.get(SATURATED, 0),
        "diversity_km": network.hub.diversity_km or 0.0,
        "diversity_angle_deg": paths.second.psi_deg if paths and paths.second else math.nan,
    }


def _median(values: FloatArray) -> float:
    return float(np.median(values)) if values.size else math.nan


def _most(values: FloatArray) -> float:
    return float(values[-1]) if values.size else math.nan


def _fade_db(at: Any, p_pct: float) -> float:
    """Return a fade [dB] at a share of the outage, not below the method's least."""
    return math.nan if math.isnan(p_pct) else max(float(at(max(p_pct, P_RANGE_PCT[0]))), 0.0)


def g_t_db_k(network: Network, hub: HubEnd, absorption_db: FloatArray) -> float:
    """Return the hub's G/T [dB/K] behind a sky (1,) that absorbs [dB]."""
    system = hub_noise_k(network, absorption_db, hub.radiating_k)
    return float(noise.g_over_t_db(hub.gain_dbi, 0.0, system)[0])


def _faded_g_t_db_k(network: Network, hub: HubEnd, paths: HubPaths | None, p_pct: float) -> float:
    """Return the hub's G/T [dB/K] under its sky at a share of the outage."""
    if paths is None or math.isnan(p_pct):
        return math.nan
    sky = hub_sky(network, paths.down, paths.second, max(p_pct, P_RANGE_PCT[0]))
    return g_t_db_k(network, hub, sky.absorption)


def _antennas(
    network: Network, hub: HubEnd, sizes: tuple[Size, ...], counts: Mapping[str, int]
) -> tuple[HubAntenna, ...]:
    """Return what each size of hub antenna would bring, rising; the hub's own stands among them."""
    if not network.hub.antennas_m:
        return ()
    own = values_of(counts, OWN)
    rows = [(network.hub.antenna_m, True, g_t_db_k(network, hub, hub.down_gas_db), own)]
    for size in sizes:
        g_t = g_t_db_k(size.network, size.hub, size.hub.down_gas_db)
        rows.append((size.diameter_m, False, g_t, values_of(counts, size.key)))
    return tuple(
        HubAntenna(
            *(diameter_m, is_own, g_t, _median(values)),
            worst_db=float(values[0]) if values.size else math.nan,
            buys_db=_median(values) - _median(own),
        )
        for diameter_m, is_own, g_t, values in sorted(rows, key=lambda row: row[0])
    )


def _station(network: Network) -> dict[str, Any]:
    """Return amplifiers, tracking and de-icing, and what these figures rest on."""
    working, standby = AMPLIFIERS[network.hub.redundancy]
    loss = tracking_loss_db(network)
    return {
        "redundancy": network.hub.redundancy,
        "amplifiers": working + standby,
        "standby": standby,
        "box_deg": box_deg(network),
        "tracking_loss_db": loss,
        "tracking": round(loss, 6) > TRACKING_FROM_DB,
        "deicing": deicing(network),
        "assumed": tuple(_assumed(network)),
    }


def box_deg(network: Network) -> float:
    """Return how far the satellite strays from its place in a day [deg]."""
    given = network.satellite.station_keeping_deg
    return USUAL_BOX_DEG if given is None else given


def tracking_loss_db(network: Network) -> float:
    """Return what the satellite's daily motion takes from the hub's dish if it stands still [dB].

    At the higher of its two frequencies, whose beam is the narrower.

    References
    ----------
    Maral and Bousquet, Satellite Communications Systems, 5th ed., chapter 5: 12 (d / theta3)^2.
    """
    ghz = max(network.outbound.uplink_ghz, network.inbound.downlink_ghz)
    return float(pointing_loss_db(box_deg(network), beamwidth_deg(network.hub.antenna_m, ghz)))


def deicing(network: Network) -> Asked:
    """Return whether de-icing of the hub's dish is to be asked about: by key, else by latitude."""
    if network.hub.snow is not None:
        return "yes" if network.hub.snow else "no"
    if network.hub.lat is None:
        return "not known"
    return "yes" if abs(network.hub.lat) >= SNOW_FROM_DEG else "no"


def _assumed(network: Network) -> Iterator[str]:
    """Yield the keys whose default the amplifier's and the dish's figures rest on."""
    for key in _AMPLIFIER:
        if key not in network.hub.model_fields_set:
            yield f"hub.{key}"
    if network.satellite.station_keeping_deg is None:
        yield "satellite.station_keeping_deg"
