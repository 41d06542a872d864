"""The networks that the benchmarks plan with."""

from __future__ import annotations

import numpy as np

from siteplan.physics.angles.footprint import place_seen

TOML = """
[network]
date = 2026-06-01
[satellite]
longitude_deg = 45
[hub]
lat = 41
lon = 29
power_control_db = 5
[[antennas]]
diameter_m = 0.98
[[antennas]]
diameter_m = 1.2
[[antennas]]
diameter_m = 1.8
[[antennas]]
diameter_m = 2.4
[[antennas]]
diameter_m = 3.7
[[bucs]]
rated_w = 1
[[bucs]]
rated_w = 2
[[bucs]]
rated_w = 3
[[bucs]]
rated_w = 4
"""

#: Neighbours on both sides, carriers on the other polarization, a mask.
INTERFERENCE = """
[outbound]
cross_polar_level_db = -15
[inbound]
cross_polar_level_db = -15
[[neighbours]]
longitude_deg = 42
uplink_dbw_40khz = -6
[[neighbours]]
longitude_deg = 48
[[neighbours]]
longitude_deg = 40
downlink_level_db = -3
[[neighbours]]
longitude_deg = 50
[regulation]
masks = ["47cfr25_ku"]
"""
#: A beam, an amplifier and a second hub, MODCODs that follow the weather, traffic and lease.
CAPACITY = (
    TOML.replace("[hub]\n", "[hub]\nhpa_w = 400\ndiversity_km = 10\n")
    + """
[outbound]
adaptive = true
level_db = 0.5
[inbound]
adaptive = true
clear_sky_reduction_db = 1
[terminal]
power_control_db = 6
[traffic]
outbound_kbit_s = 512
growth_pct = 10
[lease]
guard_pct = 10
[[contours]]
direction = "down"
peak = 52
lat = 30
lon = 45
major_deg = 12
minor_deg = 10
[[contours]]
direction = "up"
peak = 4
lat = 30
lon = 45
major_deg = 12
minor_deg = 10
"""
)
#: What sites are connected for, costs over the years, a roll-out, equipment that fails.
AT_WORK = (
    TOML.replace(
        "[network]\n",
        '[network]\napplications = ["till", "files"]\nequipment_mtbf_h = 40000\n'
        "equipment_mttr_h = 24\n",
    )
    + """
[[applications]]
name = "till"
profile = "transaction"
[[applications]]
name = "files"
profile = "internet"
[costs]
modem = 100
lnb = 50
lease_mhz_month = 300
recurring_site_month = 10
spectrum_fee_site_year = 5
power_kwh = 0.2
line_month = 100
[rollout]
sites_per_week = 40
start = 2026-10-05
[uncertainty]
eirp_db = 0.4
[climate]
ratio = 0.25
"""
)
#: What a plan with more asked of it is measured with: name, and text added to the network, or the
#: whole of another one.
ADDED: tuple[tuple[str, str], ...] = (
    ("prices of kit and mounts", "[costs]\nmodem = 1150\nvisit = 640\ninstallation_pole = 480\n"),
    ("neighbours, the other polarization and a mask", INTERFERENCE),
    ("a beam, coding, capacity and lease", CAPACITY),
    ("applications, costs over the years, a roll-out and failing equipment", AT_WORK),
)


def many_beams() -> str:
    """Return a network.toml of 40 beams that overlap, of four sets of frequencies and four hubs."""
    east, north = np.meshgrid(np.linspace(-6.5, 6.5, 8), np.linspace(-5.5, 5.5, 5))
    lat, lon = place_seen(east.ravel(), north.ravel(), 45)
    entries = [
        f"[[beams]]\nname = 'beam {k + 1}'\nlat = {lat[k]:.4f}\nlon = {lon[k]:.4f}\n"
        f"major_deg = 2.65\nminor_deg = 3.9\n"
        f"outbound = {{ satellite_eirp_dbw = {47 + k % 7},"
        f" downlink_ghz = {11.8 + 0.1 * (k % 4)} }}\n"
        f"inbound = {{ satellite_g_t_db_k = {k % 5}, uplink_ghz = {14.1 + 0.1 * (k % 4)} }}\n"
        f"hub = {{ lat = {(41, 25, 50, 30)[k % 4]}, lon = {(29, 55, 14, 31)[k % 4]} }}\n"
        for k in range(len(lat))
    ]
    return TOML + "\n".join(entries)
