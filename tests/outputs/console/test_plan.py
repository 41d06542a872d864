"""The page of ``siteplan plan``."""

from __future__ import annotations

from typing import Any

import pytest

from siteplan.outputs import console

SUMMARY: dict[str, Any] = {
    "name": "Invented",
    "sites": 3,
    "rows_read": 4,
    "rejected": 1,
    "availability_pct": 99.5,
    "cautions": ["The hub stands in the rain."],
    "remarks": ["Two rest on little."],
    "satellite_lon_deg": -30.5,
    "verdict": {"lines": ["Served: 2 of 3", "Antennas: 2 of 1.2 m, 1 without"]},
    "counts": {
        "margin_class": {"< 0 dB": 1, "0 to 1 dB": 2, "no margin": 0},
        "antenna_m": {"1.2": 2, "none": 1},
        "mount": {"pole": 3, "non_penetrating": 1},
        "provisional_mount": {"non_penetrating": 1},
        "limiting_end": {"site": 1, "hub": 2},
    },
    "worst": [
        {
            "site_id": "[red]A[/]",
            "name": ":bell:",
            "margin_db": -0.0,
            "margin_after_reserve_db": -1.0,
            "reason": "short",
        },
        {
            "site_id": "B",
            "name": "",
            "margin_db": None,
            "margin_after_reserve_db": None,
            "reason": "not in view",
        },
        {
            "site_id": "C",
            "name": "Hill",
            "margin_db": 2.0,
            "margin_after_reserve_db": 0.5,
            "reason": "holds",
        },
    ],
    "assumed": [
        {"key": "terminal.lnb_noise_k", "value": "75", "unit": "K", "meaning": "Noise"},
        {"key": "rules.reserve_db", "value": "1", "unit": "dB", "meaning": "Left over"},
    ],
    "limits": ["First.", "Second.", "Third."],
    "crew": "Sheets for the crew.",
}


def test_the_summary(capsys: pytest.CaptureFixture[str]) -> None:
    console.show_summary(SUMMARY, "out")
    lines = [line.rstrip() for line in capsys.readouterr().out.splitlines()]
    assert lines[0] == (
        "Invented: 3 of 4 sites planned, 1 rejected; target 99.5 %, satellite at 30.5 W"
    )
    assert lines[1:3] == SUMMARY["verdict"]["lines"]
    assert ["<", "0", "dB", "1"] in [line.split() for line in lines]
    assert ["0", "to", "1", "dB", "2"] in [line.split() for line in lines]
    assert "pole" not in " ".join(lines), "antennas and mounts stand in the verdict alone"
    assert "2 figures were assumed, in rules, terminal: see 'assumed' in summary.json or" in (
        " ".join(lines)
    )
    assert lines[-4] == "Mind: Two rest on little."
    assert lines[-3:] == ["Mind: First. Second.", "Sheets for the crew.", "Written to out"]


def test_the_worst_sites_with_texts_as_they_are(capsys: pytest.CaptureFixture[str]) -> None:
    console.show_summary(SUMMARY, "")
    told = capsys.readouterr().out
    rows = [line.split() for line in told.splitlines()]
    assert ["[red]A[/]", ":bell:", "-0.0", "dB", "-1.0", "dB", "short"] in rows
    assert ["B", "-", "-", "not", "in", "view"] in rows
    assert ["C", "Hill", "2.0", "dB", "0.5", "dB", "holds"] in rows
    assert "Written" not in told


def test_what_would_help_is_counted(capsys: pytest.CaptureFixture[str]) -> None:
    counts = SUMMARY["counts"] | {"best_remedy": {"antenna": 12, "blocked": 1}}
    console.show_summary(SUMMARY | {"counts": counts}, "out")
    told = " ".join(capsys.readouterr().out.split())
    assert "What it would take for 13 unserved or tight sites, the best of each: a larger" in told
    assert "a larger antenna 12; a clear way for the beam 1. See what_it_takes.csv." in told
    console.show_summary(SUMMARY, "out")
    assert "What it would take" not in capsys.readouterr().out


