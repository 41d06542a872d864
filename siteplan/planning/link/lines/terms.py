"""What a line of a link budget is made of: three columns, a basis, a source in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from siteplan.answers.budget import BASES, BudgetLine, BudgetPart
from siteplan.arrays import FloatArray
from siteplan.frozen import frozen
from siteplan.messages import english
from siteplan.network import Network
from siteplan.physics.propagation.attenuation import Attenuation

_GIVEN, _ASSUMED, _COMPUTED, _PARTLY = BASES


def columns(clear: ArrayLike, site: ArrayLike, hub: ArrayLike) -> FloatArray:
    """Return a line's three columns (3,) from numbers or arrays (1,)."""
    return np.array([float(np.squeeze(x)) for x in (clear, site, hub)])


@frozen
class Sky:
    """The sky of one path in the three columns (3,) [dB].

    ``total`` is what the link loses; ``scintillation`` is what is left of it behind gas and
    rain with cloud, so that the lines add up.
    """

    parts: Attenuation
    total: FloatArray

    @property
    def gas(self) -> FloatArray:
        """Gas."""
        return self.parts.gas

    @property
    def rain_and_cloud(self) -> FloatArray:
        """Rain and cloud together."""
        return self.parts.rain + self.parts.cloud

    @property
    def scintillation(self) -> FloatArray:
        """Scintillation, as what is left."""
        return self.total - self.gas - self.rain_and_cloud


def sky_of(clear_db: ArrayLike, faded: Attenuation | None, column: int) -> Sky:
    """Return a path's sky, clear but in one column.

    Parameters
    ----------
    clear_db : (1,) array
        Gas in clear sky [dB].
    faded : Attenuation, optional
        The sky (1,) of that column; clear where there is none.
    column : int
        Which it is, 0 to 2.
    """
    gas = np.full(3, float(np.squeeze(clear_db)))
    parts = Attenuation(gas, *(np.zeros(3) for _ in range(3)))
    if faded is not None:
        for name in ("gas", "cloud", "rain", "scintillation"):
            getattr(parts, name)[column] = float(np.squeeze(getattr(faded, name)))
    return Sky(parts, parts.total)


@frozen
class Known:
    """What is known of a network's figures: which of them somebody gave.

    Keys are such as ``outbound.ci_db``; entries of lists count from 1: ``antennas.1.efficiency``.
    ``own`` are those of the catalogue whose place the site's own figure takes.
    """

    network: Network
    own: frozenset[str] = frozenset()

    def assumed(self, key: str) -> bool:
        """Whether nobody gave a figure."""
        table, *entry, name = key.split(".")
        if key in self.own:
            return False
        found = getattr(self.network, table)
        if entry:
            found = found[int(entry[0]) - 1]
        return table not in self.network.model_fields_set or name not in found.model_fields_set

    def words(self, key: str, **values: Any) -> str:
        """Return a sentence of the catalogue with its gaps filled."""
        return english().one(key, **values)

    def key(self, code: str, sign: str, unit: str, values: ArrayLike, key: str) -> BudgetLine:
        """Return a line that is a figure of the network file; its label says the key in words."""
        basis = _ASSUMED if self.assumed(key) else _GIVEN
        source = english().one("budget.from.file", table=key.partition(".")[0])
        return _line(code, sign, unit, values, basis=basis, source=source)

    def told(
        self, code: str, sign: str, unit: str, values: ArrayLike, source: str, *, rests_on: str
    ) -> BudgetLine:
        """Return a line that is one figure of the kit, not worked out; ``rests_on`` is its key."""
        basis = _ASSUMED if self.assumed(rests_on) else _GIVEN
        return _line(code, sign, unit, values, basis=basis, source=source)

    def computed(
        self,
        code: str,
        sign: str,
        unit: str,
        values: ArrayLike,
        rests_on: tuple[str, ...] = (),
        *,
        numbers: Mapping[str, Any] | None = None,
    ) -> BudgetLine:
        """Return a line that is worked out, its source ``budget.from.CODE`` with its numbers."""
        basis = _PARTLY if any(self.assumed(key) for key in rests_on) else _COMPUTED
        source = english().one(f"budget.from.{code}", **(numbers or {}))
        return _line(code, sign, unit, values, basis=basis, source=source)


def _line(
    code: str, sign: str, unit: str, values: ArrayLike, *, basis: str, source: str
) -> BudgetLine:
    clear, site, hub = np.broadcast_to(np.asarray(values, dtype=float), 3).tolist()
    label = english()[f"budget.line.{code}"]
    return BudgetLine(code, label, sign, unit, (clear, site, hub), basis, source)


def part(code: str, *lines: BudgetLine) -> BudgetPart:
    """Return lines that add up, under the heading of their part."""
    return BudgetPart(code, english()[f"budget.part.{code}"], lines)


def with_bases(parts: tuple[BudgetPart, ...]) -> tuple[BudgetPart, ...]:
    """Return parts whose results say so where a line that they rest on was assumed.

    A line that repeats the result of a part above has that result's basis.
    """
    bases: dict[str, str] = {}
    done = []
    for piece in parts:
        lines: list[BudgetLine] = []
        for line in piece.lines:
            doubtful = any(x.basis in (_ASSUMED, _PARTLY) for x in lines)
            basis = bases.get(_REPEATS.get(line.code, line.code), line.basis)
            if line.sign in ("=", "sum"):
                basis = _PARTLY if doubtful else basis
                bases[_result(piece, line)] = basis
            lines.append(replace(line, basis=basis))
        done.append(replace(piece, lines=tuple(lines)))
    return tuple(done)


#: What lines repeat of parts above, where the code is another.
_REPEATS = {"up": "uplink", "down": "downlink", "other": "c_i0"}


def _result(of: BudgetPart, line: BudgetLine) -> str:
    """Return what a result is repeated by."""
    if line.code != "c_n0":
        return line.code
    return "uplink" if of.code.endswith("_up") else "downlink"
