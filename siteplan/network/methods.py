"""``[methods]``: what the methods rest on, where there is a choice."""

from __future__ import annotations

from siteplan.network.table import Table, key


class Methods(Table):
    """``[methods]``: maps that the user has."""

    cloud_maps: str | None = key(
        None,
        "Folder or ZIP of ITU-R P.840-9's annual cloud maps, from the project's folder (absent:"
        " those of 'siteplan maps'; empty: P.840-7's)",
        max_length=400,
    )