def _set(*kinds: tuple[float, float, int], exact: bool = True) -> dict[str, Any]:
    told = [{"antenna_m": d, "buc_w": w, "sites": n} for d, w, n in kinds]
    return {"kinds": told, "served": sum(k[2] for k in kinds), "of": 62, "exact": exact}


def test_the_fewest_kinds_take_a_line_each_and_none_twice(
    capsys: pytest.CaptureFixture[str],
) -> None:
    one, two = _set((2.4, 3.0, 51)), _set((1.8, 2.5, 48), (2.4, 3.0, 5), exact=False)
    console.show_summary({**SUMMARY, "fewest": [one, two, two]}, "")
    lines = [line for line in capsys.readouterr().out.splitlines() if "of kit serve" in line]
    assert lines == [
        "1 kind of kit serves 51 of 62 sites to equip: 2.4 m with 3 W at 51",
        "2 kinds of kit serve 53 of 62 sites to equip: 1.8 m with 2.5 W at 48, 2.4 m with 3 W at 5"
        " (found step by step: a better set may exist)",
    ]
    console.show_summary({**SUMMARY, "fewest": []}, "")
    assert "of kit serve" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("short_db", "told"),
    [(0.0, "of 40 W the carriers leave 3.0 dB of power control, 80 W would give all"),
     (1.26, "of 40 W the carriers leave 1.3 dB too little for clear sky, 80 W would give all")],
)  # fmt: skip
def test_the_hubs_line_stands_where_an_amplifier_is_given(
    capsys: pytest.CaptureFixture[str], short_db: float, told: str
) -> None:
    hub = {"hpa_w": None, "eirp_dbw": 61.04, "control_db": 3.0, "needed_hpa_w": 80.4}
    console.show_summary(SUMMARY | {"hubs": [hub]}, "out")
    assert "Hub:" not in capsys.readouterr().out
    console.show_summary(SUMMARY | {"hubs": [hub | {"hpa_w": 40.0, "short_db": short_db}]}, "out")
    text = " ".join(capsys.readouterr().out.split())
    assert f"Hub: 61.0 dBW a carrier; {told}" in text


def test_the_range_of_targets_stands_where_sites_have_their_own(
    capsys: pytest.CaptureFixture[str],
) -> None:
    console.show_summary(SUMMARY | {"targets_pct": [99.8, 99.95]}, "")
    assert "rejected; target 99.8 to 99.95 %, satellite at" in capsys.readouterr().out


HUB: dict[str, Any] = {"hpa_w": None, "eirp_dbw": 61.0, "control_db": 3.0, "needed_hpa_w": 80.0,
                       "hub_limited_sites": 0}  # fmt: skip


def test_several_hubs_are_named_where_their_rain_is_to_blame(
    capsys: pytest.CaptureFixture[str],
) -> None:
    hubs = [HUB | {"name": "Hub of A"}, HUB | {"name": "Hub of B", "hub_limited_sites": 2}]
    console.show_summary(SUMMARY | {"hubs": hubs}, "")
    told = " ".join(capsys.readouterr().out.split())
    assert "Rain at their hub (Hub of B), not their own, decides the margin of 2 sites." in told
    console.show_summary(SUMMARY | {"hubs": hubs[:1]}, "")
    told = " ".join(capsys.readouterr().out.split())
    assert "The hub's rain, not the site's, decides the margin of 2 sites." in told


def test_the_first_pool_that_is_too_small_is_named_among_several(
    capsys: pytest.CaptureFixture[str],
) -> None:
    def pool(name: str, *years: int) -> dict[str, Any]:
        over = [{"year": y, "text": f"Resize in year {y}: a second carrier."} for y in years]
        load = [{"outbound_load": 0.5}]
        return {"pool": name, "overflows": over, "years": load,
                "carriers": {"outbound": 1, "inbound": 1}}  # fmt: skip

    both = {"leased_mhz": 8.0, "traffic_assumed": False, "pools": [pool("A"), pool("B", 3)]}
    console.show_summary(SUMMARY | {"capacity": both}, "")
    assert "full; B: resize in year 3: a second carrier." in " ".join(
        capsys.readouterr().out.split()
    )
