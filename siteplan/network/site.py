"""``[site]``, ``[ifl]`` and ``[[cables]]``: what mounts, loads and the cable run rest on."""

from __future__ import annotations

import csv
import functools
from importlib import resources
from typing import Literal, NamedTuple, Self

from pydantic import model_validator

from siteplan.network.costs import code_key, price_key
from siteplan.network.table import Table, key

#: Design wind [m/s] where nobody gives one, by what it is: common practice, no source. 10 m up in
#: open terrain the two press alike, within 10 %.
DEFAULT_WIND_M_S = {"mean_10min": 25.0, "gust_3s": 40.0}
#: Least that is taken for a design wind [m/s]: common practice, no source.
WIND_FLOOR_M_S = {"mean_10min": 15.0, "gust_3s": 20.0}


class SitePack(Table):
    """``[site]``: what the crew's figures rest on where a site gives none."""

    wind_m_s: float | None = key(
        None,
        "Design wind of sites that give none, on wind_basis"
        " (absent: 25 as a 10-minute mean, 40 as a 3-second gust)",
        "m/s",
        gt=5,
        le=120,
    )
    wind_floor_m_s: float | None = key(
        None,
        "Least design wind; less, from a site, is not used, for those who know better"
        " (absent: 15 as a 10-minute mean, 20 as a 3-second gust)",
        "m/s",
        ge=0,
        le=120,
    )
    terrain_category: Literal["0", "I", "II", "III", "IV"] = key(
        "II", "Terrain category of EN 1991-1-4 (with mean_10min)"
    )
    gust_exposure: Literal["B", "C", "D"] = key("C", "Exposure of ASCE 7 (with gust_3s)")
    # Worst direction, common practice 1.2 to 1.5; the lift is taken together with the full drag.
    force_coefficient: float = key(1.5, "Drag of a dish on its aperture", "", ge=0.5, le=3)
    lift_coefficient: float = key(0.5, "Lift of a dish on its aperture", "", ge=0, le=3)
    # Where the roof is not known; it and the safety factor are common practice, no source.
    friction: float = key(0.4, "Friction of a ballasted frame", "", gt=0.05, le=1)
    safety_factor: float = key(1.5, "Safety on sliding and overturning", "", ge=1, le=5)
    # Limits beyond which a kind of mount is out: common practice, no source. The roof's is that of
    # an accessible flat roof; many roofs for maintenance only carry 400 to 1000 Pa.
    roof_limit_pa: float = key(
        1500.0, "Load that a roof takes, its snow included", "Pa", gt=0, le=50000
    )
    # 60 blocks of 25 kg by hand; common practice, no source.
    roof_ballast_limit_kg: float = key(
        1500.0, "Most ballast to be carried up to a roof", "kg", gt=0, le=100000
    )
    # A lorry with a crane; common practice, no source.
    ground_ballast_limit_kg: float = key(
        5000.0, "Most ballast of a frame on the ground", "kg", gt=0, le=100000
    )
    # M10 to M12 in sound concrete over about 3, no factor included; common practice, no source.
    fixing_pull_limit_n: float = key(
        3000.0, "Most pull on a fixing; masonry asks for a pull test", "N", gt=0, le=100000
    )
    # An auger's reach, by hand some 1.5 m; common practice, no source.
    footing_depth_limit_m: float = key(2.5, "Deepest footing of a pole", "m", gt=0, le=10)
    # Common practice, no source; so is the angle.
    bracket_dish_limit_m: float = key(1.2, "Largest dish on a wall bracket", "m", gt=0, le=10)
    wall_angle_limit_deg: float = key(
        70.0,
        "Most between the way a wall faces and the satellite; counts under 75 degrees of elevation",
        "deg",
        gt=0,
        le=180,
    )
    snow_pa: float = key(0.0, "Snow on the roof, part of that load", "Pa", ge=0, le=20000)
    parapet_m: float = key(0.9, "Height of the parapet above the roof", "m", ge=0, le=10)
    frame_base_ratio: float = key(
        1.8, "Side of a ballasted frame over the dish's diameter", "", ge=0.5, le=5
    )
    mount_kg_m2: float = key(
        40.0, "Mass of dish and mount for each m2 of aperture", "kg/m2", ge=0, le=500
    )
    roof_height_m: float = key(6.0, "Roof height of sites that give none", "m", ge=0, le=500)
    frame_rim_m: float = key(0.3, "Lower rim above the roof, ballasted frame", "m", ge=0, le=5)
    pole_rim_m: float = key(1.2, "Lower rim above the ground, pole", "m", ge=0, le=20)
    bracket_height_m: float = key(
        3.0, "Height of a wall bracket where no roof height is given", "m", gt=0, le=100
    )
    bracket_stand_off_m: float = key(0.6, "Dish's centre off the wall", "m", gt=0.1, le=3)
    bracket_spacing_m: float = key(0.4, "Spacing of a bracket's fixings", "m", gt=0.05, le=3)
    footing_m: float = key(0.6, "Diameter of a pole's concrete footing", "m", gt=0.1, le=5)
    # Clay: IBC table 1806.2, 100 lb/ft2 per ft (from memory).
    soil_pa_per_m: float = key(
        15700.0, "Lateral bearing of the soil for each metre", "Pa/m", gt=1000, le=200000
    )
    clearance_deg: float = key(2.0, "Clearance asked for over obstacles", "deg", ge=0, le=20)
    growth_years: float = key(5.0, "Years of growth of trees to allow for", "a", ge=0, le=50)
    tree_growth_m_year: float = key(0.5, "Growth of trees that give none", "m/a", ge=0, le=5)
    exposure_limits: Literal["both", "47 CFR 1.1310", "ICNIRP 2020"] = key(
        "both", "Rules whose limits of exposure must hold; with both the longer distance counts"
    )
    acceptance_db: float = key(
        1.0, "Shortfall of C/N in clear sky that is still accepted", "dB", ge=0, le=6
    )
    cross_polar_db: float = key(
        30.0, "Cross-polar isolation that the operator asks for", "dB", ge=0, le=60
    )
    spares_pct: float = key(10.0, "Spares added to the kit list", "%", ge=0, le=100)


