"""``[[applications]]``: what the sites are connected for, each with what it asks of the network."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final, Literal, NamedTuple, Self

from pydantic import model_validator

from siteplan.network.capacity.traffic import Access, Traffic
from siteplan.network.table import Table, key

#: Kinds of application that have usual figures.
Profile = Literal["transaction", "scada", "voice", "video", "internet", "none"]
#: What parts the names of a site's applications.
SEPARATOR: Final = ";"

#: What each profile puts in where a key is not given: common practice, no source. A call of voice
#: takes 24 kbit/s each way: 8 kbit/s of speech over IP, in packets of 20 ms.
PROFILES: Final[Mapping[Profile, Mapping[str, Any]]] = MappingProxyType(
    {
        "transaction": {
            **{"inbound_kbit_s": 9.6, "outbound_kbit_s": 19.2, "activity": 0.05},
            **{"access": "contention", "availability_pct": 99.7, "max_delay_ms": 1500.0},
        },
        "scada": {
            **{"inbound_kbit_s": 2.4, "outbound_kbit_s": 1.2, "activity": 0.05},
            **{"access": "assigned", "availability_pct": 99.8, "max_delay_ms": 5000.0},
        },
        "voice": {
            **{"inbound_kbit_s": 24.0, "outbound_kbit_s": 24.0, "activity": 0.1},
            **{"access": "circuit", "availability_pct": 99.5, "max_delay_ms": 400.0},
        },
        "video": {
            **{"inbound_kbit_s": 0.0, "outbound_kbit_s": 4000.0, "activity": 1.0},
            **{"access": "assigned", "availability_pct": 99.9, "multicast": True},
        },
        "internet": {
            **{"inbound_kbit_s": 512.0, "outbound_kbit_s": 2048.0, "activity": 0.1},
            **{"access": "assigned", "availability_pct": 99.5},
        },
        "none": {},
    }
)


class Application(Table):
    """``[[applications]]``: one application; its profile puts in what is not given."""

    name: str = key(
        ..., "Name of the application, as the sites table has it", min_length=1, max_length=60
    )
    profile: Profile = key(
        "none", "Kind of application: puts in usual figures (none: those of [traffic])"
    )
    inbound_kbit_s: float | None = key(
        None, "Rate that a session sends while it is active", "kbit/s", ge=0, le=1e6
    )
    outbound_kbit_s: float | None = key(
        None, "Rate that a session receives while it is active", "kbit/s", ge=0, le=1e6
    )
    sessions: int = key(1, "Sessions of a site", "", ge=1, le=100_000)
    activity: float | None = key(
        None,
        "Share of the busy hour in which a session is active; of circuits its erlangs",
        "",
        ge=0,
        le=1,
    )
    access: Access | None = key(None, "How its sessions get onto the inbound carriers")
    availability_pct: float | None = key(
        None,
        "Target that it asks for; a site's is its own, else the highest of its applications'",
        "%",
        ge=50,
        le=99.999,
    )
    max_delay_ms: float | None = key(
        None, "Longest time from end to end over one hop", "ms", gt=0, le=100_000
    )
    multicast: bool | None = key(
        None, "One stream serves all sites of a beam: its outbound traffic counts once"
    )

    @model_validator(mode="after")
    def _name_holds(self) -> Self:
        if SEPARATOR in self.name or self.name != self.name.strip():
            raise ValueError(
                f"name = {self.name!r} holds {SEPARATOR!r}, which parts names in the sites table,"
                " or a space at an end: write another name"
            )
        return self

    def put_in(self) -> Mapping[str, Any]:
        """Return the figures that the profile puts in, by key."""
        return {k: v for k, v in PROFILES[self.profile].items() if getattr(self, k) is None}

    def asked(self, traffic: Traffic) -> Asked:
        """Return what the application asks for: given, else by its profile, else ``[traffic]``."""
        usual = {
            **{name: getattr(traffic, name) for name in _OF_TRAFFIC},
            **{"availability_pct": None, "max_delay_ms": None, "multicast": False},
            **PROFILES[self.profile],
        }
        given = {k: getattr(self, k) for k in usual if getattr(self, k) is not None}
        return Asked(name=self.name, sessions=self.sessions, **(usual | given))


#: Keys that an application without a profile has from ``[traffic]``.
_OF_TRAFFIC = ("inbound_kbit_s", "outbound_kbit_s", "activity", "access")


class Asked(NamedTuple):
    """What an application asks for, nothing left open; None where it asks for nothing.

    Rates [kbit/s] are of a session while it is active.
    """

    name: str
    sessions: int
    inbound_kbit_s: float
    outbound_kbit_s: float
    activity: float
    access: Access
    availability_pct: float | None
    max_delay_ms: float | None
    multicast: bool


def named(text: str) -> tuple[str, ...]:
    """Return the names that a cell of the sites table holds, each once.

    >>> named("voice; telemetry;;voice")
    ('voice', 'telemetry')
    """
    return tuple(dict.fromkeys(filter(None, (name.strip() for name in text.split(SEPARATOR)))))


def unknown(names: Sequence[str], applications: Sequence[Application]) -> list[str]:
    """Return the names that no application has."""
    known = {of.name for of in applications}
    return [name for name in names if name not in known]


def known_text(applications: Sequence[Application]) -> str:
    """Return the names of applications in words; that there are none."""
    if not applications:
        return "the network lists no applications"
    return "known are " + ", ".join(repr(of.name) for of in applications)


def check_applications(names: Sequence[str], applications: Sequence[Application]) -> None:
    """Raise where two applications have one name, or ``[network] applications`` names none.

    Raises
    ------
    ValueError
    """
    if len({of.name for of in applications}) < len(applications):
        raise ValueError("applications: two of the same name; keep one of them")
    if missing := unknown(names, applications):
        raise ValueError(
            f"[network] applications: there is no application {missing[0]!r};"
            f" {known_text(applications)}"
        )
