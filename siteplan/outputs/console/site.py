"""What ``siteplan site`` prints: angles, rain, margins with each antenna, flags.

Plain lines: the table library takes as long to import as the site to plan.
"""

from __future__ import annotations

from collections.abc import Iterable

from siteplan.fields import FIELDS, lookup
from siteplan.outputs.shown import label, spelled
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
            "availability_target_pct",
            "rain_rate_mm_h",
            "uplink_attenuation_db",
            "downlink_attenuation_db",
        ),
    ),
    (
        "Kit and margins",
        (
            "antenna_m",
            "buc_w",
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
        "Cable and supply",
        ("ifl_length_m", "cable_class", "cable_core", "buc_voltage_v", "cable_clad_steel"),
    ),
)


#: The next season of sun transits; the zone that its times are told in stands below.
SUN = ("sun_first_day", "sun_last_day", "sun_peak_local", "sun_depth_db")


def show_site(plan: Plan) -> None:
    """Print the first site of a plan, a block a subject."""
    for heading, names in SITE_BLOCKS:
        print(f"\n{heading}")
        _lines(plan, names)
    print("\nSun behind the satellite")
    _lines(plan, [name for name in SUN if name in plan.columns])
    print(f"  {label('timezone'):<28}{zone_named(plan, zone_of(plan, 0))}")
    print("\nMargin with each antenna")
    _antennas(plan)
    told = (plan.columns[name][0] for name in ("no_fit_reason", "near_miss", "flag_notes"))
    for sentence in (*told, *plan.facts.cautions):
        if sentence:
            print(f"\n{sentence}")


def _antennas(plan: Plan) -> None:
    """Print the margin with each antenna of the catalogue, and what the reserve leaves of it."""
    after = FIELDS["margin_after_reserve_db"]
    for name in plan.columns:
        field = None if name in FIELDS else lookup(name)
        if field is not None:
            margin = plan.columns[name][0]
            left = spelled(margin - plan.network.rules.reserve_db, after)
            print(f"  {field.label:<28}{spelled(margin, field)}, after reserve {left}")


def _lines(plan: Plan, names: Iterable[str]) -> None:
    """Print label and value of those of the fields that the dictionary has."""
    for name in names:
        field = lookup(name)
        if field is not None:
            print(f"  {field.label:<28}{spelled(plan.columns[name][0], field)}")
