"""What would change the kit: a figure's step, and how many sites it changes."""

from __future__ import annotations

from siteplan.frozen import frozen


@frozen
class KitChange:
    """A step of a figure that may be off, and the ``sites`` whose pair it changes.

    ``name`` and ``step``, in its ``unit``, say what; ``told`` says it in words. ``lost`` of the
    sites get no pair then, ``gained`` get one that have none as planned.
    """

    name: str
    step: float
    unit: str
    told: str
    sites: int = 0
    lost: int = 0
    gained: int = 0

    @property
    def others(self) -> int:
        """Sites that get another pair in place of theirs."""
        return self.sites - self.lost - self.gained

    @property
    def code(self) -> str:
        """Name and sign, by which the step is counted."""
        return f"{self.name}_{'plus' if self.step > 0 else 'minus'}"
