"""Which columns are the site's name and its id, where more than one may be."""

from __future__ import annotations

from siteplan.frozen import frozen
from siteplan.inputs.headings.meaning import Meaning
from siteplan.inputs.layout.candidates import Candidate
from siteplan.inputs.layout.evidence import Evidence, Labels
from siteplan.model import Note

#: Ids of our own headings, and those known from of old, are taken as they are: each repeat is a
#: row told. Ranks up to this one are.
_SURE_RANK = 1
#: A bare ``id``.
_ID_RANK = 4


@frozen
class Chosen:
    """The columns of name and id, '' for none, and what is said of the others."""

    name: str
    site_id: str
    remarks: tuple[Note, ...]


def chosen_labels(evidence: Evidence) -> Chosen:
    """Return the columns of name and id: the most specific whose values are full, and unique."""
    remarks: list[Note] = []
    nouns = evidence.candidates.of("noun")
    ids = [*evidence.candidates.of("site_id"), *(c for c in nouns if _as_id(c, evidence))]
    site_id = _id(ids, evidence, remarks)
    names = [*evidence.candidates.of("name"), *(c for c in nouns if c.heading != site_id)]
    name = _name(names, evidence, remarks)
    return Chosen(name, site_id, tuple(remarks))


def _as_id(candidate: Candidate, evidence: Evidence) -> bool:
    """Whether a bare noun may be the id: ``site``, or one whose cells are numbers."""
    labels = evidence.labels[candidate.heading]
    site = candidate.written.strip().casefold() == "site"
    return site or (0 < labels.filled == labels.digits)


def _id(candidates: list[Candidate], evidence: Evidence, remarks: list[Note]) -> str:
    usable = []
    for candidate in sorted(candidates, key=lambda c: c.order):
        labels = evidence.labels[candidate.heading]
        if labels.repeated and not _sure(candidate, labels):
            remarks.append(_repeats(candidate, labels))
        elif labels.filled:
            usable.append(candidate)
    blank = [c for c in candidates if c.exact]
    found = _fullest(usable, evidence) or (blank[0] if blank else None)
    _tell(found, usable, "id", remarks)
    return found.heading if found else ""


def _sure(candidate: Candidate, labels: Labels) -> bool:
    """Whether a column is the id even where some of its values repeat."""
    if candidate.exact or candidate.meaning.rank <= _SURE_RANK:
        return True
    known = candidate.meaning.rank == _ID_RANK or candidate.meaning.key == "noun"
    return known and 2 * labels.repeated <= labels.filled


def _repeats(candidate: Candidate, labels: Labels) -> Note:
    return Note.of(
        "note.input_mended.id_repeats",
        heading=candidate.written,
        count=labels.repeated,
        filled=labels.filled,
    )


def _fullest(candidates: list[Candidate], evidence: Evidence) -> Candidate | None:
    """Return the first that is full, else the fullest; ours goes first unless it is half blank."""
    rows = evidence.rows
    exact = [c for c in candidates if c.exact and 2 * evidence.labels[c.heading].filled >= rows]
    if exact:
        return exact[0]
    full = [c for c in candidates if evidence.labels[c.heading].filled >= rows]
    most = max(candidates, key=lambda c: evidence.labels[c.heading].filled, default=None)
    return full[0] if full else most


def _name(candidates: list[Candidate], evidence: Evidence, remarks: list[Note]) -> str:
    filled = [c for c in candidates if evidence.labels[c.heading].filled]
    usable = sorted(filled, key=lambda c: c.order)
    found = _fullest(usable, evidence)
    _tell(found, usable, "name", remarks)
    return found.heading if found else ""


def _tell(found: Candidate | None, usable: list[Candidate], what: str, remarks: list[Note]) -> None:
    """Say which of several columns was taken; a database's row number needs no word."""
    others = [c.written for c in usable if c != found and not _row_number(c.meaning)]
    if found and others and not found.exact:
        told = ", ".join(f"'{other}'" for other in others)
        remarks.append(
            Note.of(
                "note.input_mended.label_chosen",
                heading=found.written,
                what=what,
                others=told,
            )
        )


def _row_number(meaning: Meaning) -> bool:
    return meaning.rank == 8
