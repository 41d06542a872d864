"""``[network]`` and ``[methods]``: name, dates, target, time zone; what the methods rest on."""

from __future__ import annotations

import datetime as dt
from typing import Literal, Self
from zoneinfo import ZoneInfo

from pydantic import model_validator

from siteplan.network.table import Table, key


class General(Table):
    """``[network]``: what the plan is for."""

    name: str = key("", "Name of the network, for headings", max_length=200)
    date: dt.date | None = key(None, "Date of the plan, for magnetic azimuths (else today)")
    availability_pct: float = key(
        99.5, "Availability target in an average year", "%", ge=50, le=99.999
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
