"""A second hub that takes over in rain: where it stands, and what it spares of the hub's sky."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from siteplan.network import Network
from siteplan.physics.angles.geometry import LookAngles
from siteplan.physics.propagation.attenuation import Attenuation, SlantPath
from siteplan.physics.propagation.diversity import Baseline, baseline_angle_deg, rain_left_db


def second_hub(network: Network, angles: LookAngles) -> Baseline | None:
    """Return where the second hub stands as seen from the first (angles (1,)); None without one.

    Without a bearing the two are taken to stand in line with the satellite, which gains least.
    """
    hub = network.hub
    if not hub.diversity_km:
        return None
    if hub.diversity_bearing_deg is None:
        return Baseline(hub.diversity_km, 0.0)
    psi = baseline_angle_deg(hub.diversity_bearing_deg, angles.azimuth_true_deg)
    return Baseline(hub.diversity_km, float(psi[0]))


def spared(sky: Attenuation, path: SlantPath, second: Baseline | None) -> Attenuation:
    """Return the sky of one of the hub's paths (1,) at some percentages (k,), rain diversified.

    Gas, cloud and scintillation stay; what rain depolarizes follows from the rain that is left.
    """
    if second is None:
        return sky
    rain = np.asarray(sky.rain, dtype=float)
    left = rain_left_db(rain, path.frequency_ghz, float(path.elevation_deg[0]), second)
    return replace(sky, rain=left)
