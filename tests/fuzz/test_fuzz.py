"""Five hundred damaged and nasty files, and that the cases are what they should be."""

from __future__ import annotations

from pathlib import Path

import pytest

from siteplan.errors import NetworkError, SitesError
from tests.fuzz import trying
from tests.fuzz.cases import Case, case, weights, well_formed
from tests.fuzz.trying import tried

COUNT, PIECES = 500, 10


@pytest.mark.parametrize("piece", range(PIECES))
def test_nothing_is_lost_and_no_error_is_a_defect(piece: int) -> None:
    failures = [tried(case(1, number)) for number in range(piece, COUNT, PIECES)]
    told = [str(failure) for failure in failures if failure]
    assert not told, "\n\n".join(told)


@pytest.mark.parametrize("name", weights())
def test_the_files_are_good_before_they_are_changed(name: str, tmp_path: Path) -> None:
    """Else nothing would be tried but the first refusal."""
    path = tmp_path / name.replace("-geo", "")
    path.write_bytes(well_formed(name))
    if name == "clouds.zip":  # five grids of another size than the maps
        return
    found = trying._READ[path.stem](path)
    if path.stem == "sites":
        assert (len(found.sites), found.rejects) == (12, ())


def test_a_case_is_the_same_each_time() -> None:
    before = [case(3, number) for number in range(60)]
    well_formed.cache_clear()
    assert [case(3, number) for number in range(60)] == before
    assert [case(4, number) for number in range(60)] != before
    assert len({one.name for one in before}) > 10


def test_what_must_not_be_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    one = Case(1, 7, "network.toml", b"")

    def noticed(read: object) -> str:
        monkeypatch.setitem(trying._READ, "network", read)
        return str(tried(one))

    def refuse(what: str, fix: str = "") -> object:
        def read(_: Path) -> None:
            raise SitesError(what, fix=fix)

        return read

    assert "--seed 1 --only 7" in noticed(lambda _: 1 / 0)
    assert "ZeroDivisionError" in noticed(lambda _: 1 / 0)
    assert "DeprecationWarning" in noticed(
        lambda _: __import__("warnings").warn("x", DeprecationWarning)
    )
    assert "the file is not named" in noticed(refuse("it is bad.", "Mend it."))
    assert (
        noticed(lambda path: (_ for _ in ()).throw(NetworkError("bad", where=path.name))) == "None"
    )
    monkeypatch.setattr(trying, "READING_S", 0.2)

    def busy(_: Path) -> None:
        while True:
            pass

    assert "TooLong" in noticed(busy)
