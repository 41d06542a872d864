"""Reading network.toml: every error at once, in the user's words, and what was assumed."""

from __future__ import annotations

import codecs
import re
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from siteplan.errors import NetworkError
from siteplan.inputs.faults import told_plainly
from siteplan.inputs.network import stand_ins
from siteplan.network import (
    Network,
)
from siteplan.network.reference import (
    KeyRow,
    inner_keys,
    is_inner,
    is_list_table,
    key_rows,
    table_keys,
    table_types,
    toml_text,
)

_MAX_ROUNDS = 50


def read_network(path: Path | str) -> Network:
    """Read and check a network file.

    Parameters
    ----------
    path : Path or str

    Returns
    -------
    Network

    Raises
    ------
    NetworkError
        Missing or unreadable file, or wrong keys: all of them, one a line.
    """
    file = Path(path)
    return network_from_mapping(network_data(file), where=file.name)


def network_data(path: Path) -> dict[str, Any]:
    """Return the tables of a network file as they are written, unchecked.

    Raises
    ------
    NetworkError
        Missing or unreadable file.
    """
    text = _decode(path)
    with told_plainly("toml", path):
        try:
            return tomllib.loads(text)
        except tomllib.TOMLDecodeError as error:
            raise _syntax_error(str(error), text, path.name) from None


def network_from_mapping(
    mapping: Mapping[str, Any],
    where: str = "network",
    *,
    found: Sequence[str] = (),
    told: Callable[[str], tuple[str, str]] | None = None,
) -> Network:
    """Check the tables of a network.

    Parameters
    ----------
    mapping : mapping
        Tables as network.toml has them.
    where : str
        What messages call it.
    found : sequence of str
        What is wrong with it already; told with the rest.
    told : callable, optional
        Given a problem, returns where it is and its sentence; else all are told of ``where``.

    Returns
    -------
    Network

    Raises
    ------
    NetworkError
        All wrong keys, one a line, each with value, allowed range and fix.
    """
    problems = list(found)
    if not isinstance(mapping, Mapping):
        raise NetworkError(
            f"{type(mapping).__name__} is no mapping of tables.",
            where=where,
            fix="For example {'satellite': {'longitude_deg': 13.0}}.",
        )
    touched: set[str] = set()
    data = _checked_shapes(mapping, problems, touched)
    for _ in range(_MAX_ROUNDS):
        try:
            network = Network.model_validate(data)
        except ValidationError as error:
            if not _collect(error, data, problems, touched):
                break
        else:
            if not problems:
                return network
            break
    lines = [told(p) if told else (where, p) for p in dict.fromkeys(problems)]
    raise _network_error(lines)


def _network_error(lines: Sequence[tuple[str, str]]) -> NetworkError:
    """Return all problems as one error, one a line, each line with its place."""
    (where, first), *others = lines
    return NetworkError("".join([first, *(f"\n{w}: {p}" for w, p in others)]), where=where)


def _decode(file: Path) -> str:
    with told_plainly("network", file):
        data = file.read_bytes()
    fix = "Save it as UTF-8."
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        raise NetworkError("the file is UTF-16; TOML is UTF-8.", where=file.name, fix=fix)
    try:
        # Line ends alone as carriage returns would all count as one line.
        return data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise NetworkError(
            f"line {line} is not UTF-8; TOML is UTF-8.", where=file.name, fix=fix
        ) from None


def _syntax_error(message: str, text: str, where: str) -> NetworkError:
    match = re.search(r"\(at line (\d+), column (\d+)\)", message)
    lines = text.split("\n")
    number = int(match[1]) if match else len(lines)
    line = lines[number - 1].strip() if number <= len(lines) else ""
    reason = re.sub(r"\s*\(at .*\)", "", message)
    reason = reason[:1].lower() + reason[1:]
    return NetworkError(
        f"line {number} is not valid TOML ({reason}): {line[:100]}",
        where=where,
        fix=_syntax_fix(line, reason),
    )


def _syntax_fix(line: str, reason: str) -> str:
    value = line.partition("=")[2].strip()
    if re.fullmatch(r"[+-]?\d+,\d+\s*(#.*)?", value):
        return "Write decimals with a point."
    if "overwrite" in reason or "twice" in reason or "declare" in reason:
        return "The key or table is given twice: keep one."
    if re.match(r"[+-]?[\d.]+\s*[A-Za-z°%]", value):
        return "Write the number without its unit; the key's name carries the unit."
    if re.match(r"[A-Za-z]", value):
        return "Put text between quotes."
    if "=" not in line and not line.startswith("["):
        return "A line is key = value, or [table]."
    return "Compare the line with the examples of the README."


