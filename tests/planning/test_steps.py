"""The contract of the steps: rows apart, a field from one step, sentences in the catalogue."""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import siteplan
from siteplan.arrays import Arrays
from siteplan.fields import FIELDS
from siteplan.messages import english
from siteplan.model import Sites, Surroundings
from siteplan.network import Network
from siteplan.planning.assembly import CARRIED
from siteplan.planning.plan import Tabled, make_plan, plan_piece
from siteplan.planning.setting import setting
from siteplan.planning.site.mounts.choice import KINDS
from tests.planning.others import with_faint
from tests.priced import with_costs

TEXTS = (
    *("no_fit_reason", "mount_reason", "mount_question", "mount_options", "cable_advice"),
    *("exposure_basis", "cable_core", "cable_clad_steel", "near_miss"),
    *("flags", "flag_notes", "year_notes"),
)
ROOT = Path(siteplan.__file__).parent
#: A key of the catalogue, or the pattern that an f-string makes.
KEY = re.compile(
    r"(flag|no_fit|near_miss|caution|cable|exposure|mount|asbuilt|report|coverage|limit)\.[\w.*]+"
)


def steps() -> Iterator[type[Arrays]]:
    """Yield every class of results that a step of the plan gives."""
    for kind in Arrays.__subclasses__():
        if kind.__module__.startswith("siteplan.planning"):
            yield kind


def test_each_field_is_given_by_exactly_one_step_or_carried() -> None:
    given = Counter(name for kind in steps() for name in kind.field_names())
    given.update({name for kind in KINDS for name in kind.fields})
    given.update([*CARRIED, *TEXTS])
    assert {name: n for name, n in given.items() if n > 1} == {}
    assert set(given) == set(FIELDS)


@pytest.mark.parametrize("subset", [[3, 17, 20], [39, 0, 1], [5]])
def test_sites_do_not_depend_on_their_neighbours(
    tropical: Network, basin: Sites, subset: list[int]
) -> None:
    """The chain for some sites gives what it gives for all, taken there."""
    kinds = np.resize(np.array(["ground", "flat_roof", "wall", ""], dtype=object), len(basin))
    sites = replace(basin, structure=kinds, wall_facing_deg=np.full(len(basin), 90.0))
    shared, index = setting(tropical), np.array(subset)
    whole, part = (
        plan_piece(s, shared, Surroundings(), tabled=Tabled(True, False, True))
        for s in (sites, sites.take(index))
    )
    for name, values in part.columns.items():
        np.testing.assert_array_equal(values, whole.columns[name][index], err_msg=name)
    for name, values in part.tables.items():
        np.testing.assert_array_equal(values, whole.tables[name][index], err_msg=name)


def test_what_rests_on_kit_is_blank_without_it(tropical: Network, basin: Sites) -> None:
    base = tropical.model_dump(exclude_unset=True) | {"outbound": {"satellite_eirp_dbw": 39.0}}
    checked = with_costs(Network.model_validate(with_faint(base)))
    columns = make_plan(basin, checked).columns
    none = np.isnan(columns["antenna_m"]) & np.isnan(columns["buc_w"])
    assert 0 < none.sum() < len(basin)
    for name, field in FIELDS.items():
        if field.rests_on in ("dish", "buc", "kit"):
            blank = columns[name] == "" if field.is_text else np.isnan(columns[name])
            assert blank[none].all(), name


def keys_in_code() -> Iterator[str]:
    """Yield every key of the catalogue that planning names; gaps of f-strings as ``*``."""
    for path in (ROOT / "planning").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "flag":
                assert isinstance(node.args[0], ast.Constant)
                yield f"flag.{node.args[0].value}"
            elif isinstance(node, ast.JoinedStr):
                parts = [p.value if isinstance(p, ast.Constant) else "*" for p in node.values]
                if KEY.fullmatch(text := "".join(map(str, parts))) and text != "flag.*":
                    yield text
            elif isinstance(node, ast.Constant) and KEY.fullmatch(str(node.value)):
                yield str(node.value)


def test_every_sentence_is_used_and_every_key_is_there() -> None:
    named = set(keys_in_code()) - {"mount.*"}
    known = {key for key in english() if KEY.fullmatch(key)}
    for key in named:
        pattern = re.compile(re.escape(key).replace(r"\*", r"[\w.]*"))
        assert any(pattern.fullmatch(k) for k in known), key
    patterns = [re.compile(re.escape(key).replace(r"\*", r"[\w.]*")) for key in named]
    unused = {k for k in known if not any(p.fullmatch(k) for p in patterns)}
    assert unused == set()
