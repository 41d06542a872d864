"""One angle as people spell it: decimal degrees, degrees and minutes, hemisphere letters.

A spelling is read only where it has one reading; everything else raises
:class:`UnreadableAngle` with the likely meaning, so that a person decides.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache, partial

from siteplan.frozen import frozen
from siteplan.inputs.headings.words import folded, letter_o_of, words_meaning
from siteplan.model import Note

#: Marks of degrees, minutes and seconds, signs and invisible characters found in the wild.
_MARKS = str.maketrans(
    dict.fromkeys("°º˚∘⁰ᵒ", "°")
    | dict.fromkeys("'’‘‛′´`ʹʼ＇", "'")
    | dict.fromkeys('"”“‟″ʺ〃＂', '"')
    | dict.fromkeys("−–—‐‑‒﹣－", "-")
    | {"٫": "."}
    | dict.fromkeys("\u200b\u200c\u200d\u200e\u200f\ufeff\u00ad\u2060\u202a\u202b\u202c\u202d", "")
)
# UTF-8 marks that were once read as Windows-1252.
_GARBLED = (("Â°", "°"), ("Âº", "°"), ("â€²", "'"), ("â€™", "'"), ("â€³", '"'), ("â€", '"'))

#: Two letters in a row, or one of a script that writes whole words in one.
_LONG_WORD = re.compile(r"[^\W\d_]{2}|[^\W\d_]\W+[^\W\d_]|[\u3000-\u9fff]")
_MINUTE_LETTER = re.compile(r"(°\s*\d+(?:[.,]\d+)?)\s*(m)(?![a-z])", re.I)
_SECOND_LETTER = re.compile(r"(['m]\s*\d+(?:[.,]\d+)?)\s*(s)(?=\s*([nsewo])?$)", re.I)

_SIDES = {"north": "N", "south": "S", "east": "E", "west": "W"}
#: Letters of hemispheres in other languages: leste; kuzey, guney, dogu, bati behind marks; Russian
#: and Arabic ones.
_OTHER_LETTERS = {"L": "E", "С": "N", "Ю": "S", "В": "E", "З": "W"} | {
    **{"ش": "N", "ج": "S", "ق": "E", "غ": "W"}
}
_MARKED_LETTERS = {"K": "N", "G": "S", "D": "E", "B": "W"}
_FOREIGN = re.compile(f"(?<!\\w)([{''.join(_OTHER_LETTERS)}])(?!\\w)|(?<=[\\d°'\" ])([L])$")
_FOREIGN_MARKED = re.compile(r"(?<=[°'\"\d])\s*([KGDB])$", re.I)
_LETTER = re.compile(r"(?<![A-Z])[NSEWO](?![A-Z])")
_DECIMAL = re.compile(r"(\d+(?:[.,]\d*)?|[.,]\d+)\s*°?")
_EXPONENT = re.compile(r"[+-]?\d+(?:[.,]\d*)?[eE][+-]\d{1,2}")
_POWER_OR_EAST = re.compile(r"[+-]?\d+(?:[.,]\d*)?E\d{1,2}")
_MINUTES = re.compile(r"(\d{1,3})\s*(°|:|-|\s)\s*(\d{1,3}(?:[.,]\d*)?)\s*(['\"]?)")
_SECONDS = re.compile(
    r"(\d{1,3})\s*(?:°|:|-|\s)\s*(\d{1,3})\s*(?:'|:|-|\s)\s*(\d{1,3}(?:[.,]\d*)?)\s*['\"]?"
)
_DOTTED = re.compile(r"(\d{1,3})([.,])(\d{1,2})\2(\d{1,2})(?:[.,](\d+))?\s*['\"]?")
_TWO_NUMBERS = re.compile(
    r"[+-]?\d+\.\d+\s*°?\s*[NS]?\s*[,;/\s]\s*[+-]?\d+\.\d+.*"
    r"|[+-]?\d+,\d+\s*[,;/\s]\s*[+-]?\d+,\d+"
    r"|.*\d.*[NS]\W+.*\d.*[EWO]\W*|.*[NS].*\d\W*[EWO].*\d.*"
)
_MONTH = "(?:jan|feb|mar|apr|may|mai|jun|jul|aug|sep|oct|okt|nov|dec|dez)[a-z]*"
_DATE = re.compile(
    rf"\d{{4}}-\d{{2}}-\d{{2}}([T ].*)?|\d{{1,2}}[-./ ]{{1,2}}{_MONTH}\.?([-./ ]\d{{2,4}})?", re.I
)

#: No spelling of an angle is longer; what is would take the patterns very long.
_LONGEST = 200
_EXAMPLES = "Write decimal degrees, for example -12.3456, or 12°34'56\"S."


class UnreadableAngle(ValueError):  # noqa: N818 - it reads as what it says
    """A text that is no angle, or that has more than one reading."""

    def __init__(self, reason: str, fix: str = _EXAMPLES) -> None:
        super().__init__(reason)
        self.reason = reason
        self.fix = fix


@frozen
class Angle:
    """One angle read from a text.

    ``degrees`` is signed by N, S, E, W or the sign; with the letter ``O`` it is as for east.
    ``decimals`` counts the decimals of decimal degrees and is -1 for degrees and minutes;
    ``comma`` tells whether a comma was the decimal mark; ``note`` says what was mended, once it
    is given the column and the text.
    """

    degrees: float
    letter: str = ""
    decimals: int = -1
    comma: bool = False
    note: partial[Note] | None = None
    tongue: str = ""


def parse_angle(text: str) -> Angle:
    """Read one angle.

    Parameters
    ----------
    text : str
        For example ``-12.3456``, ``12,3456``, ``S12.3456``, ``36W``, ``12°34'56.7"S``,
        ``12 34 56 S``, ``12-34-56S``, ``12:34:56``, ``12d34m56s``, ``12 34.567 S``.

    Returns
    -------
    Angle
        Not limited to any range.

    Raises
    ------
    UnreadableAngle
        Where the text has no reading, or more than one.
    """
    found = _angle_or_why(text) if len(text) <= _LONGEST else _read_or_why(text)
    if isinstance(found, Angle):
        return found
    raise UnreadableAngle(*found)


def _read_or_why(text: str) -> Angle | tuple[str, str]:
    """Return an angle, or the reason why it is none and what to do."""
    try:
        return _read(text)
    except UnreadableAngle as error:
        return error.reason, error.fix


#: A file says the same again, and is read more than once.
_angle_or_why = lru_cache(maxsize=1 << 15)(_read_or_why)


def _read(text: str) -> Angle:
    if len(text) > _LONGEST:
        raise UnreadableAngle("is too long for an angle")
    body = _tidy(text)
    if _DATE.fullmatch(body):
        raise UnreadableAngle(
            "is a date: a spreadsheet has turned the angle into one",
            "Format the column as text, then type the angle again.",
        )
    if _EXPONENT.fullmatch(body):
        value = float(body.replace(",", "."))
        return Angle(value, decimals=_decimals_of(value))
    body, tongue = _plain_words(_turkish_letter(body))
    body = _unit_marks(body).upper()
    if _TWO_NUMBERS.fullmatch(body):
        raise UnreadableAngle(
            "holds two numbers: latitude and longitude in one cell?",
            "Put them into two columns, lat and lon.",
        )
    if _POWER_OR_EAST.fullmatch(body):
        raise UnreadableAngle("has two readings: a power of ten, or E for east")
    body, letter = _take_letter(body)
    sign, body = _take_sign(body)
    angle = _magnitude(body, bool(letter))
    found = _signed(angle, sign, letter)
    return replace(found, tongue=tongue) if tongue else found


def _tidy(text: str) -> str:
    for bad, good in _GARBLED:
        text = text.replace(bad, good)
    text = unicodedata.normalize("NFKC", text.translate(_MARKS)).translate(_MARKS)
    text = "".join(_ascii_digit(c) for c in text)
    return " ".join(text.replace("''", '"').split())


def _ascii_digit(c: str) -> str:
    """Return the digit of any script as 0 to 9, and other characters as they are."""
    digit = unicodedata.decimal(c, None)
    return c if digit is None else str(digit)


def _turkish_letter(body: str) -> str:
    """Return a text with a Turkish letter at its end replaced; a D is no degrees behind marks."""
    if "°" not in body and "'" not in body:
        return body
    return _FOREIGN_MARKED.sub(lambda m: f" {_MARKED_LETTERS[m[1].upper()]}", body)


@lru_cache(maxsize=1)
def _side_words() -> tuple[re.Pattern[str], dict[str, str]]:
    """Return what finds words for hemispheres, and the letter of each."""
    letters = {
        words: letter
        for side, letter in _SIDES.items()
        for words in words_meaning(side)
        if len(words) > 1 or words > "\u3000"
    }
    return re.compile(_any_of(letters), re.I), letters


def _any_of(words: Iterable[str]) -> str:
    """Return a pattern for any of some words, whole; a script without spaces needs no edges."""
    ordered = sorted(words, key=len, reverse=True)
    cjk = "|".join(w for w in ordered if w > "\u3000")
    spaced = "|".join(re.escape(w).replace(r"\ ", r"[\W_]*") for w in ordered if w < "\u3000")
    return rf"(?<![^\W\d])({spaced})(?!\w)\.?|({cjk})"


@lru_cache(maxsize=1)
def _mark_words() -> tuple[tuple[re.Pattern[str], str], ...]:
    """Return what finds words for degrees, minutes and seconds, and the mark of each."""
    out = []
    for meaning, mark in (("deg", "°"), ("min", "'"), ("sec", '"')):
        words = sorted(words_meaning(meaning), key=len, reverse=True)
        kept = [w for w in words if len(w) > 2 or w > "\u3000" or (w, mark) == ("d", "°")]
        cjk = "|".join(w for w in kept if w > "\u3000")
        spaced = "|".join(re.escape(w) for w in kept if w < "\u3000")
        pattern = rf"(?<=\d)\s*(?:(?:{spaced})(?![^\W\d_])\.?|(?:{cjk}))"
        out.append((re.compile(pattern, re.I), mark))
    return tuple(out)


def _plain_words(body: str) -> tuple[str, str]:
    """Return a text with words for hemispheres as letters, and what O means in their language."""
    if not _LONG_WORD.search(body):
        return body, ""
    if not body.isascii():
        body = "".join(folded(c) if c.isalpha() else c for c in body)
    pattern, letters = _side_words()
    tongues: set[str] = set()

    def letter(match: re.Match[str]) -> str:
        words = " ".join(re.split(r"[\W_]+", (match[1] or match[2]).lower()))
        found = words if words in letters else words.replace(" ", "")
        if found not in letters:  # letters that only look alike
            return match[0]
        tongues.add(letter_o_of(found))
        return f" {letters[found]} "

    body = pattern.sub(letter, body)
    tongues -= {""}
    return " ".join(body.split()), tongues.pop() if len(tongues) == 1 else ""


def _unit_marks(body: str) -> str:
    """Replace words and letters for degrees, minutes and seconds by their marks."""
    if _LONG_WORD.search(body) or "d" in body.lower():
        for pattern, mark in _mark_words():
            body = pattern.sub(mark, body)
    minute = _MINUTE_LETTER.search(body)
    body = _MINUTE_LETTER.sub(r"\1'", body)
    second = _SECOND_LETTER.search(body)
    if second is None or _is_south(minute[2] if minute else "'", second[2], second[3]):
        return body
    return _SECOND_LETTER.sub(r'\1"', body)


def _is_south(minute: str, last: str, following: str | None) -> bool:
    """Whether a final s means south and not seconds; refuses what could be either."""
    if following:
        return False
    if last == "S" and minute in ("m", "'"):
        return True
    if last == "s" and minute == "m":
        return False
    raise UnreadableAngle(
        "ends in a letter that may mean seconds or south",
        "Write a second mark before the hemisphere, for example 12°34'56\"S.",
    )


def _take_letter(body: str) -> tuple[str, str]:
    body = _FOREIGN.sub(lambda m: _OTHER_LETTERS[m[1] or m[2]], body)
    letters = _LETTER.findall(body)
    if not letters:
        return body, ""
    if len(letters) > 1:
        raise UnreadableAngle("carries more than one hemisphere letter")
    start = body.index(letters[0])
    head, tail = body[:start].strip(), body[start + 1 :].strip(" :.")
    if head.strip("+-") and tail:
        # 12S34.5 is how charts put it: the letter stands for the degree mark.
        return f"{head}°{tail}", letters[0]
    return head + tail, letters[0]


def _take_sign(body: str) -> tuple[str, str]:
    body = body.strip()
    if body[:1] in ("+", "-"):
        return body[0], body[1:].strip()
    if re.fullmatch(r"[\d.,]+-", body):
        raise UnreadableAngle(f"has its sign at the end: -{body[:-1]}?", "Put the sign first.")
    return "", body


def _magnitude(body: str, has_letter: bool) -> Angle:
    """Return the angle without sign and letter."""
    if match := _DECIMAL.fullmatch(body):
        return _decimal(match[1])
    if match := _SECONDS.fullmatch(body):
        return _sexagesimal(match[1], match[2], match[3])
    if match := _MINUTES.fullmatch(body):
        bare = match[2] in " -" and not match[4] and match[3].isdigit()
        if match[4] == '"' or (bare and not has_letter):
            meaning = f"{match[1]}°{match[3]}' or {match[1]}.{match[3]}°"
            raise UnreadableAngle(f"has two readings: {meaning}")
        return _sexagesimal(match[1], match[3])
    if match := _DOTTED.fullmatch(body):
        return _dotted(match)
    if re.fullmatch(r"\d{1,3}([.,])\d{3}(\1\d{3})+", body):
        digits = re.sub(r"[.,]", "", body)
        whole = len(body) - len(body.lstrip("0123456789"))
        meaning = f"{digits[:whole]}.{digits[whole:]}"
        raise UnreadableAngle(f"has thousands marks and no decimal mark: {meaning}?")
    raise UnreadableAngle("cannot be read as an angle")


def _dotted(match: re.Match[str]) -> Angle:
    """Read 12.34.56 or 12,34,56.7 as degrees, minutes and seconds, with a note."""
    seconds = match[4] + (f".{match[5]}" if match[5] else "")
    angle = _sexagesimal(match[1], match[3], seconds)
    reading = f"{match[1]}°{match[3]}'{seconds}\""
    note = partial(Note.of, "note.coordinate_mended.dotted", reading=reading)
    return Angle(angle.degrees, note=note)


def _decimal(number: str) -> Angle:
    number, comma = number.replace(",", "."), "," in number
    decimals = len(number.partition(".")[2])
    return Angle(float(number), decimals=decimals, comma=comma)


def _sexagesimal(degrees: str, minutes: str, seconds: str = "0") -> Angle:
    comma = "," in minutes + seconds
    m, s = float(minutes.replace(",", ".")), float(seconds.replace(",", "."))
    if m >= 60:
        rest = minutes.replace(",", "").replace(".", "")
        raise UnreadableAngle(
            f"has {minutes} minutes, and minutes end at 59: decimal degrees {degrees}.{rest}?"
        )
    if s >= 60:
        rest = seconds.replace(",", "").replace(".", "")
        raise UnreadableAngle(
            f"has {seconds} seconds, and seconds end at 59: {degrees} degrees {minutes}.{rest}"
            " minutes?"
        )
    # Summed in seconds first: one rounding where the parts are whole numbers.
    return Angle((float(degrees) * 3600 + m * 60 + s) / 3600, comma=comma)


def _signed(angle: Angle, sign: str, letter: str) -> Angle:
    note = angle.note
    negative = sign == "-" or letter in ("S", "W")
    if sign and letter:
        agrees = (sign == "-") == (letter in ("S", "W"))
        if not agrees or letter == "O":
            raise UnreadableAngle(f"has the sign {sign} and the letter {letter}: which is right?")
        if note is None and sign == "-":
            note = partial(Note.of, "note.coordinate_mended.sign_and_letter", letter=letter)
    degrees = -angle.degrees if negative else angle.degrees
    return Angle(degrees, letter, angle.decimals, angle.comma, note)


def _decimals_of(value: float) -> int:
    return len(f"{value:.9f}".rstrip("0").partition(".")[2])