def _checked_shapes(
    mapping: Mapping[str, Any], problems: list[str], touched: set[str]
) -> dict[str, Any]:
    """Return a copy with tables of the right shape and without values of the wrong kind."""
    data: dict[str, Any] = {}
    for table, value in mapping.items():
        if table not in table_types():
            problems.append(_unknown_table(str(table), value))
            continue
        listed, shape = is_list_table(table), _shape(value)
        if shape != ("list" if listed else "table"):
            problems.append(_wrong_shape(table, shape, listed))
            if table == "satellite":
                data[table] = {"longitude_deg": stand_ins.ANY_POSITION}
                touched.add("satellite.longitude_deg")
            continue
        data[table] = [_keys(item) for item in value] if listed else _keys(value)
        for place, keys in _places(data, table):
            problems += _refuse_inner(table, place, keys)
            dropped = _drop_wrong_kinds(table, place, keys, problems)
            touched |= {f"{table}.{key}" for key in dropped}
            _check_inner_tables(table, place, keys, problems)
    return data


def _keys(value: Any) -> dict[str, Any]:
    """Return the keys given in a table, or in a checked one."""
    if isinstance(value, BaseModel):
        return {key: getattr(value, key) for key in value.model_fields_set}
    return dict(value)


def _refuse_inner(table: str, place: str, keys: dict[str, Any]) -> list[str]:
    """Take out what no file can give, unless it comes checked; return what is wrong."""
    wrong = [k for k in keys if is_inner(table, k) and not _is_checked(keys[k])]
    for key in wrong:
        del keys[key]
    return [f"{place} {key} is an unknown key. {_nearest_key(table, key)}" for key in wrong]


def _is_checked(value: Any) -> bool:
    """Whether a value is nothing, a checked table, or several of them."""
    several = isinstance(value, tuple) and all(isinstance(v, BaseModel) for v in value)
    return several or isinstance(value, BaseModel | None)


def _shape(value: Any) -> str:
    if isinstance(value, Mapping | BaseModel):
        return "table"
    if isinstance(value, list | tuple) and all(_shape(v) == "table" for v in value):
        return "list"
    return "value"


