"""One angle, many spellings. Expected values are sums of degrees, minutes/60 and seconds/3600."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.inputs.sites.spelling import UnreadableAngle, parse_angle

DMS = 12 + 34 / 60 + 56.7 / 3600
DMS_WHOLE = 12 + 34 / 60 + 56 / 3600

READ = {
    # decimal degrees
    "-12.3456": -12.3456,
    "+12.3456": 12.3456,
    "12,3456": 12.3456,
    "−12.3456": -12.3456,
    "–12.3456": -12.3456,
    "12.3456°": 12.3456,
    "-12.3456 deg": -12.3456,
    "S12.3456": -12.3456,
    "S 12.3456": -12.3456,
    "12.3456S": -12.3456,
    "12.3456° s": -12.3456,
    "36W": -36.0,
    "36 West": -36.0,
    "36.5Ouest": -36.5,
    "48,5 Nord": 48.5,
    "16,25 Ost": 16.25,
    "12.5 Süd": -12.5,
    "１２.５": 12.5,
    "٣٦٫٨": 36.8,
    "\u200e36.8219\u200e": 36.8219,
    "36.8219\xa0E": 36.8219,
    "3.68E+01": 36.8,
    # degrees, minutes and seconds
    "12°34'56.7\"S": -DMS,
    "12° 34′ 56.7″ S": -DMS,
    "12º34’56.7”S": -DMS,
    "12°34'56.7''S": -DMS,
    "S 12°34'56,7\"": -DMS,
    "12Â°34â€²56.7â€³S": -DMS,
    "12 34 56.7 S": -DMS,
    "12-34-56.7S": -DMS,
    "12:34:56.7": DMS,
    "-12:34:56.7": -DMS,
    "12d34m56.7s": DMS,
    "12d34m56S": -DMS_WHOLE,
    "12d 34m 56s S": -DMS_WHOLE,
    "12 deg 34 min 56 sec S": -DMS_WHOLE,
    "12 degrees 34 minutes 56 seconds South": -DMS_WHOLE,
    "12°34'56S": -DMS_WHOLE,
    "-0°30'": -0.5,
    "0°30'S": -0.5,
    # degrees and decimal minutes
    "12 34.567 S": -(12 + 34.567 / 60),
    "12 34.567": 12 + 34.567 / 60,
    "12°34.567'": 12 + 34.567 / 60,
    "12°34'": 12 + 34 / 60,
    "12S34.5": -(12 + 34.5 / 60),
    "12 34 S": -(12 + 34 / 60),
}


@pytest.mark.parametrize(("text", "degrees"), READ.items())
def test_spellings_with_one_reading(text, degrees):
    angle = parse_angle(text)
    assert angle.degrees == pytest.approx(degrees, abs=1e-12)
    assert angle.note is None


REFUSED = {
    "12°75'": "minutes end at 59.*12.75",
    "12°34'75\"": "seconds end at 59.*34.75",
    "12 75 30 S": "minutes end at 59",
    "12 34": "two readings: 12°34' or 12.34°",
    "12-34": "two readings",
    "12D34M56S": "seconds or south",
    "12°34'56s": "seconds or south",
    "-12.3N": "sign - and the letter N",
    "+12.3S": "which is right",
    "12.3 N S": "more than one hemisphere letter",
    "12.5-": "sign at the end: -12.5",
    "36E1": "power of ten, or E for east",
    "50.123.456": "no decimal mark: 50.123456",
    "-1.2921, 36.8219": "two numbers",
    "1,29 36,82": "two numbers",
    "1°17'S 36°49'E": "two numbers",
    "N1 17 E36 49": "two numbers",
    "2026-05-12": "is a date",
    "12-May": "is a date",
    "12.5 h": "cannot be read",
    "=A1+3": "cannot be read",
    "<script>": "cannot be read",
    "12..5": "cannot be read",
    "12.34.": "cannot be read",
    "12,34,,5": "cannot be read",
    "12..34": "cannot be read",
    ".12.34": "cannot be read",
    "12.345.6": "cannot be read",
    "1234.5.6": "cannot be read",
    "1.2.3.4.5": "cannot be read",
    "--12": "cannot be read",
}


@pytest.mark.parametrize(("text", "reason"), REFUSED.items())
def test_spellings_without_one_reading_are_refused_with_the_likely_meaning(text, reason):
    with pytest.raises(UnreadableAngle, match=reason):
        parse_angle(text)


@pytest.mark.parametrize(
    ("text", "degrees", "note"),
    [
        ("12.34.56 S", -DMS_WHOLE, "read as degrees, minutes and seconds: 12°34'56\""),
        ("12,34,56.7", DMS, "12°34'56.7\""),
        ("1.2.3", 1 + 2 / 60 + 3 / 3600, "1°2'3\""),
        ("123.45.6", 123 + 45 / 60 + 6 / 3600, "123°45'6\""),
        ("-36.5W", -36.5, "say the same"),
    ],
)
def test_mended_spellings_carry_a_note(text, degrees, note):
    angle = parse_angle(text)
    assert angle.degrees == pytest.approx(degrees, abs=1e-12)
    assert angle.note is not None
    assert note in angle.note(column="lat", text=text).sentence


def test_decimal_comma_and_decimals_are_told():
    assert parse_angle("12,345").comma
    assert parse_angle("12,345").decimals == 3
    assert parse_angle("36W").decimals == 0
    assert parse_angle("12°34'").decimals == -1


angles = st.floats(0, 89.999, allow_nan=False)
signs = st.sampled_from([1, -1])


def _letter(sign: int) -> str:
    return "S" if sign < 0 else "N"


@given(angles, signs, st.sampled_from(["{:.9f}", "{:.9f}°"]), st.booleans())
def test_round_trip_decimal_degrees(value, sign, form, comma):
    text = ("-" if sign < 0 else "") + form.format(value)
    text = text.replace(".", ",") if comma else text
    assert parse_angle(text).degrees == pytest.approx(sign * value, abs=1e-9)


@given(angles, signs, st.sampled_from(["{}{:.9f}", "{} {:.9f}°"]))
def test_round_trip_letter_before(value, sign, form):
    text = form.format(_letter(sign), value)
    assert parse_angle(text).degrees == pytest.approx(sign * value, abs=1e-9)


DMS_FORMS = [
    "{d}°{m}'{s}\"{h}",
    "{d}° {m}′ {s}″ {h}",
    "{h} {d}°{m}'{s}\"",
    "{d} {m} {s} {h}",
    "{d}-{m}-{s}{h}",
    "{d}:{m}:{s}{h}",
    "{d}d{m}m{s}s {h}",
    "{h}{d}:{m}:{s}",
]


@given(st.integers(0, 89), st.integers(0, 59), st.integers(0, 599_999), signs, st.data())
def test_round_trip_dms(d, m, tenths, sign, data):
    form = data.draw(st.sampled_from(DMS_FORMS))
    seconds = tenths / 10_000
    text = form.format(d=d, m=m, s=f"{seconds:.4f}", h=_letter(sign))
    expected = sign * (d + m / 60 + seconds / 3600)
    assert parse_angle(text).degrees == pytest.approx(expected, abs=1e-9)


@given(st.integers(0, 179), st.integers(0, 5_999_999), signs, st.data())
def test_round_trip_decimal_minutes(d, hundred_thousandths, sign, data):
    form = data.draw(st.sampled_from(["{d} {m:.5f} {h}", "{d}°{m:.5f}'{h}", "{h} {d} {m:.5f}"]))
    minutes = hundred_thousandths / 100_000
    text = form.format(d=d, m=minutes, h="W" if sign < 0 else "E")
    assert parse_angle(text).degrees == pytest.approx(sign * (d + minutes / 60), abs=1e-9)


def reading(text):
    """Return the angle, or the reason and the fix of its refusal."""
    try:
        return parse_angle(text)
    except UnreadableAngle as error:
        return error


any_text = st.text(max_size=40) | st.text(alphabet="0123456789.,-+°'\" :NSEWOdms", max_size=20)


@given(any_text)
def test_any_text_is_read_or_refused(text):
    got = reading(text)
    if isinstance(got, UnreadableAngle):
        assert got.reason
        assert got.fix
    else:
        assert math.isfinite(got.degrees)
