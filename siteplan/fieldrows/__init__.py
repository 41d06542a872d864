"""Rows of the dictionary of fields that the site pack fills; ``siteplan.fields`` reads them.

Each row is name, label, unit, decimals, meaning, source.
"""

from __future__ import annotations

from typing import Final

from siteplan.words import CAVEAT as CAVEAT

Row = tuple[str, str, str, int | None, str, str]

_WIND = "EN 1991-1-4, or 0.613 V^2 (ASCE 7), by wind_basis"
_STATICS = "statics of a rigid body, factors of [site]"
_CABLE = "typical figures of [[cables]] and [ifl]"
_EXPOSURE = "FCC OET Bulletin 65; 47 CFR 1.1310 and ICNIRP 2020"
_SUN = "sun's place by Meeus; beam and disc, common practice"

SKY: Final[tuple[Row, ...]] = (
    (
        "horizon_at_satellite_deg",
        "Horizon at the satellite",
        "deg",
        1,
        "Highest obstacle or terrain within the beam's width at the satellite's bearing, growth "
        "included; blank where neither was surveyed",
        "obstructions.csv, terrain file",
    ),
    (
        "horizon_source",
        "Horizon from",
        "",
        None,
        "survey, terrain, both of them, or blank",
        "siteplan",
    ),
    (
        "obstacle_kind",
        "Obstacle",
        "",
        None,
        "What stands highest at the satellite's bearing",
        "obstructions.csv, terrain file",
    ),
    (
        "clearance_deg",
        "Clearance",
        "deg",
        1,
        "Elevation less horizon less half the beam's width; negative: blocked",
        "geometry",
    ),
    (
        "stand_off_per_m",
        "Stand-off per metre of height",
        "m/m",
        2,
        "Distance to keep from an obstacle for each metre that it rises above the dish's lower rim",
        "geometry, beam and spare clearance taken off",
    ),
    (
        "beamwidth_deg",
        "Beamwidth",
        "deg",
        2,
        "Full half-power beamwidth at the lower of the two frequencies",
        "70 lambda / D, common practice",
    ),
)

MOUNT: Final[tuple[Row, ...]] = (
    (
        "mount_options",
        "All mounts weighed",
        "",
        None,
        "Every option with its score of 100 and the reasons for and against",
        "mount rules, see README: method",
    ),
    (
        "dish_height_m",
        "Dish height",
        "m",
        1,
        "Height of the dish's centre above ground on that mount",
        "roof height and [site]",
    ),
    (
        "wind_design_m_s",
        "Design wind",
        "m/s",
        1,
        f"Wind speed that the loads rest on, on the basis of wind_basis; {CAVEAT}",
        "given in the sites table, else [site] wind_m_s",
    ),
    ("wind_source", "Wind from", "", None, "given, or assumed (network.toml)", "siteplan"),
    (
        "wind_pressure_pa",
        "Wind pressure",
        "Pa",
        0,
        f"Peak velocity pressure at the dish's height; {CAVEAT}",
        _WIND,
    ),
    (
        "wind_drag_n",
        "Wind force",
        "N",
        0,
        f"Force on the dish from the worst direction, no relief for tilt; {CAVEAT}",
        _WIND,
    ),
    (
        "overturning_nm",
        "Overturning moment",
        "Nm",
        0,
        f"Wind force times its height above the foot of the mount; {CAVEAT}",
        _STATICS,
    ),
    (
        "ballast_kg",
        "Ballast",
        "kg",
        0,
        f"Ballast of a frame against sliding and overturning, safety factor included; {CAVEAT}",
        _STATICS,
    ),
    (
        "ballast_governs",
        "Ballast set by",
        "",
        None,
        "sliding or overturning, whichever asks for more",
        _STATICS,
    ),
    (
        "frame_base_m",
        "Frame's side",
        "m",
        1,
        f"Side of the square base of the ballasted frame; {CAVEAT}",
        "[site] frame_base_ratio",
    ),
    (
        "roof_load_pa",
        "Load on the roof",
        "Pa",
        0,
        f"Frame, dish and ballast spread over the base, and the snow given; {CAVEAT}",
        _STATICS,
    ),
    (
        "pole_embedment_m",
        "Depth of the footing",
        "m",
        2,
        f"First figure for the depth of a pole's concrete footing; {CAVEAT}",
        "IBC section 1807.3.2.1 (from memory)",
    ),
    (
        "wall_pull_n",
        "Pull on a fixing",
        "N",
        0,
        f"Worst pull on one of a bracket's four fixings, no safety factor; {CAVEAT}",
        _STATICS,
    ),
    (
        "wall_shear_n",
        "Shear on a fixing",
        "N",
        0,
        f"Worst shear on one of a bracket's four fixings, no safety factor; {CAVEAT}",
        _STATICS,
    ),
    (
        "parapet_distance_m",
        "Distance from the parapet",
        "m",
        1,
        "How far behind a parapet of parapet_m a frame must stand to look over it",
        "geometry",
    ),
)

