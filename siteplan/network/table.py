"""What every table of network.toml is made of: the frozen base, and a key with its unit."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Field


def key(default: Any, meaning: str, unit: str = "", **limits: Any) -> Any:
    """Return a key of a table: a pydantic field with its unit beside its meaning and limits.

    Parameters
    ----------
    default : object
        Value where the file gives none; ``...`` for a key that must be given.
    meaning : str
        What it is, as the reference and the starter file say it.
    unit : str, optional
        Unit as text; empty for texts, dates and ratios.
    **limits
        pydantic's own limits: ``ge``, ``gt``, ``le``, ``lt``, ``min_length``, ``max_length``.

    Returns
    -------
    FieldInfo
    """
    return Field(default, description=meaning, json_schema_extra={"unit": unit}, **limits)


class Table(BaseModel):
    """A table of network.toml: frozen, unknown keys refused, no infinities."""

    # Deferred: most tables are checked as part of ``Network`` alone, by its validator.
    model_config = ConfigDict(
        frozen=True, extra="forbid", allow_inf_nan=False, strict=False, defer_build=True
    )
