"""``[contacts]`` and ``[sheets]``: who is called, and what the crew's sheets carry."""

from __future__ import annotations

from typing import Literal

from siteplan.network.table import Table, key


class Contacts(Table):
    """``[contacts]``: who is called from a site."""

    operator_name: str = key("", "Who runs the access test: name or desk", max_length=80)
    operator_phone: str = key("", "Telephone of the satellite's operator", max_length=40)
    planner_name: str = key("", "Who answers the crew's questions", max_length=80)
    planner_phone: str = key("", "Telephone of the planner", max_length=40)


class Sheets(Table):
    """``[sheets]``: what the crew's sheets carry beside the plan's figures."""

    columns: tuple[str, ...] = key(
        (),
        "Columns of the sites table that go onto the sheets, such as contact and access;"
        " no other column of yours does",
        min_length=0,
        max_length=8,
    )
    # Common practice, no source; 10 m/s is a fresh to strong breeze.
    stop_wind_m_s: float = key(
        10.0, "Gust at which work at a dish stops, unless the maker or employer sets less", "m/s",
        gt=0, le=30,
    )  # fmt: skip
    lone_worker: str = key(
        "", "Your rule for those who work alone (absent: the usual words)", max_length=200
    )
    paper: Literal["A4", "letter"] | None = key(
        None, "Paper of the sheets (absent: letter where units are us, else A4)"
    )