CABLE: Final[tuple[Row, ...]] = (
    (
        "ifl_length_m",
        "IFL length",
        "m",
        0,
        "Cable run that was reckoned with: cable_m, else [ifl] cable_m",
        "given in the sites table, else network.toml",
    ),
    (
        "cable_class",
        "Cable class",
        "",
        None,
        "Lightest class of the catalogue that works; blank where none does",
        _CABLE,
    ),
    (
        "cable_loss_low_db",
        "Cable loss, low end",
        "dB",
        1,
        "Loss at [ifl] low_mhz in that class, else in the one of least loss",
        _CABLE,
    ),
    (
        "cable_loss_high_db",
        "Cable loss, high end",
        "dB",
        1,
        "Loss at [ifl] high_mhz in that class, else in the one of least loss",
        _CABLE,
    ),
    (
        "cable_slope_db",
        "Cable slope",
        "dB",
        1,
        "Loss at the high end less loss at the low end",
        _CABLE,
    ),
    (
        "buc_dc_w",
        "BUC supply power",
        "W",
        0,
        "Direct-current power that the BUC draws",
        "dc_w of [[bucs]], else efficiency and overhead of [ifl]",
    ),
    (
        "buc_voltage_v",
        "Voltage at the BUC",
        "V",
        1,
        "Voltage left at the BUC, a constant-power load; blank where the supply collapses",
        "Kirchhoff, core and shield at 20 C",
    ),
    (
        "buc_current_a",
        "BUC current",
        "A",
        2,
        "Current in the cable at that voltage; blank where the supply collapses",
        "Kirchhoff, core and shield at 20 C",
    ),
    (
        "modem_output_dbm",
        "Modem output",
        "dBm",
        1,
        "Level that the modem must send for the BUC's power after back-off, at the high end",
        _CABLE,
    ),
    (
        "modem_input_dbm",
        "Modem input",
        "dBm",
        1,
        "Level of the outbound carrier at the modem in clear sky, at the high end",
        _CABLE,
    ),
    (
        "cable_advice",
        "Cable advice",
        "",
        None,
        "Why no class works, and what would: a shorter run, a higher supply, a local supply",
        _CABLE,
    ),
)

EXPOSURE: Final[tuple[Row, ...]] = (
    (
        "aperture_w_m2",
        "Density at the reflector",
        "W/m2",
        1,
        f"Greatest power density at the aperture with the BUC's rated power; {CAVEAT}",
        _EXPOSURE,
    ),
    (
        "near_field_w_m2",
        "Density in the near field",
        "W/m2",
        1,
        f"Greatest power density on the axis; {CAVEAT}",
        _EXPOSURE,
    ),
    (
        "near_field_end_m",
        "Near field ends",
        "m",
        1,
        f"Distance D^2 / 4 lambda, where the density starts to fall; {CAVEAT}",
        _EXPOSURE,
    ),
    (
        "far_field_start_m",
        "Far field starts",
        "m",
        1,
        f"Distance 0.6 D^2 / lambda; the transition lies before it; {CAVEAT}",
        _EXPOSURE,
    ),
    (
        "controlled_distance_m",
        "Controlled distance in the beam",
        "m",
        1,
        f"Distance in the beam inside which trained workers must not stand; {CAVEAT}",
        _EXPOSURE,
    ),
    (
        "public_distance_m",
        "Public distance in the beam",
        "m",
        1,
        f"Distance in the beam inside which nobody may stand; {CAVEAT}",
        _EXPOSURE,
    ),
    (
        "controlled_beside_m",
        "Controlled distance beside the beam",
        "m",
        1,
        f"Distance that trained workers keep from the beam's side; {CAVEAT}",
        _EXPOSURE,
    ),
    (
        "public_beside_m",
        "Public distance beside the beam",
        "m",
        1,
        f"Distance that everybody keeps from the beam's side; {CAVEAT}",
        _EXPOSURE,
    ),
    (
        "exposure_rule",
        "Exposure rule",
        "",
        None,
        "The rule that asks for the longest public distance, or that sets the lowest limit",
        _EXPOSURE,
    ),
    (
        "beam_edge_m",
        "Beam's lower edge",
        "m",
        1,
        "Height of the beam's lower edge above roof or ground, right in front of the dish; "
        f"{CAVEAT}",
        "geometry",
    ),
    (
        "beam_over_head_m",
        "Beam over head height from",
        "m",
        1,
        "Level distance in front of the dish from which the beam's lower edge is 2.5 m or more "
        f"above roof or ground; {CAVEAT}",
        "geometry",
    ),
)