class Ifl(Table):
    """``[ifl]``: the cable run between dish and modem, its levels and its supply."""

    cable_m: float = key(30.0, "Cable run of sites that give none", "m", gt=0, le=2000)
    low_mhz: float = key(950.0, "Low end of the band on the cable", "MHz", ge=5, le=5000)
    high_mhz: float = key(2150.0, "High end of the band on the cable", "MHz", ge=5, le=5000)
    max_slope_db: float = key(12.0, "Greatest slope across the band", "dB", gt=0, le=60)
    supply_v: float = key(24.0, "Supply of the BUC at the indoor end", "V", gt=5, le=100)
    buc_min_v: float = key(18.0, "Least voltage that the BUC accepts", "V", gt=3, le=100)
    buc_efficiency: float = key(
        0.15, "Rated power over supply power, overhead not counted", "", gt=0.01, le=0.9
    )
    buc_overhead_w: float = key(8.0, "Supply power that every BUC draws besides", "W", ge=0, le=500)
    buc_gain_db: float = key(60.0, "Conversion gain of the BUC", "dB", ge=20, le=100)
    modem_output_min_dbm: float = key(-35.0, "Least output of the modem", "dBm", ge=-80, le=20)
    modem_output_max_dbm: float = key(0.0, "Greatest output of the modem", "dBm", ge=-60, le=20)
    lnb_gain_db: float = key(60.0, "Conversion gain of the LNB", "dB", ge=20, le=100)
    modem_input_min_dbm: float = key(
        -70.0, "Least level of a carrier at the modem", "dBm", ge=-120, le=0
    )
    modem_input_max_dbm: float = key(
        -20.0, "Greatest level of a carrier at the modem", "dBm", ge=-100, le=20
    )

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        for low, high in (
            ("low_mhz", "high_mhz"),
            ("buc_min_v", "supply_v"),
            ("modem_output_min_dbm", "modem_output_max_dbm"),
            ("modem_input_min_dbm", "modem_input_max_dbm"),
        ):
            if getattr(self, low) >= getattr(self, high):
                raise ValueError(f"{low} must be smaller than {high}")
        return self


class Cable(Table):
    """``[[cables]]``: one class of coaxial cable of the catalogue."""

    name: str = key(..., "Name of the class", "", min_length=1, max_length=60)
    diameter_mm: float = key(7.0, "Outer diameter; the thinnest is the lightest", "mm", gt=1, le=60)
    loss_db_100m: float = key(21.5, "Loss of 100 m at 1 GHz", "dB", gt=0.5, le=100)
    core_mm: float = key(1.02, "Diameter of the centre conductor", "mm", gt=0.1, le=20)
    core: Literal["copper", "clad_steel"] = key(
        "copper", "Centre conductor: solid copper, or copper-clad steel"
    )
    core_ohm_km: float | None = key(
        None,
        "Resistance of the centre conductor by its data sheet (absent: by diameter and metal)",
        "ohm/km",
        gt=0,
        le=2000,
    )
    shield_ohm_km: float = key(15.0, "Resistance of the shield", "ohm/km", gt=0, le=200)
    price: float | None = price_key("a metre of the cable")
    supplier_code: str = code_key("the cable")


class TypicalCable(NamedTuple):
    """A row of cables.csv: the cable, its impedance [ohm], whether it is a default, its source."""

    cable: Cable
    impedance_ohm: float
    is_default: bool
    source: str


@functools.cache
def typical_cables() -> tuple[TypicalCable, ...]:
    """Return the classes of cable with typical figures, as cables.csv lists them.

    They are told apart by impedance and diameter; the maker's data sheet comes first.
    """
    text = resources.files("siteplan.network").joinpath("cables.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(text.splitlines())
    return tuple(
        TypicalCable(
            Cable.model_validate(
                {column: row[column] for column in row if column in Cable.model_fields}
            ),
            float(row["impedance_ohm"]),
            row["default"] == "yes",
            row["source"],
        )
        for row in rows
    )


def default_cables() -> tuple[Cable, ...]:
    """Return the cables of a network that lists none, the thinnest first."""
    return tuple(row.cable for row in typical_cables() if row.is_default)
