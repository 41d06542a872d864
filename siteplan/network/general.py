"""``[network]`` and ``[methods]``: name, dates, target, time zone; what the methods rest on."""

from __future__ import annotations

import datetime as dt
from typing import Final, Literal, Self
from zoneinfo import ZoneInfo

from pydantic import model_validator

from siteplan.network.table import Table, key

#: Targets of a worst month that the methods hold for [%]: ITU-R P.841 knows none under the first,
#: and more than the second asks for more than 99.999 % of an average year.
WORST_MONTH_TARGET_PCT: Final = (92.2, 99.992)


class General(Table):
    """``[network]``: what the plan is for."""

    name: str = key("", "Name of the network, for headings", max_length=200)
    date: dt.date | None = key(None, "Date of the plan, for magnetic azimuths (else today)")
    availability_pct: float = key(
        99.5, "Availability target, of a year as availability_basis says", "%", ge=50, le=99.999
    )
    availability_basis: Literal["year", "worst_month"] = key(
        "year",
        "What targets are percentages of, the sites' own too: an average year, or its worst month"
        " (92.2 to 99.992 %)",
    )
    applications: tuple[str, ...] = key(
        (),
        "Names of [[applications]] of sites whose row names none (none: those keep [traffic])",
        max_length=40,
    )
    install_date: dt.date | None = key(
        None, "Date of the installation, for the sun's bearings (else the plan's date)"
    )
    timezone: str = key(
        "",
        "Time zone (IANA name) of the hub, and of sites that give none (else UTC)",
        max_length=60,
    )
    units: Literal["metric", "us"] = key(
        "metric", "Units on sheets and report: metric, or those of the United States beside them"
    )

    equipment_mtbf_h: float | None = key(
        None,
        "Mean time between failures of a site's equipment, and of a chain of the hub's (absent:"
        " no service availability)",
        "h",
        ge=100,
        le=500_000,
    )
    equipment_mttr_h: float | None = key(
        None, "Mean time until it is repaired, travel included", "h", gt=0, le=10000
    )

    @model_validator(mode="after")
    def _both_times(self) -> Self:
        if (self.equipment_mtbf_h is None) != (self.equipment_mttr_h is None):
            raise ValueError("give both equipment_mtbf_h and equipment_mttr_h, or neither")
        return self

    @model_validator(mode="after")
    def _month_holds(self) -> Self:
        low, high = WORST_MONTH_TARGET_PCT
        if self.availability_basis == "worst_month" and not low <= self.availability_pct <= high:
            raise ValueError(
                f"availability_pct = {self.availability_pct:g} is out of range for a worst month."
                f" Allowed: {low:g} to {high:g} %: ITU-R P.841 knows no average year for less, and"
                " more asks for over 99.999 % of one. Give a target between, or take"
                " availability_basis out"
            )
        return self

    @model_validator(mode="after")
    def _known_zone(self) -> Self:
        try:
            if self.timezone:
                ZoneInfo(self.timezone)
        except (ValueError, OSError, LookupError):
            raise ValueError(
                f"timezone {self.timezone!r} is not in the time zone database;"
                " write a name such as 'America/Bogota'"
            ) from None
        return self


class Methods(Table):
    """``[methods]``: maps that the user has."""

    cloud_maps: str | None = key(
        None,
        "Folder or ZIP of ITU-R P.840-9's annual cloud maps, from the project's folder (absent:"
        " those of 'siteplan maps'; empty: P.840-7's)",
        max_length=400,
    )
