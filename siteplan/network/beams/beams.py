"""``[[beams]]``: the beams of a satellite, each with what it has of its own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Annotated, Any, Self

from pydantic import Field, ValidationError, create_model, model_validator

from siteplan.network.beams.contours import Contours
from siteplan.network.beams.shapes import Ellipse
from siteplan.network.carriers import Inbound, Outbound
from siteplan.network.hub import Hub
from siteplan.network.table import Table, key

#: Keys of which a beam that has one of its own takes none of the others from the shared table,
#: and what goes with them.
_TOGETHER = (
    (("modcod", "es_n0_db", "eb_n0_db"), ("bits_per_symbol",)),
    (("lat", "lon"), ()),
    (("pattern", "pattern_file", "pattern_gains"), ()),
)


def partial(of: type[Table], *, without: tuple[str, ...] = ()) -> type[Table]:
    """Return a table with the keys of another, each with its limits, and none with a default.

    Keys that need a file read are left out: ``without``.

    Examples
    --------
    >>> partial(Hub)(antenna_m=7.3).model_dump(exclude_unset=True)
    {'antenna_m': 7.3}
    """
    keys: dict[str, Any] = {}
    for name, info in of.model_fields.items():
        if name in without:
            continue
        limited: Any = info.annotation
        if info.metadata:
            limited = Annotated[limited, *info.metadata]
        of_key = Field(None, description=info.description, json_schema_extra=info.json_schema_extra)
        keys[name] = (limited | None, of_key)
    return create_model(f"{of.__name__}Keys", __base__=Table, **keys)


if TYPE_CHECKING:

    class OutboundKeys(Table):
        """Keys of ``[outbound]``, any of them absent."""

    class InboundKeys(Table):
        """Keys of ``[inbound]``, any of them absent."""

    class HubKeys(Table):
        """Keys of ``[hub]``, any of them absent."""

else:
    OutboundKeys, InboundKeys = map(partial, (Outbound, Inbound))
    HubKeys = partial(Hub, without=("pattern_file", "pattern_gains"))


class _Named(Table):
    """The keys of ``[[beams]]`` before those of the ellipse."""

    name: str = key(..., "Name of the beam, as sites and contours have it", min_length=1,
        max_length=60)  # fmt: skip
    area: str | None = key(
        None,
        "Vector file of polygons: the beam's service area, from the project's folder; else an"
        " ellipse; else where its contours give a level",
        min_length=1,
        max_length=400,
    )


#: The tables of which a beam may have keys of its own.
OWN_TABLES = ("outbound", "inbound", "hub")


class Beam(Ellipse, _Named):
    """``[[beams]]``: one beam: where it serves, and its own keys of the shared tables."""

    area_wkt: str | None = Field(
        None, description="The polygons of area", json_schema_extra={"inner": True}
    )
    outbound: OutboundKeys = Field(
        default_factory=OutboundKeys,
        description="Keys of [outbound] that are this beam's own, such as"
        " { satellite_eirp_dbw = 52, downlink_ghz = 12.1 }",
    )
    inbound: InboundKeys = Field(
        default_factory=InboundKeys,
        description="Keys of [inbound] that are this beam's own",
    )
    hub: HubKeys = Field(
        default_factory=HubKeys,
        description="Keys of [hub] that are this beam's own: a gateway",
    )

    @property
    def lacks_area(self) -> bool:
        """Whether its service area is to come from a file that nobody has read."""
        return self.area is not None and self.area_wkt is None

    @model_validator(mode="after")
    def _one_area(self) -> Self:
        if self.area is not None or self.is_ellipse:
            self.check_one_shape(self.area, called="area")
        return self

    def own(self, table: str, shared: Table) -> Table:
        """Return a shared table, ``outbound``, ``inbound`` or ``hub``, with this beam's keys.

        Raises
        ------
        pydantic.ValidationError
            If the keys do not go together.
        """
        keys = {k: getattr(shared, k) for k in shared.model_fields_set}
        mine: Table = getattr(self, table)
        over = {k: getattr(mine, k) for k in mine.model_fields_set}
        for group, more in _TOGETHER:
            if any(k in over for k in group):
                keys = {k: v for k, v in keys.items() if k not in (*group, *more)}
        return type(shared).model_validate({**keys, **over})


def check_beams(beams: Sequence[Beam], contours: Sequence[Contours]) -> None:
    """Raise where beams are twins, or contours of a beam that is not there.

    Raises
    ------
    ValueError
        With the names, and what to do.
    """
    names = [beam.name for beam in beams]
    for number, name in enumerate(names, 1):
        if name in names[: number - 1]:
            raise ValueError(f"[[beams]] no. {number} name = {name!r} is given twice: rename it")
    for number, of in enumerate(contours, 1):
        if of.beam not in names:
            import difflib

            near = difflib.get_close_matches(of.beam, names, 1, 0.5)
            hint = f"did you mean {near[0]!r}? " if near else ""
            raise ValueError(
                f"[[contours]] no. {number} beam = {of.beam!r} is none of [[beams]]: {hint}they are"
                f" {', '.join(map(repr, names))}"
            )


def check_own(number: int, beam: Beam, shared: Mapping[str, Table]) -> None:
    """Raise where the keys of a beam, the one of a number, do not go with the shared tables'.

    Raises
    ------
    ValueError
        With its place.
    """
    for table in OWN_TABLES:
        try:
            beam.own(table, shared[table])
        except ValidationError as error:
            fault = error.errors(include_url=False)[0]
            told = str(fault.get("ctx", {}).get("error", fault["msg"]))
            raise ValueError(f"[[beams]] no. {number} {table}: {told}") from None
