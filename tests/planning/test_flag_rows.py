"""Every flag at the sites that carry it and at no other: many mixed sites in one plan.

The conditions stand in ``flag_rows.py``, a row a sentence; here they are held against the plan.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from siteplan.fields import FLAGS
from siteplan.messages import english, gaps
from siteplan.planning.plan import make_plan
from tests.planning.flag_rows import MENDS, ROWS, Facts, Row
from tests.planning.mixed import network, world, write_terrain

#: Needed to write the terrain file; without it that one flag is not looked at.
HAS_RASTERIO = importlib.util.find_spec("rasterio") is not None
# rasterio's own arithmetic with the transforms of its dependency.
pytestmark = pytest.mark.filterwarnings("ignore:Use `@` matmul:PendingDeprecationWarning")
#: Flags that hold for a whole plan or for no site of it.
OF_THE_PLAN = {"magnetic_model_date", "availability_capped"}
#: Flags that stand of a pair only tried too, and then name it.
OF_WHAT_WAS_TRIED = {"availability_capped", "availability_low"}
#: Sentences that the mixed sites bring forth rarely or never: see ``kit/test_shortfall.py``.
ELSEWHERE = {
    *("no_fit.nothing.inbound.hub", "no_fit.beside.inbound.hub"),
    *("no_fit.mend.control", "no_fit.mend.no_control", "no_fit.mend.hub_inbound"),
    *(f"flag.margin_short.{x}" for x in ("outbound.hub", "inbound.site", "inbound.hub")),
    "flag.margin_negative.inbound.hub",
    "flag.azimuth_sensitive",  # test_limits.py
}
#: Flags that want keys of their own: see ``link/spectrum``, ``link/hub``, ``beams``,
#: ``certainty``, ``link/test_mispointing.py`` and ``capacity/test_applications.py``.
OF_OTHER_KEYS = {
    *("hub_power_short", "power_control_saturated"),
    *("interference_limited", "neighbours_near", "pointing_coarse", "delay_too_long"),
    *("power_cut", "off_axis_exceeded", "outside_beam", "target_out_of_range"),
}
#: So many sites at least carry each sentence, and so many do not.
LEAST = 3


@pytest.fixture(scope="module")
def mixed(tmp_path_factory: pytest.TempPathFactory) -> Facts:
    """All mixed sites in one plan, an ordinary day."""
    folder = tmp_path_factory.mktemp("terrain")
    there = world(write_terrain(folder / "plain.tif") if HAS_RASTERIO else None)
    return Facts(there, make_plan(there.sites, there.network, around=there.around))


@pytest.fixture(scope="module")
def late() -> Facts:
    """The same, too late for the magnetic model, and with a hub that rain does not stop."""
    there = world()
    changed = network(network={"date": "2031-03-01"}, hub={"power_control_db": 30})
    return Facts(there, make_plan(there.sites, changed, around=there.around))


def carried(facts: Facts, code: str) -> Any:
    """Return where a plan carries a flag (n,)."""
    return np.array([code in text.split(";") for text in facts.c["flags"]])


def sentences(facts: Facts, row: Row) -> dict[int, str]:
    """Return the row's sentences by site, worked out anew."""
    where = np.flatnonzero(row.where(facts)).tolist()
    if row.key.startswith("note."):
        return {i: " ".join(n.sentence for n in facts.sites.notes[i] if n.code == row.code)
                for i in where}  # fmt: skip
    template, numbers = english()[row.key], row.numbers(facts)
    told = {}
    for i in where:
        here = {k: tidy(v[i] if isinstance(v, np.ndarray) else v, f"{{{k}:.1f}}" in template)
                for k, v in numbers.items()}  # fmt: skip
        told[i] = template.format(**here)
    if row.code in OF_WHAT_WAS_TRIED:
        told = {i: facts.tried_head(i) + text for i, text in told.items()}
    return told


def tidy(value: Any, to_tenths: bool) -> Any:
    """Return a number as it is told: minus zero is zero."""
    return round(float(value), 1) + 0.0 if to_tenths else value


def expected(facts: Facts) -> tuple[list[str], list[str]]:
    """Return codes and sentences of each site, joined, by the rows of the table."""
    codes: list[list[str]] = [[] for _ in range(facts.n)]
    notes: list[list[str]] = [[] for _ in range(facts.n)]
    of_sites = [row for row in ROWS if FLAGS[row.code].told == "site"]
    for row in sorted(of_sites, key=lambda r: list(FLAGS).index(r.code)):
        for i, text in sentences(facts, row).items():
            codes[i].append(row.code)
            notes[i].append(text)
    return [";".join(x) for x in codes], [" ".join(x) for x in notes]


def test_every_flag_has_a_row_and_every_row_a_flag() -> None:
    assert {row.code for row in ROWS} == set(FLAGS) - OF_OTHER_KEYS


