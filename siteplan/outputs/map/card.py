"""The card of a site on the map: which fields stand under which heading."""

from __future__ import annotations

from collections.abc import Iterable

from siteplan.fields import FIELDS, lookup
from siteplan.outputs.shown import words

#: The card of a site: headings and the fields under them, in the order of use on site.
CARD: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "Pointing",
        (
            "azimuth_true_deg",
            "azimuth_magnetic_deg",
            "magnetic_declination_deg",
            "elevation_deg",
            "skew_deg",
        ),
    ),
    (
        "Kit",
        (
            *("antenna_m", "buc_w", "kit_source", "no_fit_reason", "near_miss"),
            *("required_antenna_m", "site_cost", "most_sensitive"),
        ),
    ),
    ("Mount", ("mount", "mount_certainty", "mount_question", "mount_reason", "structure")),
    (
        "Link",
        (
            "margin_db",
            "margin_after_reserve_db",
            "margin_class",
            "margin_confidence_pct",
            "limiting_direction",
            "limiting_end",
            "outbound_margin_db",
            "inbound_margin_db",
            "fade_margin_db",
            *("availability_target_pct", "annual_target_pct"),
            "outbound_availability_pct",
            "inbound_availability_pct",
            "availability_achieved_pct",
            "beam",
            "satellite_eirp_dbw",
            "satellite_g_t_db_k",
            "satellite_sfd_dbw_m2",
        ),
    ),
    (
        "How sure",
        (
            *("certainty", "certainty_next", "worst_month_availability_pct", "year_risk_pct"),
            *("outages_over_10_s", "outages_over_10_min", "year_notes"),
        ),
    ),
    (
        "Rain and attenuation",
        ("rain_rate_mm_h", "uplink_attenuation_db", "downlink_attenuation_db"),
    ),
    ("Place", ("altitude_m", "altitude_source", "group", "priority", "slant_range_km")),
)

#: The same of fields that rest on keys of their own: told where a plan has any of them.
ASKED: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "Applications",
        (
            *("applications", "target_source", "hop_delay_ms"),
            *("outbound_offered_kbit_s", "inbound_offered_kbit_s"),
        ),
    ),
    (
        "Cost over the years",
        (
            *("capex", "monthly_cost", "life_cost", "line_month", "line_life_cost"),
            *("cheaper_by", "breakeven_months", "own_mhz"),
        ),
    ),
)

#: Fields that the page reads by name, beside those of the card and the layers.
BY_NAME = (
    *("site_id", "name", "lat", "lon", "flags", "flag_notes"),
    *("outbound_clear_es_n0_db", "inbound_clear_es_n0_db"),
    *("outbound_fade_margin_db", "inbound_fade_margin_db"),
    *("next_antenna_m", "next_antenna_margin_db", "tried_antenna_m", "tried_buc_w"),
)


def card_groups(names: Iterable[str]) -> list[tuple[str, tuple[str, ...]]]:
    """Return the card's headings and fields: ``CARD``, what is asked for, every other by its group.

    Fields that the page shows in another way, such as the flags, are in no group.
    """
    there = dict.fromkeys(names)
    asked = [(head, tuple(f for f in fields if f in there)) for head, fields in ASKED]
    own = [*CARD, *((head, fields) for head, fields in asked if fields)]
    shown = {field for _, fields in own for field in fields} | {*BY_NAME, "source_row"}
    rest: dict[str, list[str]] = {}
    for name in there:
        field = lookup(name)
        of_catalogue = name.startswith("margin_") and name not in FIELDS
        if field is not None and name not in shown and not of_catalogue:
            rest.setdefault(field.group, []).append(name)
    groups = [(words(group).capitalize(), tuple(f)) for group, f in rest.items()]
    return [*own, *(("More: " + heading.lower(), fields) for heading, fields in groups)]
