"""Two networks with nothing the same in both directions, at Ku and at Ka band, and their sites.

Hubs and sites are places on the map, all else is invented. Each network is planned with a small
and with a large share of the outage for its hub: see ``SETUPS``.
"""

from __future__ import annotations

from tests.reference.link.by_hand import Buc, Budget, Dish, Setup, Site, Spot, Tables

KU: Tables = {
    "network": {"date": "2026-06-01"},
    "satellite": {"longitude_deg": 343.0},
    "hub": {"lat": 9.05, "lon": 38.7, "antenna_m": 5.6, "efficiency": 0.61,
            "lna_noise_k": 88.0, "power_control_db": 1.3},
    "outbound": {
        "uplink_ghz": 14.05, "downlink_ghz": 12.6,
        "uplink_polarization": "horizontal", "downlink_polarization": "vertical",
        "symbol_rate_msps": 9.0, "roll_off": 0.25, "waveform": "DVB-S2", "modcod": "8PSK 3/5",
        "implementation_loss_db": 0.8, "satellite_eirp_dbw": 53.0, "satellite_g_t_db_k": 1.5,
        "sfd_dbw_m2": -84.0, "transponder_mhz": 54.0, "input_backoff_db": 5.0,
        "output_backoff_db": 2.8, "ci_db": 19.0,
    },
    "inbound": {
        "power_share": "free", "uplink_ghz": 14.45, "downlink_ghz": 11.1,
        "uplink_polarization": "vertical", "downlink_polarization": "circular",
        "symbol_rate_msps": 1.1, "roll_off": 0.3, "waveform": "DVB-RCS2", "modcod": "QPSK 2/3",
        "implementation_loss_db": 1.2, "satellite_eirp_dbw": 47.2, "satellite_g_t_db_k": 4.0,
        "sfd_dbw_m2": -83.5, "transponder_mhz": 36.0, "input_backoff_db": 6.0,
        "output_backoff_db": 4.1, "ci_db": 23.0,
    },
    "terminal": {"lnb_noise_k": 66.0, "spillover_noise_k": 27.0, "tx_loss_db": 0.7,
                 "rx_loss_db": 0.25, "pointing_loss_db": 0.4, "wet_loss_db": 0.6},
    "antennas": [{"diameter_m": 2.4, "efficiency": 0.68}, {"diameter_m": 1.4, "efficiency": 0.62},
                 {"diameter_m": 1.8, "efficiency": 0.65}],
    "bucs": [{"rated_w": 5.0, "backoff_db": 1.6}, {"rated_w": 2.5, "backoff_db": 0.9}],
    "rules": {"reserve_db": 0.7},
}  # fmt: skip
#: ITU-R P.1511-2's height of the hub, as in Study Group 3's validation examples [km].
KU_HUB = Spot(9.05, 38.7, 2.539861878)
KU_SITES = (
    Site(Spot(-22.904, -43.212, 0.64), 99.6),
    Site(Spot(44.417, 12.199, 0.015), 99.8),
    Site(Spot(5.603, -0.187, 0.09), 99.2),
)

KA: Tables = {
    "network": {"date": "2026-06-01"},
    "satellite": {"longitude_deg": 128.0},
    "hub": {"lat": 28.717, "lon": 77.3, "antenna_m": 4.8, "efficiency": 0.57,
            "lna_noise_k": 130.0, "power_control_db": 11.5},
    "outbound": {
        "uplink_ghz": 28.3, "downlink_ghz": 18.4,
        "uplink_polarization": "circular", "downlink_polarization": "horizontal",
        "symbol_rate_msps": 14.0, "roll_off": 0.15, "es_n0_db": 2.6,
        "implementation_loss_db": 0.6, "satellite_eirp_dbw": 58.5, "satellite_g_t_db_k": 11.0,
        "sfd_dbw_m2": -87.0, "transponder_mhz": 125.0, "input_backoff_db": 4.0,
        "output_backoff_db": 2.2, "ci_db": 17.0,
    },
    "inbound": {
        "power_share": "free", "uplink_ghz": 29.7, "downlink_ghz": 19.9,
        "uplink_polarization": "horizontal", "downlink_polarization": "vertical",
        "symbol_rate_msps": 0.7, "roll_off": 0.35, "eb_n0_db": 1.4, "bits_per_symbol": 1.2,
        "implementation_loss_db": 0.9, "satellite_eirp_dbw": 56.0, "satellite_g_t_db_k": 13.0,
        "sfd_dbw_m2": -77.0, "transponder_mhz": 60.0, "input_backoff_db": 6.5,
        "output_backoff_db": 3.6, "ci_db": 21.0,
    },
    "terminal": {"lnb_noise_k": 110.0, "spillover_noise_k": 17.0, "tx_loss_db": 0.35,
                 "rx_loss_db": 0.55, "pointing_loss_db": 0.65, "wet_loss_db": 1.1},
    "antennas": [{"diameter_m": 1.3, "efficiency": 0.6}, {"diameter_m": 1.9, "efficiency": 0.66}],
    "bucs": [{"rated_w": 4.0, "backoff_db": 0.5}, {"rated_w": 10.0, "backoff_db": 1.4}],
    "rules": {"reserve_db": 0.4},
}  # fmt: skip
KA_HUB = Spot(28.717, 77.3, 0.209383699)
KA_SITES = (
    Site(Spot(-21.139, -175.204, 0.12), 97.4),
    Site(Spot(-41.292, 174.779, 0.21), 98.7, antenna_m=1.5),
    Site(Spot(35.181, 136.906, 0.055), 98.2, antenna_m=1.2, buc_w=6.0),
)

#: Each network twice: a small share leaves the hub the deeper rain, a large one the sites.
SETUPS = {
    "ku, hub": Setup(KU, 0.05, KU_HUB, KU_SITES),
    "ku, site": Setup(KU, 0.85, KU_HUB, KU_SITES),
    "ka, hub": Setup(KA, 0.08, KA_HUB, KA_SITES),
    "ka, site": Setup(KA, 0.6, KA_HUB, KA_SITES),
}


def dishes(setup: Setup, site: Site) -> list[Dish]:
    """Antennas to choose from, smallest first: an installed one stands in each place."""
    listed = sorted((a["diameter_m"], a["efficiency"]) for a in setup.tables["antennas"])
    if site.antenna_m is None:
        return listed
    there = site.antenna_m
    near = min(listed, key=lambda dish: abs(dish[0] - there))
    return [(there, near[1])] * len(listed)


def bucs(setup: Setup, site: Site) -> list[Buc]:
    """Transmitters to choose from, smallest first: an installed one stands in each place."""
    listed = sorted((b["rated_w"], b["backoff_db"]) for b in setup.tables["bucs"])
    if site.buc_w is None:
        return listed
    there = site.buc_w
    near = min(listed, key=lambda buc: abs(buc[0] - there))
    return [(there, near[1])] * len(listed)


def choice(setup: Setup, site: Site) -> tuple[Budget, bool]:
    """Smallest antenna, then smallest BUC, that keeps the reserve, else the largest of both."""
    reserve = setup.tables["rules"]["reserve_db"]
    for dish in dishes(setup, site):
        for buc in bucs(setup, site):
            budget = Budget(setup, site, dish, buc)
            if budget.margin_db() >= reserve:
                return budget, True
    return budget, False