def _places(data: Mapping[str, Any], table: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yield the name for messages and the keys of a table, or of each table of a list."""
    if not is_list_table(table):
        yield f"[{table}]", data[table]
        return
    for number, keys in enumerate(data[table], 1):
        yield f"[[{table}]] no. {number}", keys


def _wrong_shape(table: str, shape: str, listed: bool) -> str:
    if listed:
        return f"[{table}] must be a list. Write [[{table}]], with double brackets, for each one."
    if shape == "list":
        return f"[[{table}]] is one table, not a list. Write [{table}], with single brackets."
    return f"{table} must be a table. Write [{table}] on a line, and its keys below."


def _unknown_table(table: str, value: Any) -> str:
    places = [name for name in table_types() if table in table_keys(name)]
    if places and not isinstance(value, Mapping | list):
        return f"{table} stands outside its table. Put it below {_bracketed(places[0])}."
    near = _near(table.lower(), list(table_types()), 0.5)
    hint = f"Did you mean {_bracketed(near[0])}?" if near else _tables_hint()
    return f"unknown table [{table}]. {hint}"


def _bracketed(table: str) -> str:
    return f"[[{table}]]" if is_list_table(table) else f"[{table}]"


def _tables_hint() -> str:
    return f"The tables are {', '.join(map(_bracketed, table_types()))}."


def _drop_wrong_kinds(
    table: str, place: str, keys: dict[str, Any], problems: list[str]
) -> set[str]:
    """Take out values of the wrong kind: the types alone would bend '4.5' and true to numbers."""
    dropped = set()
    for row in key_rows(table):
        if row.key not in keys or (problem := _kind_problem(row, keys[row.key])) is None:
            continue
        problems.append(f"{place} {row.key} = {toml_text(keys[row.key])} {problem}")
        keys[row.key] = stand_ins.value_for(row)
        if keys[row.key] is None:
            del keys[row.key]
        dropped.add(row.key)
    return dropped


def _check_inner_tables(table: str, place: str, keys: dict[str, Any], problems: list[str]) -> None:
    """Take values of the wrong kind out of the tables inside a table, such as a beam's hub."""
    for row in key_rows(table):
        if row.kind == "keys" and isinstance(keys.get(row.key), Mapping):
            keys[row.key] = dict(keys[row.key])
            _drop_wrong_kinds(row.key, f"{place} {row.key}:", keys[row.key], problems)


def _kind_problem(row: KeyRow, value: Any) -> str | None:
    if row.kind in _LISTS:
        return _list_problem(row, value)
    if row.kind == "number" and not _is_number(value):
        return _number_problem(row, value)
    if row.kind == "text" and not isinstance(value, str):
        return f'must be text between quotes, such as "{row.example}".'
    if row.kind == "keys" and not isinstance(value, Mapping | BaseModel):
        return f"must be keys of [{row.key}] between braces, such as {{ key = value }}."
    if row.kind == "switch" and not isinstance(value, bool):
        return "must be true or false, without quotes."
    return None


def _list_problem(row: KeyRow, value: Any) -> str | None:
    """Return what is wrong with a list as a whole, or with what one of its entries is."""
    is_one, told = _LISTS[row.kind]
    good = isinstance(value, list | tuple) and all(map(is_one, value))
    return None if good else _LIST_OF.get(row.key, told)


def _is_text(value: Any) -> bool:
    return isinstance(value, str)


def _is_segment(value: Any) -> bool:
    return isinstance(value, list | tuple) and len(value) == 4 and all(map(_is_number, value))


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


#: What each kind of list is made of, and the sentence on one that is not.
_LISTS: dict[str, tuple[Callable[[Any], bool], str]] = {
    "numbers": (_is_number, "must be a list of numbers, such as [0, 1, 3, 6]."),
    "texts": (_is_text, 'must be a list of texts, such as ["contact", "access"].'),
    "segments": (
        _is_segment,
        "must be lists of four numbers, such as [[1.5, 7, 15, 25], [7, 9.2, -6, 0]].",
    ),
}
#: The sentence of a key whose example is its own.
_LIST_OF = {"masks": 'must be a list of texts, such as ["47cfr25_ku"].'}


def _number_problem(row: KeyRow, value: Any) -> str:
    rule = f"({row.range}{' ' + row.unit if row.unit else ''})"
    if isinstance(value, bool):
        return f"is not a number {rule}. Give a number, or take the line out."
    if isinstance(value, str) and re.fullmatch(r"\s*[+-]?\d+([.,]\d+)?\s*", value):
        return f"is text {rule}. Write the number without quotes, with a point."
    if isinstance(value, str) and (match := re.fullmatch(r"([\d.]+)\s*°?\s*([EWNS])", value)):
        sign = "-" if match[2] in "WS" else ""
        return f"is text {rule}. Write {sign}{match[1]}: east and north positive, no quotes."
    return f"is not a number {rule}. Write a plain number without quotes and unit."


def _collect(
    error: ValidationError, data: dict[str, Any], problems: list[str], touched: set[str]
) -> bool:
    """Tell each fault and take its value out; return whether another look may find more."""
    changed = False
    for fault in error.errors(include_url=False):
        loc = fault["loc"]
        table = str(loc[0]) if loc else ""
        if fault["type"] == "value_error":
            sentence = _cross_problem(table, loc, fault)
            if not _is_doubtful(table, sentence, touched):
                problems.append(sentence)
            changed |= data.pop(table, None) is not None and table != "satellite"
            if table == "masks":
                touched.add("masks.name")  # what names them would now seem to name nothing
        elif len(loc) > 1 or fault["type"] == "missing":
            problems.append(_key_problem(fault))
            changed |= _take_out(data, loc)
            if fault["type"] != "extra_forbidden":
                touched.add(f"{table}.{loc[-1]}")
        elif fault["type"] != "too_short" or not fault["input"]:
            problems.append(_table_problem(table, fault))
            changed |= data.pop(table, None) is not None
    return changed


def _is_doubtful(table: str, sentence: str, touched: set[str]) -> bool:
    """Whether a check across keys may only speak of a value that was taken out before."""
    hidden = {"symbol_rate_msps", "roll_off"} if "occupies" in sentence else set()
    keys = [name.partition(".")[2] for name in touched if name.startswith(table)]
    return any(re.search(rf"\b{key}\b", sentence) or key in hidden for key in keys)


def _take_out(data: dict[str, Any], loc: tuple[int | str, ...]) -> bool:
    """Take the value at ``loc`` out, or put something good in its place; return success."""
    if loc[0] == "satellite":
        data.setdefault("satellite", {})
        if loc[1:] in ((), ("longitude_deg",)):
            data["satellite"]["longitude_deg"] = stand_ins.ANY_POSITION
            return True
    place: Any = data.get(str(loc[0]))
    keys = loc[1:]
    if isinstance(place, list) and keys:
        index, keys = int(keys[0]), keys[1:]
        # A faulty entry of a list leaves as a whole; its place must not move.
        place[index] = stand_ins.entry_for(str(loc[0]), index, data)
        return True
    return isinstance(place, dict) and bool(keys) and place.pop(str(keys[0]), None) is not None


def _place_of(loc: tuple[int | str, ...]) -> str:
    table = str(loc[0])
    if is_list_table(table) and len(loc) > 1 and isinstance(loc[1], int):
        return f"[[{table}]] no. {loc[1] + 1}"
    return f"[{table}]"


def _cross_problem(table: str, loc: tuple[int | str, ...], fault: Any) -> str:
    sentence = str(fault["ctx"]["error"]).rstrip(".")
    return f"{_place_of(loc)} {sentence}." if table else f"{sentence}."


def _table_problem(table: str, fault: Any) -> str:
    if fault["type"] == "too_short":
        return f"[[{table}]] is empty. Give one or more, or leave the table out."
    if fault["type"] == "too_long":
        return f"[[{table}]] has more than {fault['ctx']['max_length']} entries. Keep fewer."
    return f"[{table}] cannot be used."


def _key_problem(fault: Any) -> str:
    """Return the sentence for one wrong key."""
    loc = fault["loc"]
    table, key = str(loc[0]), str(loc[2] if is_list_table(str(loc[0])) else (*loc, "")[1])
    place = _place_of(loc)
    if key in table_types() and len(loc) > 3:  # a key of a table inside a table
        inner, table, key, place = (table, key), key, str(loc[3]), f"{place} {key}:"
        if fault["type"] == "extra_forbidden":
            return f"{place} {key} is an unknown key. {_nearest_own(*inner, key)}"
    if fault["type"] == "extra_forbidden":
        return f"{place} {key} is an unknown key. {_nearest_key(table, key)}"
    if fault["type"] == "missing":
        key = key or "longitude_deg"
        row = _row(table, key)
        rule = f"{row.range} {row.unit}".strip()
        return f"{place} {key} is missing. Give it: {row.meaning} ({rule})."
    row = _row(table, key)
    shown = f"{place} {key} = {toml_text(fault['input'])}"
    if row.kind == "date":
        return f"{shown} is no date. Write year-month-day without quotes: 2026-03-31."
    if row.kind == "text":
        return f"{shown} is not allowed. Allowed: {row.range}.{_nearest_word(row, fault['input'])}"
    unit = f" {row.unit}" if row.unit else ""
    return f"{shown} is out of range. Allowed: {row.range}{unit}. {_range_fix(row, fault['input'])}"


def _range_fix(row: KeyRow, value: Any) -> str:
    if row.key == "availability_pct" and 0.5 <= value < 1:
        return f"Did you mean {100 * value:.10g}?"
    if row.required or not row.default:
        return f"It is: {row.meaning}."
    return f"The default is {row.default}."


def _near(word: str, known: list[str], least: float) -> list[str]:
    """Return the known word that is the most alike, where one is at least so much (0 to 1)."""
    import difflib

    return difflib.get_close_matches(word, known, 1, least)


def _nearest_word(row: KeyRow, value: Any) -> str:
    words = re.findall(r'"([^"]+)"', row.range)
    near = _near(str(value).lower(), [w.lower() for w in words], 0.4)
    match = [word for word in words if near and word.lower() == near[0]]
    return f' Did you mean "{match[0]}"?' if match else ""


def _nearest_key(table: str, key: str) -> str:
    plain = key.lower().replace("-", "_")
    own = list(table_keys(table))
    near = _near(plain, own, 0.7)
    elsewhere = [name for name in table_types() if plain in table_keys(name)]
    inner = [name for name in elsewhere if name in own]
    if near:
        return f"Did you mean {near[0]}?"
    if inner:
        alone = " or ".join(f"{name}.{key}" for name in inner)
        shared = " or ".join(map(_bracketed, inner))
        return f"Write {alone} for this one alone, or {key} below {shared} for all of them."
    if elsewhere:
        return f"It belongs into {_bracketed(elsewhere[0])}."
    near = _near(plain, own, 0.4)
    near += [name for name in own if name.startswith(plain) or plain.startswith(name)]
    return f"Did you mean {near[0]}?" if near else f"Known keys: {', '.join(own)}."


def _nearest_own(outer: str, table: str, key: str) -> str:
    """Return what to do about an unknown key of a table inside another, such as a beam's hub."""
    own = list(inner_keys(outer, table))
    if key in table_keys(table):
        return f"Write it below {_bracketed(table)}: it is the same for all of [[{outer}]]."
    near = _near(key.lower().replace("-", "_"), own, 0.7)
    if near:
        return f"Did you mean {near[0]}?"
    return f"What an entry of [[{outer}]] may have of {_bracketed(table)}: {', '.join(own)}."


def _row(table: str, key: str) -> KeyRow:
    return next(row for row in key_rows(table) if row.key == key)