def test_every_sentence_of_flags_has_a_row() -> None:
    rows = {row.key for row in ROWS}
    known = {k for k in english() if k.startswith(("flag.", "once.", "no_fit.", "cable."))}
    # What the core is, and what clad steel would do, no flag: see site/test_cable.py.
    known -= {k for k in known if k.startswith(("cable.core.", "cable.steel."))}
    known -= {"cable.starved.clad_steel", "cable.apart.clad_steel"}  # another network
    known -= {k for k in known if k.split(".")[1] in OF_OTHER_KEYS}
    # No flag of their own: what the fields of the kit say, in the tests of no kit.
    mends = {row.key for row in MENDS} - rows
    free = {"flag.power_share.free"}  # another network: see link/test_drive.py
    free |= {"flag.power_share.spared"}  # and link/test_reduction.py
    free |= {k for k in known if k.split(".")[1] in OF_OTHER_KEYS}
    free |= {"flag.below_min_elevation.method"}  # another rule: see kit/test_shortfall.py
    free |= {"no_fit.doubted"}  # before any other reason: below
    free |= {"no_fit.coarse", "no_fit.mend.limit", "no_fit.mend.outside_beam"}  # their own tests
    assert known - rows == {"no_fit.below_horizon", "no_fit.low"} | mends | free
    noted = {".".join(k.split(".")[:2]) for k in english() if k.startswith("note.")}
    assert noted <= rows


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.key)
def test_a_sentence_where_it_holds_and_nowhere_else(row: Row, mixed: Facts, late: Facts) -> None:
    if row.code == "outside_terrain" and not HAS_RASTERIO:
        pytest.skip("rasterio is missing: no terrain file")
    facts = late if row.code in OF_THE_PLAN else mixed
    where = row.where(facts)
    assert where.sum() >= LEAST or row.key in ELSEWHERE
    without = row.where(mixed) if row.code in OF_THE_PLAN else where
    assert (~without).sum() >= LEAST
    if FLAGS[row.code].told == "plan":
        assert facts.told_once[row.code] == where.sum()
        said = english().one(row.key, count=int(where.sum()), sites=facts.n)
        assert said in facts.remarks
        assert not carried(facts, row.code).any()
        return
    of_code = np.logical_or.reduce([r.where(facts) for r in ROWS if r.code == row.code])
    np.testing.assert_array_equal(carried(facts, row.code), of_code)
    for i, text in sentences(facts, row).items():
        assert text in facts.c["flag_notes"][i]


@pytest.mark.parametrize("when", ["mixed", "late"])
def test_flags_and_notes_of_each_site_are_those_of_the_table(
    when: str, request: pytest.FixtureRequest
) -> None:
    facts: Facts = request.getfixturevalue(when)
    codes, notes = expected(facts)
    merged = [";".join(dict.fromkeys(text.split(";"))) for text in codes]
    assert facts.c["flags"].tolist() == merged
    assert facts.c["flag_notes"].tolist() == notes


def reasons(facts: Facts, *prefixes: str) -> Iterator[tuple[int, str]]:
    """Yield the sites and sentences of the rows whose keys start so."""
    for row in ROWS:
        if row.key.startswith(prefixes) and row.code not in ("margin_negative", "margin_short"):
            yield from sentences(facts, row).items()


def test_reasons_for_no_kit_are_those_of_the_table(mixed: Facts) -> None:
    """Beside those that carry a flag: below the horizon, and too low for kit."""
    told = dict(reasons(mixed, "no_fit."))
    low = ~mixed.given & mixed.seen & (mixed.elevation < 10)
    unseen = ~mixed.given & ~mixed.seen
    assert LEAST <= low.sum() <= mixed.n - LEAST
    assert LEAST <= unseen.sum() <= mixed.n - LEAST
    for i in np.flatnonzero(low).tolist():
        told[i] = f"Elevation {mixed.elevation[i]:.2f} deg is under 10 deg: no kit is picked."
    told |= dict.fromkeys(np.flatnonzero(unseen).tolist(), "The satellite is below the horizon.")
    for row in MENDS:
        for i, text in sentences(mixed, row).items():
            told[i] = f"{told[i]} {text}"
    doubted = carried(mixed, "coordinate_doubt") & ~mixed.given
    assert doubted.sum() >= LEAST
    for i in np.flatnonzero(doubted).tolist():
        told[i] = f"{english()['no_fit.doubted']} {told[i]}"
    assert mixed.c["no_fit_reason"].tolist() == [told.get(i, "") for i in range(mixed.n)]


def test_advice_on_cables_is_that_of_the_table(mixed: Facts) -> None:
    told = dict(reasons(mixed, "cable."))
    assert mixed.c["cable_advice"].tolist() == [told.get(i, "") for i in range(mixed.n)]


def test_every_row_counts_numbers_of_its_own() -> None:
    """A gap without a number would make the table blind to it."""
    for row in ROWS:
        if row.key.startswith("flag."):
            assert row.numbers.__code__.co_argcount == 1
            assert (row.numbers is not Row._field_defaults["numbers"]) or not gaps(
                english()[row.key]
            )


def test_sites_planned_in_pieces_give_the_same_rows(mixed: Facts) -> None:
    """Alone, in threes, in another order: what a site gets does not hang on its neighbours."""
    there = mixed.world
    shuffled = np.random.default_rng(7).permutation(mixed.n).tolist()
    for piece in (shuffled, [17], [301, 4, 44], [3, 500, 77, 78], [200], [509, 0]):
        few = make_plan(there.sites.take(np.array(piece)), there.network, around=there.around)
        for name, values in few.columns.items():
            if values.dtype == float:
                # Sums over few sites may differ in their last bits from those over many.
                np.testing.assert_allclose(values, mixed.c[name][piece], rtol=1e-9, err_msg=name)
            else:
                np.testing.assert_array_equal(values, mixed.c[name][piece], err_msg=name)
