"""Colours by arithmetic: contrast of every pair that is used, after WCAG 2.2, and marks that stay apart for every kind of colour sight.

Contrast: relative luminance and contrast ratio as WCAG 2.2 defines them; AA asks for 4.5 for text and 3 for marks and borders of
controls. Colour sight: matrices of Machado, Oliveira and Fernandes (A physiologically-based model for simulation of color vision
deficiency, IEEE Trans. Vis. Comput. Graph. 15, 2009) for severity 1, on linear RGB; distances in CIE 1976 L*a*b*.
"""

from __future__ import annotations

import re
import tomllib
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from motion.desk.page_server import THEME as HANDED_OVER
from motion.tell.count_line import BAND, FOOT, INK, PAPER, QUIET, RAIL
from motion.tell.count_table import MARKS

HOUSE = Path(__file__).resolve().parents[2]
THEME = tomllib.loads((HOUSE / ".streamlit" / "config.toml").read_text(encoding="utf-8"))["theme"]
GROUND, PANEL, TEXT = THEME["backgroundColor"], THEME["secondaryBackgroundColor"], THEME["textColor"]
MACHADO = {
    "usual": np.eye(3),
    "protanopia": np.array([[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]),
    "deuteranopia": np.array([[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]),
    "tritanopia": np.array([[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]),
}
#: Below about 2.3 two colours beside one another can hardly be told apart; marks on a page lie apart, so far more is asked.
TOLD_APART = 20.0


def linear(colour: str) -> np.ndarray:
    """#rrggbb to linear RGB, 0..1 (IEC 61966-2-1)."""
    whole = colour if len(colour) == 7 else "#" + "".join(2 * c for c in colour[1:])
    coded = np.array([int(whole[k : k + 2], 16) / 255 for k in (1, 3, 5)])
    return np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    light = sorted((float(linear(c) @ np.array([0.2126, 0.7152, 0.0722])) for c in (one, other)), reverse=True)
    return (light[0] + 0.05) / (light[1] + 0.05)


def lab(rgb: np.ndarray) -> np.ndarray:
    """Linear RGB to CIE L*a*b* under D65."""
    matrix = np.array([[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]])
    share = (matrix @ rgb) / (matrix @ np.ones(3))
    f = np.where(share > 216 / 24389, np.cbrt(share), (24389 / 27 * share + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def apart(one: str, other: str, sight: str) -> float:
    a, b = (lab(np.clip(MACHADO[sight] @ linear(c), 0, 1)) for c in (one, other))
    return float(np.linalg.norm(a - b))


def test_the_arithmetic_itself() -> None:
    # Black on white is 21, and #767676 is the lightest grey with 4.5 on white (WCAG's own examples); pure blue has L* 32.3.
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#fff") == pytest.approx(4.54, abs=0.01)
    assert contrast("#777777", "#fff") < 4.5
    assert lab(linear("#0000ff")) == pytest.approx([32.30, 79.19, -107.86], abs=0.05)
    for matrix in MACHADO.values():
        assert matrix.sum(axis=1) == pytest.approx(1.0, abs=1e-5)  # greys stay as they are
    assert apart("#ff0000", "#00a000", "deuteranopia") < apart("#ff0000", "#00a000", "usual") / 2


def test_the_theme_is_the_one_that_is_handed_over() -> None:
    assert {name: str(value) for name, value in HANDED_OVER.items()} == {name: str(value) for name, value in THEME.items()}


@pytest.mark.parametrize(
    ("ink", "ground", "least"),
    [
        *((TEXT, ground, 4.5) for ground in (GROUND, PANEL, "#ffffff")),
        *((THEME["linkColor"], ground, 4.5) for ground in (GROUND, PANEL, "#ffffff")),
        *((THEME["primaryColor"], ground, 4.5) for ground in (GROUND, PANEL, "#ffffff")),
        *(("#ffffff", colour, 4.5) for colour in (THEME["primaryColor"], TEXT)),
        *((THEME[f"{c}TextColor"], THEME[f"{c}BackgroundColor"], 4.5) for c in ("blue", "yellow", "red", "green")),
        *((THEME[f"{c}Color"], GROUND, 4.5) for c in ("blue", "yellow", "red", "green")),
        *((QUIET, ground, 4.5) for ground in (GROUND, PANEL, PAPER)),
        *((THEME["borderColor"], ground, 3.0) for ground in (GROUND, "#ffffff")),
        *((mark, ground, 3.0) for mark in (INK, QUIET, RAIL, *FOOT.values()) for ground in (PAPER, BAND)),
    ],
)
def test_contrast(ink: str, ground: str, least: float) -> None:
    assert contrast(ink, ground) >= least, f"{ink} on {ground}: {contrast(ink, ground):.2f}"


def test_words_in_the_look_are_dark_enough() -> None:
    """Every colour of words in the style sheets, on the lightest and the darkest paper that they stand on."""
    for path in [*sorted((HOUSE / "ui").glob("*.css"))]:
        for colour in set(re.findall(r"(?<![-\w])color:\s*(#[0-9a-f]{3,6})", path.read_text(encoding="utf-8"))) - {
            "#fff",
            "#fbf9f5",
        }:
            for ground in (GROUND, PANEL, "#ffffff"):
                assert contrast(colour, ground) >= 4.5, (path.name, colour, ground)


@pytest.mark.parametrize("sight", MACHADO)
def test_left_and_right_stay_apart_for_every_kind_of_colour_sight(sight: str) -> None:
    assert apart(*FOOT.values(), sight) > TOLD_APART
    for mark, ground in ((m, g) for m in (INK, *FOOT.values()) for g in (PAPER, BAND)):
        assert apart(mark, ground, sight) > 2 * TOLD_APART


@pytest.mark.parametrize("sight", MACHADO)
def test_message_colours_are_told_apart_from_their_ground(sight: str) -> None:
    for name in ("blue", "yellow", "red", "green"):
        assert apart(THEME[f"{name}TextColor"], THEME[f"{name}BackgroundColor"], sight) > 2 * TOLD_APART


def test_marks_of_the_count_table_need_no_colour() -> None:
    """Painted all in one colour every mark still differs from every other: what it says lies in its shape and place."""
    grey = {state: re.sub(r"#[0-9a-f]{3,6}", "grey", drawing) for state, drawing in MARKS.items()}
    for one, other in combinations(grey, 2):
        assert grey[one] != grey[other], (one, other)
    assert not re.search(r"\b(red|green|orange|yellow)\b", " ".join(MARKS.values()))
