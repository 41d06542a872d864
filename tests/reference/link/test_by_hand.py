"""A whole link budget for one site, worked line by line with plain arithmetic.

Method: Maral and Bousquet, Satellite Communications Systems, chapter 5 (transparent
transponder), noise by ITU-R P.618-14 section 3. Only look angles and the attenuation's parts
come from the project; each has checks of its own against outside sources.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from siteplan.model import Sites
from siteplan.network import Network
from siteplan.physics.angles.geometry import look_angles
from siteplan.physics.propagation.attenuation import averaging, parts, slant_path
from siteplan.physics.propagation.climate import site_climate, topographic_altitude_m
from siteplan.physics.propagation.mapped.maps import bilinear, grid
from siteplan.planning.plan import make_plan
from siteplan.results import Plan

NETWORK = Network.model_validate(
    {
        "satellite": {"longitude_deg": -61.0},
        "network": {"date": "2026-06-01", "availability_pct": 99.7},
        "antennas": [{"diameter_m": 1.8}],
        "bucs": [{"rated_w": 2.0}],
        "terminal": {"wet_loss_db": 0.4},
        "inbound": {"power_share": "free"},
        "rules": {"hub_outage_share": 0.0},
    }
)
#: Mean surface temperature of the site and of the hub, ITU-R P.1510-1's map.
SURFACE_K, HUB_K = (
    float(t)
    for t in bilinear(grid("temperature"), np.array([-3.1, -1.4]), np.array([-60.02, -48.5]))
)
K_DB = 10 * math.log10(1.380649e-23)


def db(ratio: float) -> float:
    return 10 * math.log10(ratio)


def num(level_db: float) -> float:
    return 10 ** (level_db / 10)


@pytest.fixture(scope="module")
def plan() -> Plan:
    return make_plan(Sites.at(np.array([-3.1]), np.array([-60.02])), NETWORK)


def value(plan: Plan, name: str) -> float:
    return float(plan.columns[name][0])


def sky_noise_k(absorption_db: float, surface_k: float) -> float:
    radiating = 37.34 + 0.81 * surface_k
    return radiating * (1 - num(-absorption_db)) + 2.7 * num(-absorption_db)


def remote_g_t(absorption_db: float, wet_db: float) -> float:
    wavelength = 0.299792458 / 11.95
    gain = db(0.65 * (math.pi * 1.8 / wavelength) ** 2)
    sky = sky_noise_k(absorption_db, SURFACE_K)
    line = num(-(0.2 + wet_db))
    system = (sky + 20.0) * line + 290.0 * (1 - line) + 75.0
    return gain - (0.2 + wet_db) - db(system)


def combine(*terms_db: float) -> float:
    return -db(sum(num(-t) for t in terms_db))


def test_outbound_clear_sky_and_margin(plan: Plan) -> None:
    range_m = value(plan, "slant_range_km") * 1e3
    # Hub up: the carrier takes the power of its bandwidth.
    occupied = 6.0 * 1.2
    carrier_obo = 3.5 + db(36.0 / occupied)
    carrier_ibo = carrier_obo + (6.0 - 3.5)
    flux = -88.0 - carrier_ibo
    wavelength_up = 0.299792458 / 14.25
    up = flux + db(wavelength_up**2 / (4 * math.pi)) + 1.0 - K_DB - db(6e6)
    # Remote down.
    eirp = 48.0 - carrier_obo
    loss = 20 * math.log10(4 * math.pi * range_m * 11.95e9 / 299792458.0)
    gas = value(plan, "downlink_gas_db")
    down = eirp - loss - gas - 0.3 + remote_g_t(gas, 0.0) - K_DB - db(6e6)
    clear = combine(up, down, 20.0)
    assert value(plan, "outbound_clear_es_n0_db") == pytest.approx(clear, abs=1e-6)
    required = 4.03 + 1.0  # DVB-S2 QPSK 3/4 and the modem's loss
    assert value(plan, "outbound_fade_margin_db") == pytest.approx(clear - required, abs=1e-6)
    # The same in rain at the site, which takes the whole outage here.
    parts = {k: value(plan, f"downlink_{k}_db") for k in ("gas", "cloud", "rain", "scintillation")}
    total = parts["gas"] + math.hypot(parts["rain"] + parts["cloud"], parts["scintillation"])
    assert value(plan, "downlink_attenuation_db") == pytest.approx(total, abs=1e-9)
    absorbed = parts["gas"] + parts["rain"] + parts["cloud"]
    faded = eirp - loss - total - 0.3 + remote_g_t(absorbed, 0.4) - K_DB - db(6e6)
    margin = combine(up, faded, 20.0) - required
    assert value(plan, "outbound_margin_db") == pytest.approx(margin, abs=1e-6)


def test_inbound_clear_sky_and_margin(plan: Plan) -> None:
    range_m = value(plan, "slant_range_km") * 1e3
    wavelength_up = 0.299792458 / 14.25
    gain = db(0.65 * (math.pi * 1.8 / wavelength_up) ** 2)
    eirp = db(2.0) - 1.0 - 0.5 + gain - 0.3
    assert value(plan, "remote_eirp_dbw") == pytest.approx(eirp, abs=1e-9)
    required = 1.71 + 1.0  # DVB-RCS2 QPSK 1/2, 1616 symbols, and the modem's loss

    def es_n0(attenuation_db: float, fade_db: float) -> float:
        flux = eirp - db(4 * math.pi * range_m**2) - attenuation_db
        up = flux + db(wavelength_up**2 / (4 * math.pi)) + 1.0 - K_DB - db(0.256e6)
        carrier_ibo = -88.0 - flux
        carrier_obo = carrier_ibo - (6.0 - 3.5)
        wavelength_down = 0.299792458 / 11.95
        hub_gain = db(0.65 * (math.pi * 4.5 / wavelength_down) ** 2)
        hub_g_t = hub_gain - db(2.7 + 70.0)  # the hub's place is not given: no rain, no gas
        loss = 20 * math.log10(4 * math.pi * 38500e3 * 11.95e9 / 299792458.0)
        down = 48.0 - carrier_obo - loss + hub_g_t - K_DB - db(0.256e6)
        return combine(up, down, 20.0 - fade_db)

    gas, total = value(plan, "uplink_gas_db"), value(plan, "uplink_attenuation_db") + 0.4
    clear = es_n0(gas, 0.0)
    assert value(plan, "inbound_clear_es_n0_db") == pytest.approx(clear, abs=1e-6)
    assert value(plan, "inbound_fade_margin_db") == pytest.approx(clear - required, abs=1e-6)
    margin = es_n0(total, total - gas) - required
    assert value(plan, "inbound_margin_db") == pytest.approx(margin, abs=1e-6)
    smaller = min(value(plan, "inbound_margin_db"), value(plan, "outbound_margin_db"))
    assert value(plan, "margin_db") == smaller


def test_the_hub_in_rain_takes_its_share() -> None:
    """With power control wide open the hub's rain only reaches the inbound downlink."""
    hub = {"lat": -1.4, "lon": -48.5, "power_control_db": 30.0}
    network = Network.model_validate(
        NETWORK.model_dump(exclude_unset=True) | {"hub": hub, "rules": {"hub_outage_share": 0.1}}
    )
    plan = make_plan(Sites.at(np.array([40.0]), np.array([-100.0])), network)
    lat, lon = np.array([-1.4]), np.array([-48.5])
    altitude_m = topographic_altitude_m(lat, lon)
    angles = look_angles(lat, lon, altitude_m, -61.0)
    # On a sphere: 12.58 degrees from the sub-satellite point, so atan((cos - 0.15127) / sin); the
    # ellipsoid stays within a twentieth of a degree.
    apart = math.acos(math.cos(math.radians(1.4)) * math.cos(math.radians(12.5)))
    elevation = math.degrees(math.atan((math.cos(apart) - 6378.137 / 42164.17) / math.sin(apart)))
    assert float(angles.elevation_deg[0]) == pytest.approx(elevation, abs=0.05)
    # The hub's share: a tenth of 0.3 % of time, a vertical downlink turned by the skew.
    climate = site_climate(lat, lon, altitude_m / 1000)
    path = slant_path(11.95, angles.elevation_deg, 90 - np.abs(angles.skew_deg), climate)
    rain = parts(path, np.array([0.03]), averaging(path, 4.5, 0.65))
    total, absorbed = float(rain.total[0]), float((rain.gas + rain.rain + rain.cloud)[0])
    # Up, the site in clear sky.
    range_m, gas = value(plan, "slant_range_km") * 1e3, value(plan, "uplink_gas_db")
    flux = value(plan, "remote_eirp_dbw") - db(4 * math.pi * range_m**2) - gas
    wavelength_up, wavelength_down = 0.299792458 / 14.25, 0.299792458 / 11.95
    up = flux + db(wavelength_up**2 / (4 * math.pi)) + 1.0 - K_DB - db(0.256e6)
    # Down, the hub in rain.
    carrier_obo = (-88.0 - flux) - (6.0 - 3.5)
    loss = 20 * math.log10(4 * math.pi * float(angles.slant_range_km[0]) * 1e3 / wavelength_down)
    gain = db(0.65 * (math.pi * 4.5 / wavelength_down) ** 2)
    g_t = gain - db(sky_noise_k(absorbed, HUB_K) + 70.0)
    down = 48.0 - carrier_obo - loss - total + g_t - K_DB - db(0.256e6)
    margin = combine(up, down, 20.0) - (1.71 + 1.0)
    assert value(plan, "inbound_margin_db") == pytest.approx(margin, abs=1e-6)
