"""The ways in which a table may hold its positions, each asked whether its values fit."""

from __future__ import annotations

from siteplan.inputs.layout import refusals
from siteplan.inputs.layout.candidates import Candidate
from siteplan.inputs.layout.evidence import Evidence
from siteplan.inputs.layout.facts import Facts
from siteplan.inputs.layout.packed import FORMS, spelled
from siteplan.inputs.layout.placings import Axis, Columns, Pair, Parts, Place, Shapes
from siteplan.model import Note

#: With fewer rows, numbers that can be packed degrees may be so by chance: 0.36 for each.
_MIN_PACKED_ROWS = 4
#: With fewer numbers, each row is told what it may mean.
_MIN_LIKELY_ROWS = 2
#: Degrees and minutes alone are met by chance more often: 0.6 for each.
_MIN_MINUTES_ROWS = 10
#: Share of the numbers that must be packed degrees.
_PACKED_SHARE = 0.95
_SIDE_WORDS = {"N": "north", "S": "south", "E": "east", "W": "west"}


def by_columns(evidence: Evidence, crs: str) -> Place | None:
    """Take the latitude and the longitude whose values fit."""
    lat, lon = _best(evidence, "lat"), _best(evidence, "lon")
    if lat is None or lon is None:
        return None
    if not (evidence.of(lat.heading).fits("lat") and evidence.of(lon.heading).fits("lon")):
        return None
    return _columns(evidence, lat, lon)


def _columns(evidence: Evidence, lat: Candidate, lon: Candidate) -> Place:
    remarks: list[Note] = []
    axes = [_axis(evidence, c, remarks) for c in (lat, lon)]
    remarks += [
        Note.of("note.input_mended.column_read_as", heading=c.written, ours=c.meaning.key)
        for c in (lat, lon)
        if c.meaning.slip or c.meaning.rank > 3
    ]
    for chosen in (lat, lon):
        remarks += _rivals(evidence, chosen)
    return Place(Columns(*axes), tuple(remarks))


def _best(evidence: Evidence, key: str) -> Candidate | None:
    """Return the candidate whose values fit best; exact headings and sure words break ties."""

    def worth(candidate: Candidate) -> tuple[object, ...]:
        facts, rows = evidence.of(candidate.heading), max(evidence.rows, 1)
        full = round(facts.within(key) / rows, 1)
        plain = round(facts.numbers / rows, 1)
        return (not facts.fits(key), -full, -plain, *candidate.order)

    return min(evidence.candidates.whole(key), key=worth, default=None)


def _rivals(evidence: Evidence, chosen: Candidate) -> list[Note]:
    """Return what is said of columns that may be the same; refuse two that differ."""
    key, mine = chosen.meaning.key, evidence.of(chosen.heading)
    notes = []
    for rival in evidence.candidates.whole(key):
        theirs = evidence.of(rival.heading)
        if rival == chosen or not theirs.filled:
            continue
        apart = evidence.rows_apart(chosen.heading, rival.heading)
        alike = theirs.fits(key) and bool(mine.numbers) == bool(theirs.numbers)
        if apart and alike and rival.meaning.rank <= 3 and theirs.within(key) >= mine.within(key):
            raise refusals.two_columns(key, chosen, rival, apart, evidence.source)
        notes.append(
            Note.of(
                "note.input_mended.column_chosen",
                heading=chosen.written,
                ours=key,
                other=rival.written,
            )
        )
    return notes


def _axis(evidence: Evidence, candidate: Candidate, remarks: list[Note], form: str = "") -> Axis:
    """Return a column with the hemisphere that its heading names; add what is said of it."""
    facts, side = evidence.of(candidate.heading), candidate.meaning.side
    unsigned = facts.numbers > 0 and not facts.negative
    if side == "O" and (unsigned or not facts.numbers):
        raise refusals.letter_o_in_heading(candidate, evidence.source)
    if side in ("S", "W") and 0 < facts.negative < facts.numbers:
        raise refusals.signs_against_heading(candidate, facts, evidence.source)
    if side in ("S", "W") and (unsigned or not facts.numbers):
        told = _SIDE_WORDS[side]
        remarks.append(Note.of("note.input_mended.side_read", heading=candidate.written, side=told))
        return Axis(candidate.heading, side, form)
    return Axis(candidate.heading, "", form)


def by_packed(evidence: Evidence, crs: str) -> Place | None:
    """Take degrees, minutes and seconds run together, where they have one reading."""
    lat, lon = _best_packed(evidence, "lat"), _best_packed(evidence, "lon")
    if lat is None or lon is None:
        return None
    forms = [form for form in FORMS if _all_packed(evidence, lat, lon, form)]
    facts = [evidence.of(c.heading) for c in (lat, lon)]
    said = "dms" in (lat.meaning.form, lon.meaning.form)
    if not forms or (min(f.numbers for f in facts) < _MIN_LIKELY_ROWS and not said):
        return None
    # DDMMSS goes before DDMMSSs, which short degrees with round seconds could be as well.
    open_form = len(forms) > 1 and forms[0] != "s0"
    if open_form or not _supported(lat, lon, facts, forms[0]) or not _sided(lat, lon, facts):
        raise refusals.packed((lat, lon), facts, forms, evidence.source)
    return _packed(evidence, (lat, lon), forms[0])


def _packed(evidence: Evidence, pair: tuple[Candidate, Candidate], form: str) -> Place:
    lat, lon = pair
    facts = evidence.of(lon.heading)
    number = float(facts.example.replace(",", "."))
    reading = spelled(number, form)
    told = Note.of(
        "note.input_mended.packed_read",
        lat=lat.written,
        lon=lon.written,
        text=facts.example,
        reading=reading,
    )
    remarks = [told]
    axes = [_axis(evidence, c, remarks, form) for c in pair]
    return Place(Columns(*axes), tuple(remarks))


