"""What a plan tells of each beam beside its columns: carriers, and the curves of its hub."""

from __future__ import annotations

from siteplan.answers import Tuned
from siteplan.frozen import frozen


@frozen
class BeamFacts:
    """What the sites of one beam share.

    ``number`` counts from 0 the passes of the plan, beams with the same carriers and hub;
    ``tuning`` is what its remotes receive and send, ``whatif_hub_db`` what its hub's rain takes
    (see `siteplan.results.Facts`).
    """

    name: str
    number: int
    tuning: tuple[Tuned, ...]
    whatif_hub_db: tuple[tuple[float, ...], ...]
