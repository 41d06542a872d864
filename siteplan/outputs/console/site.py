"""What ``siteplan site`` prints: angles, rain, margins with each antenna, flags.

Plain lines: the table library takes as long to import as the site to plan.
"""

from __future__ import annotations

from collections.abc import Iterable

from siteplan.fields import FIELDS, lookup
from siteplan.outputs import taking
from siteplan.outputs.shown import SiteValues, label, spelled
from siteplan.outputs.standing import banner
from siteplan.outputs.times import zone_named, zone_of
from siteplan.results import Plan

#: What ``siteplan site`` prints, under its headings.
SITE_BLOCKS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "Look angles",
        (
            "altitude_m",
            "azimuth_true_deg",
            "azimuth_magnetic_deg",
            "elevation_deg",
            "skew_deg",
            "slant_range_km",
        ),
    ),
    (
        "Rain and attenuation at the target",
        (
            *("availability_target_pct", "annual_target_pct"),
            "rain_rate_mm_h",
            "uplink_attenuation_db",
            "downlink_attenuation_db",
        ),
    ),
    (
        "Kit",
        ("antenna_m", "buc_w"),
    ),
    (
        "Margins",
        (
            "required_antenna_m",
            "margin_db",
            "margin_after_reserve_db",
            "limiting_direction",
            "limiting_end",
            "outbound_margin_db",
            "inbound_margin_db",
            "outbound_availability_pct",
            "inbound_availability_pct",
        ),
    ),
    (
        "How sure",
        (
            *("certainty", "margin_confidence_pct", "margin_spread_db", "most_sensitive"),
            *("worst_month_availability_pct", "year_risk_pct"),
            *("outages_over_10_s", "outages_over_10_min"),
        ),
    ),
    (
        "Cost as the only site",  # hub and lease are its alone
        (
            *("site_cost", "capex", "monthly_cost", "life_cost"),
            *("line_month", "line_life_cost", "cheaper_by", "breakeven_months"),
        ),
    ),
    (
        "Satellite's beam",
        ("beam", "satellite_eirp_dbw", "satellite_g_t_db_k", "satellite_sfd_dbw_m2"),
    ),
    (
        "Adaptive coding",
        (
            *("outbound_target_modcod", "outbound_target_kbit_s", "outbound_clear_modcod"),
            *("outbound_clear_kbit_s", "outbound_mean_kbit_s", "outbound_no_service_pct"),
            *("inbound_target_modcod", "inbound_target_kbit_s", "inbound_clear_modcod"),
            *("inbound_clear_kbit_s", "inbound_mean_kbit_s", "inbound_no_service_pct"),
        ),
    ),
    (
        "Interference",
        (
            "neighbour_separation_deg",
            *("outbound_ci_db", "outbound_ci_adjacent_db", "outbound_ci_cross_polar_db"),
            *("inbound_ci_db", "inbound_ci_adjacent_db", "inbound_ci_cross_polar_db"),
        ),
    ),
    (
        "Licence",
        (
            *("off_axis_margin_db", "off_axis_mask", "off_axis_angle_deg", "allowed_feed_w"),
            *("feed_density_dbw_4khz", "eirp_density_dbw_4khz"),
            *("horizon_density_dbw", "horizon_density_khz", "emission"),
        ),
    ),
    (
        "Cable and supply",
        ("ifl_length_m", "cable_class", "cable_core", "buc_voltage_v", "cable_clad_steel"),
    ),
)


#: The column of labels is so wide at least, and at most.
_LEAST_WIDTH, _MOST_WIDTH = 27, 40
#: The next season of sun transits; the zone that its times are told in stands below.
SUN = ("sun_first_day", "sun_last_day", "sun_peak_local", "sun_depth_db")


def show_site(plan: Plan) -> None:
    """Print the first site of a plan, a block a subject."""
    values, width = SiteValues(plan, 0), _width(plan)
    over, pair = banner(values), values.tried
    if over:
        print(f"\n{over.text}")
    for heading, names in SITE_BLOCKS:
        if there := [name for name in names if name in plan.columns]:
            _block(plan, heading, there, pair, width)
    if values.has_kit:
        print("\nSun behind the satellite")
        _lines(plan, [name for name in SUN if name in plan.columns], width)
        print(f"  {label('timezone'):<{width}} {zone_named(plan, zone_of(plan, 0))}")
    whose = f" and {values['tried_buc_w']}, tried and not planned" if pair else ""
    print(f"\nMargin with each antenna{whose}")
    _antennas(plan, width)
    _takes(plan)
    told = (
        "" if over else values["no_fit_reason"],
        values["near_miss"],
        values["flag_notes"],
        values["certainty_next"],
        values["year_notes"],
    )
    for sentence in (*told, *plan.facts.cautions, *plan.facts.remarks):
        if sentence:
            print(f"\n{sentence}")


def _width(plan: Plan) -> int:
    """Return how wide the column of labels is: as the widest of those shown, up to a limit."""
    shown = [name for _, names in SITE_BLOCKS for name in (*names, *SUN) if name in plan.columns]
    widest = max((len(FIELDS[name].label) for name in shown), default=0)
    return min(max(widest, _LEAST_WIDTH), _MOST_WIDTH)


def _takes(plan: Plan) -> None:
    """Print what would help the site where it is unserved or tight."""
    if plan.facts.remedies:
        print(f"\n{taking.HEADING}")
    for remedy in plan.facts.remedies:
        print(f"  {taking.told(remedy)}")


def _antennas(plan: Plan, width: int) -> None:
    """Print the margin with each antenna of the catalogue, and what the reserve leaves of it."""
    after = FIELDS["margin_after_reserve_db"]
    for name in plan.columns:
        field = None if name in FIELDS else lookup(name)
        if field is not None:
            margin = plan.columns[name][0]
            left = spelled(margin - plan.network.rules.reserve_db, after)
            print(f"  {field.label:<{width}} {spelled(margin, field)}, after reserve {left}")


def _block(plan: Plan, heading: str, names: Iterable[str], pair: str, width: int) -> None:
    """Print a heading and its fields; those of a pair that was only tried apart, under it."""
    tried = [name for name in names if pair and FIELDS[name].rests_on == "tried"]
    own = [name for name in names if name not in tried]
    for whose, some in (("", own), (f", with {pair}, tried and not planned", tried)):
        if some:
            print(f"\n{heading}{whose}")
            _lines(plan, some, width)


def _lines(plan: Plan, names: Iterable[str], width: int) -> None:
    """Print label and value of those of the fields that the dictionary has."""
    for name in names:
        field = lookup(name)
        if field is not None:
            print(f"  {field.label:<{width}} {spelled(plan.columns[name][0], field)}")
