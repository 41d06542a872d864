"""``[traffic]``: what the sites send and receive in the busy hour, and how it grows."""

from __future__ import annotations

from typing import Final, Literal, Self

from pydantic import model_validator

from siteplan.network.table import Table, key

#: How remotes get onto their carriers: turns that are given out, chance, or a line a call.
Access = Literal["assigned", "contention", "circuit"]
#: Share of inbound carriers that may be used where nobody says [ratio]; common practice.
UTILISATION: Final = {"assigned": 0.7, "contention": 0.25, "circuit": 1.0}
#: The most that slotted access by chance carries is 1/e; above this it is not planned for.
MOST_BY_CHANCE: Final = 0.36


class Traffic(Table):
    """``[traffic]``: the busy hour of the sites, and how it grows."""

    outbound_kbit_s: float = key(
        256.0,
        "Rate that a site receives while it is active (the sites table may say other)",
        "kbit/s",
        ge=0,
        le=1e6,
    )
    inbound_kbit_s: float = key(
        64.0,
        "Rate that a site sends while it is active, or of a line (the sites table may say other)",
        "kbit/s",
        ge=0,
        le=1e6,
    )
    activity: float = key(
        0.2,
        "Share of the busy hour in which a site is active; of circuits the erlangs of a site",
        "",
        ge=0,
        le=1,
    )
    access: Access = key("assigned", "How sites get onto the inbound carriers")
    utilisation: float | None = key(
        None,
        "Share of an inbound carrier that may be used (absent: 0.7 assigned, 0.25 contention)",
        "",
        gt=0,
        le=1,
    )
    blocking_pct: float = key(
        1.0, "Calls that may find no line in the busy hour (circuit)", "%", gt=0, le=50
    )
    growth_pct: float = key(0.0, "Growth of each site's traffic in a year", "%", ge=-50, le=200)
    sites_growth_pct: float = key(
        0.0, "Growth of the number of sites in a year", "%", ge=-50, le=200
    )
    processing_ms: float = key(
        60.0,
        "What modems and hub add to the way over the satellite, for max_delay_ms",
        "ms",
        ge=0,
        le=10_000,
    )
    years: int = key(
        5, "Years that are looked ahead, and over which costs are summed", "a", ge=0, le=15
    )

    @property
    def used(self) -> float:
        """Share of an inbound carrier that may be used: given, else the one of the access."""
        return UTILISATION[self.access] if self.utilisation is None else self.utilisation

    def used_by(self, access: Access) -> float:
        """Return the share of an inbound carrier that an access may use: ``used`` for its own."""
        return self.used if access == self.access else UTILISATION[access]

    @model_validator(mode="after")
    def _chance_has_a_ceiling(self) -> Self:
        if self.access == "contention" and self.used > MOST_BY_CHANCE:
            raise ValueError(
                f'utilisation = {self.used:g} is more than access = "contention" can carry: at'
                f" most {MOST_BY_CHANCE:g} of a carrier gets through. Give {MOST_BY_CHANCE:g} or"
                " less"
            )
        return self