SUN: Final[tuple[Row, ...]] = (
    (
        "sun_first_day",
        "Sun transits from",
        "",
        None,
        "First day (UTC) of the next season of sun transits after the plan's date",
        _SUN,
    ),
    ("sun_last_day", "Sun transits to", "", None, "Last day (UTC) of that season", _SUN),
    ("sun_days", "Days with sun transits", "", 0, "Number of transits in that season", _SUN),
    (
        "sun_peak_utc",
        "Deepest sun transit",
        "",
        None,
        "Time (UTC) at which the sun comes closest to the satellite in that season",
        _SUN,
    ),
    (
        "sun_longest_min",
        "Longest sun transit",
        "min",
        1,
        "Duration of the longest transit of that season",
        _SUN,
    ),
    (
        "sun_depth_db",
        "Sun transit depth",
        "dB",
        1,
        "Loss of G/T at the deepest transit of that season, from the quiet sun's noise",
        "Maral and Bousquet, chapter 5",
    ),
    (
        "sun_outage",
        "Sun outage",
        "",
        None,
        "yes where that depth exceeds the outbound fade margin, else no",
        _SUN,
    ),
)

POINTING: Final[tuple[Row, ...]] = (
    (
        "inclinometer_deg",
        "Inclinometer on the rim",
        "deg",
        1,
        "How far the rim leans back from vertical: elevation less offset angle (negative: forward)",
        "geometry; the maker's scale comes first",
    ),
    (
        "azimuth_step_deg",
        "Azimuth per 0.1 degree",
        "deg",
        2,
        "Change of azimuth for 0.1 degree of orbital position to the east",
        "WGS 84 geometry",
    ),
    (
        "elevation_step_deg",
        "Elevation per 0.1 degree",
        "deg",
        2,
        "Change of elevation for 0.1 degree of orbital position to the east",
        "WGS 84 geometry",
    ),
    (
        "skew_step_deg",
        "Skew per 0.1 degree",
        "deg",
        2,
        "Change of skew for 0.1 degree of orbital position to the east",
        "WGS 84 geometry",
    ),
    (
        "loss_0_1_deg_db",
        "Loss for 0.1 degree",
        "dB",
        2,
        "Level lost on the uplink when the dish points 0.1 degree beside the satellite",
        "12 (error / beamwidth)^2, Maral and Bousquet, chapter 5",
    ),
    (
        "expected_c_n_db",
        "Expected C/N",
        "dB",
        1,
        "C/(N+I) of the outbound carrier in its symbol rate's bandwidth, clear sky, dish peaked",
        "link budget, see README: method",
    ),
    (
        "acceptance_c_n_db",
        "Accept from",
        "dB",
        1,
        "Least C/N in clear sky that is accepted: expected_c_n_db less acceptance_db",
        "[site] acceptance_db",
    ),
)

#: Rows by group, in the order in which they are written.
PACK: Final[tuple[tuple[str, tuple[Row, ...]], ...]] = (
    ("mount", MOUNT),
    ("sky", SKY),
    ("cable", CABLE),
    ("exposure", EXPOSURE),
    ("sun", SUN),
    ("pointing", POINTING),
)
