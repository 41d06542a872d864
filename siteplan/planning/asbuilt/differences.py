"""As built: what came back against what was planned, with likely causes and a verdict.

Readings are set right first (`siteplan.planning.asbuilt.readings`), compared here, explained by
causes and judged by verdicts.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from siteplan.arrays import at_decimals
from siteplan.fields import FLAGS, UNSERVED
from siteplan.frozen import frozen
from siteplan.model import Returned
from siteplan.network import Network
from siteplan.physics.radio.cable import cable_loss_db
from siteplan.planning.asbuilt.causes import Evidence, figures, findings
from siteplan.planning.asbuilt.readings import MOVED_M, Reread, moved_m
from siteplan.planning.asbuilt.verdicts import judged
from siteplan.planning.assembly import blanked, given
from siteplan.results import Plan

FloatArray = NDArray[np.float64]
Columns = dict[str, NDArray[Any]]


@frozen
class Compared:
    """The planned and the re-planned sites (m,) that came back, and what was measured.

    ``reread`` is what was measured as it is taken: mistakes in writing set right.
    """

    planned: Plan
    replanned: Plan
    returned: Returned
    reread: Reread

    @property
    def network(self) -> Network:
        """The network of the plan."""
        found: Network = self.planned.network
        return found


def compare(found: Compared) -> Columns:
    """Return the fields of ``siteplan.fields.ASBUILT_FIELDS`` for the returned sites (m,).

    Angles and C/N are compared with what holds at the measured position, so that a moved dish
    is not blamed for its neighbour's angles.
    """
    back, plan, there = found.returned, found.planned.columns, found.replanned.columns
    taken = found.reread
    columns: Columns = {k: plan[k] for k in ("site_id", "name", "group", "lat", "lon")}
    columns |= {
        "measured_lat": back.lat,
        "measured_lon": back.lon,
        "moved_m": moved_m(plan["lat"], plan["lon"], taken.lat, taken.lon),
        "measured_altitude_m": back.altitude_m,
        "altitude_difference_m": taken.altitude_m - plan["altitude_m"],
        **_angles(found),
        "measured_c_n_db": back.c_n_db,
        "expected_c_n_db": there["expected_c_n_db"],
        "c_n_difference_db": back.c_n_db - there["expected_c_n_db"],
        **_cable(found),
        "measured_cross_polar_db": back.cross_polar_db,
        "clearance_deg": there["clearance_deg"],
        "remarks": back.remarks,
    }
    moved = columns["moved_m"] > MOVED_M
    # As the crew's sheet has it: who reads that figure or more has done what was asked.
    wanted = np.where(moved, there["acceptance_c_n_db"], plan["acceptance_c_n_db"])
    columns["acceptance_c_n_db"] = at_decimals(wanted, 1)
    for name, source in (
        ("replanned_margin_db", "margin_db"),
        ("replanned_margin_after_reserve_db", "margin_after_reserve_db"),
        ("replanned_azimuth_true_deg", "azimuth_true_deg"),
        ("replanned_elevation_deg", "elevation_deg"),
        ("replanned_skew_deg", "skew_deg"),
    ):
        columns[name] = np.where(moved, there[source], np.nan)
    # Nothing is compared with kit that was not planned, whatever fits at the measured position.
    columns = blanked(columns, given(plan))
    evidence = _evidence(found, columns)
    verdict = judged(findings(evidence), figures(evidence))
    return columns | {
        "verdict": verdict.verdict,
        "causes": verdict.causes,
        "findings": verdict.findings,
    }


def _angles(found: Compared) -> Columns:
    """Return measured angles and their differences from what holds at the measured place."""
    back, there = found.returned, found.replanned.columns
    declination = there["magnetic_declination_deg"]
    azimuth = np.where(
        np.isnan(back.azimuth_true_deg),
        np.mod(back.azimuth_magnetic_deg + declination, 360),
        back.azimuth_true_deg,
    )
    return {
        "measured_azimuth_deg": azimuth,
        "azimuth_error_deg": wrapped(azimuth - there["azimuth_true_deg"], 360),
        "measured_elevation_deg": back.elevation_deg,
        "elevation_error_deg": back.elevation_deg - there["elevation_deg"],
        "measured_rim_angle_deg": back.rim_angle_deg,
        "rim_angle_error_deg": back.rim_angle_deg - there["inclinometer_deg"],
        "measured_skew_deg": back.skew_deg,
        "skew_error_deg": wrapped(back.skew_deg - there["skew_deg"], 180),
        "pointing_error_deg": sky_angle_deg(
            azimuth, back.elevation_deg, there["azimuth_true_deg"], there["elevation_deg"]
        ),
    }


def wrapped(angle_deg: FloatArray, turn_deg: float) -> FloatArray:
    """Return angles modulo ``turn_deg``, between minus and plus half of it. [deg]"""
    return np.asarray(np.remainder(angle_deg + turn_deg / 2, turn_deg) - turn_deg / 2)


def sky_angle_deg(
    azimuth_deg: FloatArray,
    elevation_deg: FloatArray,
    azimuth_to_deg: FloatArray,
    to_deg: FloatArray,
) -> FloatArray:
    """Return the angle on the sky between two directions (m,). [deg]

    Haversine formula, well behaved for small angles.
    """
    height, to_height = np.radians(elevation_deg), np.radians(to_deg)
    turn = np.radians(azimuth_deg - azimuth_to_deg)
    rise = np.sin((height - to_height) / 2) ** 2
    swing = np.cos(height) * np.cos(to_height) * np.sin(turn / 2) ** 2
    return np.asarray(np.degrees(2 * np.arcsin(np.sqrt(np.clip(rise + swing, 0, 1)))))


def _cable(found: Compared) -> Columns:
    """Return what came back of the cable, against the planned class at the measured length."""
    back, plan, there = found.returned, found.planned.columns, found.replanned.columns
    ifl = found.network.ifl
    per_100m = {c.name: c.loss_db_100m for c in found.network.cables}
    loss = np.array([per_100m.get(name, np.nan) for name in plan["cable_class"].tolist()] + [0.0])
    expected = cable_loss_db(there["ifl_length_m"], ifl.high_mhz, loss[:-1])
    return {
        "measured_cable_m": back.cable_m,
        "cable_difference_m": found.reread.cable_m - plan["ifl_length_m"],
        "measured_cable_loss_db": back.cable_loss_db,
        "cable_loss_difference_db": back.cable_loss_db - expected,
        "measured_buc_voltage_v": back.buc_voltage_v,
        "buc_voltage_difference_v": back.buc_voltage_v - there["buc_voltage_v"],
    }


def _evidence(found: Compared, columns: Columns) -> Evidence:
    """Return what the causes are judged by."""
    back, plan, there = found.returned, found.planned.columns, found.replanned.columns
    network = found.network
    dish = there["antenna_m"]
    offsets = {a.diameter_m: a.offset_angle_deg for a in network.antennas}
    offset = np.array([offsets.get(d, 0.0) for d in dish.tolist()] + [0.0])[:-1]
    neighbours = _neighbour_angle_deg(found, columns)
    taken = found.reread
    return Evidence(
        swapped=taken.swapped,
        sign_lost=taken.sign_lost,
        read_lat=taken.lat,
        read_lon=taken.lon,
        moved_m=columns["moved_m"],
        sees=~np.isnan(there["elevation_deg"]),
        altitude_feet=taken.altitude_feet,
        measured_altitude_m=back.altitude_m,
        planned_altitude_m=plan["altitude_m"],
        measured_elevation_deg=back.elevation_deg,
        azimuth_error_deg=columns["azimuth_error_deg"],
        elevation_error_deg=columns["elevation_error_deg"],
        rim_error_deg=columns["rim_angle_error_deg"],
        azimuths_apart_deg=wrapped(
            back.azimuth_magnetic_deg + there["magnetic_declination_deg"] - back.azimuth_true_deg,
            360,
        ),
        pointing_error_deg=columns["pointing_error_deg"],
        skew_error_deg=columns["skew_error_deg"],
        mirrored_skew_deg=wrapped(back.skew_deg + there["skew_deg"], 180),
        declination_deg=there["magnetic_declination_deg"],
        true_given=~np.isnan(back.azimuth_true_deg),
        offset_deg=offset,
        neighbour_deg=neighbours,
        c_n_db=back.c_n_db,
        accepted_from_db=columns["acceptance_c_n_db"],
        c_n_difference_db=columns["c_n_difference_db"],
        cross_polar_db=back.cross_polar_db,
        cable_feet=taken.cable_feet,
        measured_cable_m=back.cable_m,
        cable_loss_db=back.cable_loss_db - columns["cable_loss_difference_db"],
        cable_loss_difference_db=columns["cable_loss_difference_db"],
        cable_difference_m=columns["cable_difference_m"],
        planned_cable_m=plan["ifl_length_m"],
        buc_voltage_v=back.buc_voltage_v,
        expected_voltage_v=there["buc_voltage_v"],
        clearance_deg=there["clearance_deg"],
        margin_db=columns["replanned_margin_db"],
        after_db=columns["replanned_margin_after_reserve_db"],
        least_v=network.ifl.buc_min_v,
        wanted_cross_polar_db=network.site.cross_polar_db,
        linear=_linear(found),
        no_kit=~given(plan)["kit"],
        id_written=back.id_written,
        **_standing(found, columns["moved_m"] > MOVED_M),
    )


#: Flags that stop a site and have findings of their own here.
_TOLD = frozenset(("margin_negative", "no_fit", "blocked"))


def _standing(found: Compared, moved: NDArray[np.bool_]) -> Columns:
    """Return whether the plan serves sites where they stand: margin, and what else stops them."""
    plan, there = found.planned.columns, found.replanned.columns
    flags = np.where(moved, there["flags"], plan["flags"])
    stops = [code for code in UNSERVED if code not in _TOLD]
    told = [
        "; ".join(FLAGS[code].meaning for code in stops if code in text.split(";"))
        for text in flags.tolist()
    ]
    return {
        "built_margin_db": np.where(moved, there["margin_db"], plan["margin_db"]),
        "stopped_by": np.array([*told, ""], dtype=object)[:-1],
    }


def _linear(found: Compared) -> bool | NDArray[np.bool_]:
    """Return whether remotes send with a linear feed: of all, or (m,) by their beams."""
    network = found.network
    if not network.beams:
        return network.inbound.uplink_polarization != "circular"
    of = {beam.name: network.of_beam(beam.name).inbound for beam in network.beams}
    beams = found.planned.columns["beam"].tolist()
    carriers = [of.get(name, network.inbound) for name in beams]
    return np.array([c.uplink_polarization != "circular" for c in carriers], dtype=bool)


def _neighbour_angle_deg(found: Compared, columns: Columns) -> FloatArray:
    """Return the angle from the measured direction to the nearest neighbouring satellite (m,)."""
    tables = found.replanned.tables
    azimuth, elevation = (
        tables.get(f"neighbour_{k}_deg", np.empty((len(found.returned), 0)))
        for k in ("azimuth", "elevation")
    )
    if not azimuth.shape[1]:
        return np.full(len(found.returned), np.nan)
    measured = columns["measured_azimuth_deg"][:, None], columns["measured_elevation_deg"][:, None]
    return np.asarray(np.fmin.reduce(sky_angle_deg(*measured, azimuth, elevation), axis=1))
