"""Label and form of every field, as readers of the outputs see them: one line a field.

A new field is a line of ``FIGURES``. It is written by hand, not taken from the dictionary: a label
or a unit that moves to another field there is seen here.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from siteplan.results import Plan

#: Label and form of each field, as the reader of an output sees it; ``{}`` is a text.
FIGURES: dict[str, tuple[str, str]] = {
    "site_id": ("Site", "{}"),
    "name": ("Name", "{}"),
    "group": ("Group", "{}"),
    "priority": ("Priority", "{}"),
    "lat": ("Latitude", "{:.6f}°"),
    "lon": ("Longitude", "{:.6f}°"),
    "altitude_m": ("Altitude", "{:.0f} m"),
    "altitude_source": ("Altitude from", "{}"),
    "structure": ("Structure", "{}"),
    "wall_facing_deg": ("Wall faces", "{:.0f}°"),
    "timezone": ("Time zone", "{}"),
    "roof_height_m": ("Roof height", "{:.1f} m"),
    "cable_m": ("Cable run", "{:.0f} m"),
    "wind_m_s": ("Wind", "{:.1f} m/s"),
    "fixed_antenna_m": ("Installed antenna", "{:.2f} m"),
    "fixed_buc_w": ("Installed BUC", "{:.1f} W"),
    "fixed_efficiency": ("Installed efficiency", "{:.2f}"),
    "fixed_buc_backoff_db": ("Installed back-off", "{:.1f} dB"),
    "availability_target_pct": ("Availability target", "{:.3f} %"),
    "applications": ("Applications", "{}"),
    "target_source": ("Target from", "{}"),
    "hop_delay_ms": ("Delay of one hop", "{:.0f} ms"),
    "outbound_offered_kbit_s": ("Outbound traffic", "{:.1f} kbit/s"),
    "inbound_offered_kbit_s": ("Inbound traffic", "{:.1f} kbit/s"),
    "azimuth_true_deg": ("Azimuth (true)", "{:.2f}°"),
    "azimuth_magnetic_deg": ("Azimuth (magnetic)", "{:.1f}°"),
    "magnetic_declination_deg": ("Declination", "{:.2f}°"),
    "elevation_deg": ("Elevation", "{:.2f}°"),
    "skew_deg": ("Polarization angle (skew)", "{:.1f}°"),
    "slant_range_km": ("Slant range", "{:.0f} km"),
    "rain_rate_mm_h": ("Rain rate R0.01", "{:.1f} mm/h"),
    "rain_height_km": ("Rain height", "{:.2f} km"),
    "uplink_attenuation_db": ("Uplink attenuation", "{:.2f} dB"),
    "downlink_attenuation_db": ("Downlink attenuation", "{:.2f} dB"),
    "uplink_gas_db": ("Uplink gas", "{:.2f} dB"),
    "uplink_cloud_db": ("Uplink cloud", "{:.2f} dB"),
    "uplink_rain_db": ("Uplink rain", "{:.2f} dB"),
    "uplink_scintillation_db": ("Uplink scintillation", "{:.2f} dB"),
    "downlink_gas_db": ("Downlink gas", "{:.2f} dB"),
    "downlink_cloud_db": ("Downlink cloud", "{:.2f} dB"),
    "downlink_rain_db": ("Downlink rain", "{:.2f} dB"),
    "downlink_scintillation_db": ("Downlink scintillation", "{:.2f} dB"),
    "antenna_m": ("Antenna", "{:.2f} m"),
    "buc_w": ("BUC", "{:.1f} W"),
    "kit_source": ("Kit", "{}"),
    "required_antenna_m": ("Required antenna", "{:.2f} m"),
    "next_antenna_m": ("Next antenna up", "{:.2f} m"),
    "next_antenna_margin_db": ("Margin with the next antenna", "{:.1f} dB"),
    "near_miss": ("Missed by a hair", "{}"),
    "most_sensitive": ("Most sensitive to", "{}"),
    "margin_spread_db": ("Spread of the margin", "{:.2f} dB"),
    "margin_confidence_pct": ("Chance of margin", "{:.1f} %"),
    "no_fit_reason": ("Why nothing fits", "{}"),
    "tried_antenna_m": ("Margins with antenna", "{:.2f} m"),
    "tried_buc_w": ("Margins with BUC", "{:.1f} W"),
    "margin_db": ("Margin", "{:.1f} dB"),
    "margin_after_reserve_db": ("Margin after reserve", "{:.1f} dB"),
    "margin_class": ("Margin class", "{}"),
    "limiting_direction": ("Limited by", "{}"),
    "limiting_end": ("Limited at", "{}"),
    "fade_margin_db": ("Fade margin", "{:.1f} dB"),
    "outbound_clear_es_n0_db": ("Outbound clear-sky Es/N0", "{:.1f} dB"),
    "outbound_fade_margin_db": ("Outbound fade margin", "{:.1f} dB"),
    "outbound_margin_db": ("Outbound margin", "{:.1f} dB"),
    "outbound_site_outage_pct": ("Outbound outage at the site", "{:.4f} %"),
    "outbound_hub_outage_pct": ("Outbound outage at the hub", "{:.4f} %"),
    "outbound_availability_pct": ("Outbound availability", "{:.3f} %"),
    "inbound_clear_es_n0_db": ("Inbound clear-sky Es/N0", "{:.1f} dB"),
    "inbound_fade_margin_db": ("Inbound fade margin", "{:.1f} dB"),
    "inbound_margin_db": ("Inbound margin", "{:.1f} dB"),
    "inbound_site_outage_pct": ("Inbound outage at the site", "{:.4f} %"),
    "inbound_hub_outage_pct": ("Inbound outage at the hub", "{:.4f} %"),
    "inbound_availability_pct": ("Inbound availability", "{:.3f} %"),
    "availability_achieved_pct": ("Availability achieved", "{:.3f} %"),
    "certainty": ("Grade", "{}"),
    "certainty_next": ("For a better grade", "{}"),
    "worst_month_availability_pct": ("Availability in the worst month", "{:.3f} %"),
    "year_risk_pct": ("Chance of a bad year", "{:.1f} %"),
    "outages_over_10_s": ("Outages over 10 s", "{:.1f}"),
    "outages_over_10_min": ("Outages over 10 min", "{:.1f}"),
    "year_notes": ("On years and outages", "{}"),
    "tx_power_w": ("BUC output in clear sky", "{:.2f} W"),
    "power_cut_db": ("Turned down by", "{:.1f} dB"),
    "power_cut_by": ("Turned down for", "{}"),
    "service_availability_pct": ("Service availability", "{:.3f} %"),
    "power_equivalent_mhz": ("Power-equivalent bandwidth", "{:.3f} MHz"),
    "remote_eirp_dbw": ("Remote EIRP", "{:.1f} dBW"),
    "remote_g_t_db_k": ("Remote G/T", "{:.1f} dB/K"),
    "mount": ("Mount", "{}"),
    "mount_certainty": ("Mount is", "{}"),
    "mount_question": ("What settles the mount", "{}"),
    "mount_reason": ("Why this mount", "{}"),
    "mount_options": ("All mounts weighed", "{}"),
    "dish_height_m": ("Dish height above ground", "{:.1f} m"),
    "wind_design_m_s": ("Design wind", "{:.1f} m/s"),
    "wind_source": ("Wind from", "{}"),
    "wind_pressure_pa": ("Wind pressure", "{:.0f} Pa"),
    "wind_drag_n": ("Wind force", "{:.0f} N"),
    "overturning_nm": ("Overturning moment", "{:.0f} Nm"),
    "ballast_kg": ("Ballast", "{:.0f} kg"),
    "ballast_governs": ("Ballast set by", "{}"),
    "frame_base_m": ("Frame's side", "{:.1f} m"),
    "roof_load_pa": ("Load on the roof", "{:.0f} Pa"),
    "pole_embedment_m": ("Depth of the footing", "{:.2f} m"),
    "wall_pull_n": ("Pull on a fixing", "{:.0f} N"),
    "wall_shear_n": ("Shear on a fixing", "{:.0f} N"),
    "parapet_distance_m": ("Distance from the parapet", "{:.1f} m"),
    "horizon_at_satellite_deg": ("Horizon at the satellite", "{:.1f}°"),
    "horizon_source": ("Horizon from", "{}"),
    "obstacle_kind": ("Obstacle", "{}"),
    "clearance_deg": ("Clearance", "{:.1f}°"),
    "stand_off_per_m": ("Stand-off per metre of height", "{:.2f} m/m"),
    "stand_off_from": ("Stand-off heights from", "{}"),
    "beamwidth_deg": ("Beamwidth", "{:.2f}°"),
    "ifl_length_m": ("IFL length", "{:.0f} m"),
    "cable_class": ("Cable class", "{}"),
    "cable_core": ("Core of the cable", "{}"),
    "cable_loss_low_db": ("Cable loss, low end", "{:.1f} dB"),
    "cable_loss_high_db": ("Cable loss, high end", "{:.1f} dB"),
    "cable_slope_db": ("Cable slope", "{:.1f} dB"),
    "buc_dc_w": ("BUC supply power", "{:.0f} W"),
    "buc_voltage_v": ("Voltage at the BUC", "{:.1f} V"),
    "cable_clad_steel": ("With a clad-steel core", "{}"),
    "buc_current_a": ("BUC current", "{:.2f} A"),
    "modem_output_dbm": ("Modem output", "{:.1f} dBm"),
    "modem_input_dbm": ("Modem input", "{:.1f} dBm"),
    "cable_advice": ("Cable advice", "{}"),
    "aperture_w_m2": ("Density at the reflector, 4P/A", "{:.1f} W/m2"),
    "near_field_w_m2": ("Density in the near field", "{:.1f} W/m2"),
    "near_field_end_m": ("Near field ends", "{:.1f} m"),
    "far_field_start_m": ("Far field starts", "{:.1f} m"),
    "controlled_distance_m": ("Controlled distance in the beam", "{:.1f} m"),
    "public_distance_m": ("Public distance in the beam", "{:.1f} m"),
    "controlled_beside_m": ("Controlled distance beside the beam", "{:.1f} m"),
    "public_beside_m": ("Public distance beside the beam", "{:.1f} m"),
    "exposure_rule": ("Exposure rule", "{}"),
    "exposure_basis": ("Exposure rests on", "{}"),
    "fence_m": ("Fence in front of the dish", "{:.1f} m"),
    "beam_edge_m": ("Beam's lower edge", "{:.1f} m"),
    "beam_over_head_m": ("Beam over head height from", "{:.1f} m"),
    "sun_first_day": ("Sun transits from", "{}"),
    "sun_last_day": ("Sun transits to", "{}"),
    "sun_days": ("Days with sun transits", "{:.0f}"),
    "sun_peak_utc": ("Deepest sun transit, UTC", "{}"),
    "sun_peak_local": ("Deepest sun transit, local", "{}"),
    "sun_longest_min": ("Longest sun transit", "{:.1f} min"),
    "sun_depth_db": ("Sun transit depth", "{:.1f} dB"),
    "sun_outage": ("Sun outage", "{}"),
    "inclinometer_deg": ("Inclinometer on the rim", "{:.1f}°"),
    "azimuth_step_deg": ("Azimuth per 0.1 degree of orbit to the east", "{:.2f}°"),
    "elevation_step_deg": ("Elevation per 0.1 degree of orbit to the east", "{:.2f}°"),
    "skew_step_deg": ("Polarization angle (skew) per 0.1 degree of orbit to the east", "{:.2f}°"),
    "loss_0_1_deg_db": ("Loss for 0.1 degree", "{:.2f} dB"),
    "expected_c_n_db": ("Expected C/N", "{:.1f} dB"),
    "acceptance_c_n_db": ("Accept from", "{:.1f} dB"),
    "site_cost": ("Cost of the site", "{:.2f}"),
    "capex": ("Cost at the start", "{:.2f}"),
    "monthly_cost": ("Cost a month", "{:.2f}"),
    "life_cost": ("Cost over the years", "{:.2f}"),
    "line_month": ("Line a month", "{:.2f}"),
    "line_life_cost": ("Line over the years", "{:.2f}"),
    "cheaper_by": ("Cheaper than a line by", "{:.2f}"),
    "breakeven_months": ("Months to break even", "{:.0f}"),
    "flags": ("Flags", "{}"),
    "flag_notes": ("Notes", "{}"),
    "margin_1_2_m_db": ("Margin with 1.2 m", "{:.1f} dB"),
    "margin_1_8_m_db": ("Margin with 1.8 m", "{:.1f} dB"),
    "margin_2_4_m_db": ("Margin with 2.4 m", "{:.1f} dB"),
    "source_row": ("Row", "{:.0f}"),
}
#: Distances of exposure, and what stands for 0: the limit holds everywhere.
DISTANCES = (
    *("controlled_distance_m", "public_distance_m", "controlled_beside_m", "public_beside_m"),
)
NOT_REACHED = "the rule's limit is not reached"
#: Codes that a reader sees as words.
WORDS = {
    "flat_roof": "flat roof",
    "non_penetrating": "non penetrating",
    "provisional": "to be surveyed",
}
FLAG_WORDS = {
    "low_elevation": "Decide: Low elevation: long path in rain, obstructions likely",
    "drive_range": "Decide: A level at the modem is out of its range",
    "blocked": "Stop: An obstacle or the terrain stands in the beam",
    "margin_short": "Decide: The margin at the target is under the reserve",
    "azimuth_sensitive": "Know: A small error in position turns the azimuth markedly",
    "heavy_rain": "Know: Heavy rain climate",
}
#: What a box says of site ``i``: the name of a field, or a function of plan and site.
Says = str | Callable[[Plan, int], str]
Table = dict[tuple[str, str], Says]


def text(plan: Plan, name: str, i: int) -> str:
    """Return what a reader must see of a field; empty where the plan has no answer."""
    value = plan.columns[name][i]
    if isinstance(value, str):
        return value
    if value == 0 and name in DISTANCES:
        return NOT_REACHED
    return "" if math.isnan(value) else FIGURES[name][1].format(value)


def said(plan: Plan, says: Says, i: int) -> str:
    return text(plan, says, i) if isinstance(says, str) else says(plan, i)


def always(words: str) -> Says:
    return lambda _plan, _i: words


def spelled(name: str) -> Says:
    """A field whose codes are shown as words."""
    return lambda plan, i: WORDS.get(text(plan, name, i), text(plan, name, i))


def unsigned(name: str) -> Says:
    return lambda plan, i: text(plan, name, i).removeprefix("-")


def missed(plan: Plan, i: int) -> str:
    """What stands over a site whose kit does not do; installed kit radiates all the same."""
    short = -plan.columns["margin_db"][i]
    if not short > 0:
        return ""
    direction, end = text(plan, "limiting_direction", i), text(plan, "limiting_end", i)
    would = round(float(plan.columns["required_antenna_m"][i]), 1)
    return (
        f"The installed {text(plan, 'antenna_m', i)} with {text(plan, 'buc_w', i)} is"
        f" {short:.1f} dB short, limited {direction} at the {end}. With that BUC some {would:g} m"
        " would do. It radiates all the same."
    )


#: Boxes that say the same at every site, because they are of the network or are fixed words.
STEPS = ("Modem loss", "Reserve", "Threshold")
OF_THE_NETWORK = {
    *(
        (f"{hop}, clear sky", label)
        for hop in ("Downlink to the site", "Uplink from the site")
        for label in (
            *("Satellite EIRP, saturated", "Back-off of the whole transponder", "Symbol rate"),
            *("Carrier’s share of the power", "Satellite G/T", "Boltzmann’s constant"),
        )
    ),
    *(("head", label) for label in ("network", "Satellite", "plan of", "install")),
    ("angles", "Azimuth from true north, note"),
    ("angles", "Elevation, note"),
    ("drawing", "How far an obstacle must stand from the dish"),
    ("caption", "Compass rose"),
    ("caption", "Skew from behind the dish"),
    *(
        ("Kit and carriers", f"{name}, {way}")
        for name in (
            *("Port's polarization", "Carrier on the air", "On the cable (L-band)"),
            *("Symbol rate, roll-off", "Modulation and coding"),
        )
        for way in ("receive", "transmit")
    ),
    ("Kit and carriers", "mind"),
    ("people", "Operator"),
    ("people", "Planner"),
    ("Mount", "made fast"),
    ("Wind and ballast", "basis"),
    ("Wind and ballast", "no factor"),
    ("Access test", "Cross-polar isolation"),
    *((f"{way}, Es/N0", step) for way in ("Outbound", "Inbound") for step in STEPS),
    *((part, "unit") for part in ("antenna", "BUC", "LNB", "modem", "mount", "cable")),
    *((part, "provisional") for part in ("antenna", "BUC", "LNB", "modem", "cable")),
    *((part, name) for part in ("LNB", "modem") for name in ("kind", "quantity", "note")),
}
