"""Words that several sections of the report share."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

#: Kinds of mount as a reader knows them.
MOUNTS: Final = MappingProxyType(
    {
        "pole": "pole",
        "wall": "wall bracket",
        "non_penetrating": "roof frame",
        "ground": "ground frame",
        "engineered": "designed by an engineer",
    }
)
#: How bad a risk is.
SEVERITIES: Final = MappingProxyType({"stop": "Stop", "warn": "Decide", "note": "Know"})
#: How much an assumed figure matters.
WEIGHTS: Final = MappingProxyType(
    {"decides": "decides the kit", "shifts": "shifts figures", "little": "matters little"}
)
