"""The count line: every landing at its place and to scale, findings lettered, readable without colour."""

from __future__ import annotations

import dataclasses
import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest
from made import made_review
from made_report import changed, read

from motion.base.types import Flag, Pairing, Review, Steps
from motion.store.serialize import review_json
from motion.tell.count_line import FOOT, INK, PAPER, QUIET, chart_legend, count_chart


def svgs(chart: str) -> list[ET.Element]:
    return list(ET.fromstring(chart).iter("svg"))


def chart_of(review: Review, dancer: int = 0) -> str:
    blocks = review_json(review)
    return count_chart(blocks["dancers"][dancer], blocks["beats"], blocks.get("dance"))


def test_one_row_a_wall_and_long_walls_in_pieces() -> None:
    assert [s.findtext("title") for s in svgs(chart_of(made_review(1, 40)))] == [
        "Dancer 1, wall 1, counts 1 to 32", "Dancer 1, wall 2, counts 1 to 32",
    ]  # fmt: skip
    assert [s.findtext("title") for s in svgs(chart_of(made_review(1, 64, wall_counts=64)))] == [
        "Dancer 1, wall 1, counts 1 to 32", "Dancer 1, wall 1, counts 33 to 64",
    ]  # fmt: skip
    assert [s.findtext("title") for s in svgs(chart_of(made_review(1, 40, sheet=False)))] == [
        "Dancer 1, counts, counts 1 to 32", "Dancer 1, counts, counts 33 to 40",
    ]  # fmt: skip


def test_walls_that_only_others_danced_have_no_empty_row() -> None:
    blocks = review_json(made_review(1, 32))
    blocks["dance"]["wall_starts"] = [1, 33]
    drawn = svgs(count_chart(blocks["dancers"][0], blocks["beats"], blocks["dance"]))
    assert [s.findtext("title") for s in drawn] == ["Dancer 1, wall 1, counts 1 to 32"]


def beads(svg: ET.Element) -> dict[str, tuple[float, float]]:
    """Per landing (by its words) where its bead stands: x of the straight edge, y of the middle."""
    found = {}
    for group in svg.iter("g"):
        shape = [p for p in group.iter("path") if "A6.5" in p.get("d", "")]
        if shape:
            x, top = (float(v) for v in re.match(r"M([\d.]+) ([\d.]+)A", shape[0].get("d", "")).groups())  # type: ignore[union-attr]
            found[group.findtext("title") or ""] = (x, top + 6.5)
    return found


def test_late_hangs_below_early_stands_above_and_to_scale() -> None:
    review = made_review(1, 8)
    steps, pairing = review.dancers[0].steps, review.dancers[0].pairing
    assert isinstance(steps, Steps)
    assert isinstance(pairing, Pairing)
    offset_ms = np.array([0.0, 50.0, -50.0, 100.0, 0.0, 0.0, 0.0, 0.0])
    review = changed(
        review,
        pairing=Pairing(pairing.counts, offset_ms, pairing.due, ()),
        steps=dataclasses.replace(steps, sigma_ms=np.zeros(8)),
        flags=(),
    )
    places = list(beads(svgs(chart_of(review))[0]).values())
    ys, xs = [y for _, y in places[:4]], [x for x, _ in places]
    beat_y = ys[0]
    assert [y - beat_y for y in ys] == pytest.approx([0.0, 29.0, -29.0, 58.0])  # 58 units are the 100 ms of the row's edge
    assert np.diff(xs) == pytest.approx(np.full(7, 27.5), abs=0.11)


def test_foot_and_kind_show_in_the_shape_not_only_the_colour() -> None:
    groups = list(svgs(chart_of(made_review(1, 8)))[0].iter("g"))
    for group in groups:
        words = group.findtext("title") or ""
        bead = next(p for p in group.iter("path") if "A6.5" in p.get("d", ""))
        assert (" 0 0 1 " in bead.get("d", "")) == ("right foot" in words)
        assert (bead.get("fill") == PAPER) == ("count 8" in words)
    assert len(groups) == 8


def test_a_landing_past_the_edge_says_its_number() -> None:
    drawn = [t.text for svg in svgs(chart_of(made_review(1, 32))) for t in svg.iter("text")]
    assert [text for text in drawn if text and text.endswith("ms late")] == ["100 ms late", "190 ms late"]


@pytest.mark.parametrize("nth", [0, 15, 27, 28, 29, 30])
def test_the_number_of_a_landing_past_the_edge_stays_in_the_picture(nth: int) -> None:
    """At 16 units a letter is at most nine wide."""
    review = made_review(1, 32)
    pairing = review.dancers[0].pairing
    assert isinstance(pairing, Pairing)
    offset_ms = np.where(np.arange(len(pairing.offset_ms)) == nth, -152.0, 0.0)
    (chart,) = svgs(chart_of(changed(review, pairing=dataclasses.replace(pairing, offset_ms=offset_ms))))
    wide = float(chart.get("viewBox", "").split()[2])
    (label,) = (t for t in chart.iter("text") if (t.text or "") == "152 ms early")
    x, long = float(label.get("x", "")), 9 * len(label.text or "")
    assert x + long < wide if label.get("text-anchor") == "start" else x - long > 0


def test_findings_are_lettered_at_their_counts() -> None:
    flags = (
        Flag("late", 3.0, 5.0, 6.0, 80.0, "ms", 0.9, True, "w"),
        Flag("extra", 6.0, 6.0, 7.0, None, None, 0.2, False, "w"),
        Flag("missed", 8.0, 8.0, 9.0, None, None, 0.9, True, "w"),
        Flag("stood still", 30.0, 34.0, 20.0, None, None, 0.9, True, "w"),
    )
    charts = svgs(chart_of(changed(made_review(1, 64), flags=flags)))
    told = [[g.findtext("title") for g in svg.iter("g") if (g.findtext("title") or "").startswith("finding")] for svg in charts]
    assert told == [
        ["finding a: late, counts 3 to 5", "finding b: missed, count 8", "finding c: stood still, counts 30 to 34"],
        ["finding c: stood still, counts -2 to 2"],
    ]


def test_no_chart_says_why() -> None:
    assert chart_of(made_review(sound=False)) == "<p>No count line can be drawn: the clip has no sound.</p>"


def test_waltz_rows_hold_whole_sections_of_six() -> None:
    blocks = review_json(made_review(1, 48))
    dance = {"section": 6, "counts": 48, "wall_starts": [1]}
    chart = ET.fromstring(count_chart(blocks["dancers"][0], blocks["beats"], dance))
    assert [s.findtext("title") for s in chart.iter("svg")] == [
        "Dancer 1, wall 1, counts 1 to 30",
        "Dancer 1, wall 1, counts 31 to 48",
    ]
    bold = [t.text for t in chart.iter("text") if t.get("font-weight") == "700" and t.get("text-anchor") == "middle"]
    assert bold.count("1") == 8


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, 1.4.3: (L1 + 0.05) / (L2 + 0.05) with relative luminance from linear sRGB."""

    def luminance(colour: str) -> float:
        parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_text_and_marks_have_enough_contrast() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)  # a known pair, just below the bar
    for colour in (INK, QUIET, *FOOT.values()):
        assert contrast(colour, PAPER) >= 4.5


def test_legend_names_every_mark() -> None:
    reader = read(chart_legend())
    text = " ".join(reader.text)
    for word in ("left foot", "right foot", "touches", "weight moves", "no landing", "usual place", "the beat"):
        assert word in text