def _best_packed(evidence: Evidence, key: str) -> Candidate | None:
    found = [c for c in evidence.candidates.whole(key) if evidence.of(c.heading).numbers]
    return next((c for c in found if not evidence.of(c.heading).fits(key)), None) or (
        found[0] if found else None
    )


def _all_packed(evidence: Evidence, lat: Candidate, lon: Candidate, form: str) -> bool:
    """Whether nearly all numbers have this form, and not all of them less than a degree."""
    for candidate, key in ((lat, "lat"), (lon, "lon")):
        facts = evidence.of(candidate.heading)
        few = facts.packed[key, form] < _PACKED_SHARE * facts.filled
        if few or facts.fits(key) or facts.whole_degrees[key, form] < facts.numbers / 2:
            return False
    return True


def _supported(lat: Candidate, lon: Candidate, facts: list[Facts], form: str) -> bool:
    if "dms" in (lat.meaning.form, lon.meaning.form):
        return True
    least = _MIN_MINUTES_ROWS if form == "m" else _MIN_PACKED_ROWS
    return min(f.numbers for f in facts) >= least


def _sided(lat: Candidate, lon: Candidate, facts: list[Facts]) -> bool:
    """Whether signs or headings tell the hemispheres."""
    signed = any(f.negative for f in facts)
    return signed or all(c.meaning.side not in ("", "O") for c in (lat, lon))


def by_parts(evidence: Evidence, crs: str) -> Place | None:
    """Join columns of degrees, minutes, seconds and hemisphere."""
    found = {key: dict(evidence.candidates.parts(key)) for key in ("lat", "lon")}
    if not all(found.values()):
        return None
    _share_hemispheres(evidence, found)
    columns = [c.written for parts in found.values() for c in parts.values()]
    remarks = [Note.of("note.input_mended.parts_joined", columns=", ".join(columns))]
    told = all("hemi" in parts or parts["deg"].meaning.side for parts in found.values())
    signed = any(evidence.of(parts["deg"].heading).negative for parts in found.values())
    if not (told or signed):
        remarks.append(Note.of("note.input_mended.parts_unsigned"))
    return Place(Parts(found["lat"], found["lon"]), tuple(remarks))


def _share_hemispheres(evidence: Evidence, found: dict[str, dict[str, Candidate]]) -> None:
    """Give columns called N/S and E/W to the half that they stand behind."""
    for candidate in evidence.candidates.of("hemisphere"):
        behind = [
            (candidate.at - parts["deg"].at, key)
            for key, parts in found.items()
            if parts["deg"].at < candidate.at and "hemi" not in parts
        ]
        if behind:
            found[min(behind)[1]]["hemi"] = candidate


def by_shapes(evidence: Evidence, crs: str) -> Place | None:
    """Take points as text: WKT and its like."""
    for heading, facts in evidence.facts.items():
        if facts.filled and 2 * facts.shapes >= facts.filled:
            found = refusals.named_system(facts.example, crs, heading, evidence.source)
            told = Note.of("note.input_mended.shapes_read", heading=heading)
            return Place(Shapes(heading, found), (told,))
    return None


def by_pair(evidence: Evidence, crs: str) -> Place | None:
    """Take one column that holds both, where its order is told or only one order is possible."""
    alone = [k for k in ("lat", "lon") if evidence.candidates.whole(k)]
    for candidate in evidence.candidates.of("both", *(alone if len(alone) == 1 else ())):
        facts = evidence.of(candidate.heading)
        if facts.filled and 2 * facts.pairs >= facts.filled:
            order = _order(candidate, facts)
            if not order:
                raise refusals.open_order(candidate, facts, evidence.source)
            words = " and then ".join(
                {"lat": "latitude", "lon": "longitude"}[key] for key in order.split("_")
            )
            told = Note.of("note.input_mended.pair_read", heading=candidate.written, order=words)
            return Place(Pair(candidate.heading, order), (told,))
    return None


def _order(candidate: Candidate, facts: Facts) -> str:
    """Return the order of a column of pairs, '' where it is open."""
    first, second = facts.first_beyond + facts.lon_first, facts.second_beyond + facts.lat_first
    if bool(first) != bool(second):
        return "lon_lat" if first else "lat_lon"
    if first:
        return ""
    # Survey forms write a point as latitude, longitude, height and accuracy (XForms geopoint).
    return candidate.meaning.order or ("lat_lon" if 2 * facts.four > facts.pairs else "")


def by_xy(evidence: Evidence, crs: str) -> Place | None:
    """Take x and y as longitude and latitude, where they hold degrees with decimals."""
    for x in evidence.candidates.of("x", "easting"):
        for y in evidence.candidates.of("y", "northing"):
            facts = evidence.of(x.heading), evidence.of(y.heading)
            if _degrees_with_decimals(facts[0], "lon") and _degrees_with_decimals(facts[1], "lat"):
                told = Note.of("note.input_mended.xy_degrees", x=x.written, y=y.written)
                return Place(Columns(Axis(y.heading), Axis(x.heading)), (told,))
    return None


def _degrees_with_decimals(facts: Facts, key: str) -> bool:
    return (
        facts.numbers > 0 and facts.within(key) == facts.filled and 4 * facts.whole < facts.numbers
    )


def as_they_stand(evidence: Evidence, crs: str) -> Place | None:
    """Take the columns called latitude and longitude, whatever they hold: each row tells."""
    lat, lon = _best(evidence, "lat"), _best(evidence, "lon")
    if lat is None or lon is None:
        return None
    return _columns(evidence, lat, lon)
