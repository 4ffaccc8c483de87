"""Pulse, breath and energy against published numbers, each with its source beside it."""

from __future__ import annotations

import re

import pytest

from motion.base.errors import BadInput
from motion.base.types import NotMeasured
from motion.lesson.energy import energy, kcal, kcal_by_oxygen, met_words, talk_words
from motion.lesson.pulse import (
    ZONE_SOURCES,
    breaths_words,
    counted_breaths,
    counted_pulse,
    half_up,
    pulse_rate,
    quarter_minute,
    recovery,
    reserve_rate,
    resting_breaths,
    resting_pulse,
    share_percent,
    top_rate,
    zones,
)
from motion.review.settings import SETTINGS
from motion.tell.lesson_words import SOURCE_WORDS, breath_told, counts_told, effort_told, energy_told

S = SETTINGS.lesson


@pytest.mark.parametrize(
    ("age", "fox", "tanaka"),
    # Tanaka, Monahan, Seals. J Am Coll Cardiol 2001;37:153-156: 208 - 0.7 age; both formulas cross at 40
    [(10, 210, 201.0), (20, 200, 194.0), (40, 180, 180.0), (50, 170, 173.0), (65, 155, 162.5), (80, 140, 152.0)],
)
def test_highest_pulse_by_both_formulas(age, fox, tanaka):
    top = top_rate(age, settings=S)
    assert (top.fox, top.tanaka) == (fox, tanaka)


@pytest.mark.parametrize(
    ("age", "low", "high"),
    # American Heart Association, target heart rates, 50 to 85 %: as printed there (35: 92.5 is printed 93)
    [(20, 100, 170), (30, 95, 162), (35, 93, 157), (40, 90, 153), (45, 88, 149), (50, 85, 145), (55, 83, 140), (60, 80, 136),
     (65, 78, 132), (70, 75, 128)],
)  # fmt: skip
def test_the_heart_associations_table(age, low, high):
    moderate, vigorous = zones("AHA", age, settings=S).bands
    assert (moderate.low, vigorous.high) == (low, high)
    assert moderate.high == vigorous.low == half_up(70 * (220 - age), 100)


def test_the_disease_controls_examples():
    """Centers for Disease Control, target heart rate: age 50 moderate 109 to 129, age 35 vigorous 142 to 172."""
    moderate, _ = zones("CDC", 50, settings=S).bands
    _, vigorous = zones("CDC", 35, settings=S).bands
    assert (moderate.low, moderate.high) == (109, 129)
    assert (vigorous.low, vigorous.high) == (142, 172)


def test_the_reserve_by_hand():
    """Karvonen with Tanaka's maximum: age 65, rest 70: 70 + 0.4 * 92.5 = 107.0 and 70 + 0.6 * 92.5 = 125.5."""
    assert reserve_rate(65, 70, 40, settings=S) == 107.0
    assert reserve_rate(65, 70, 60, settings=S) == 125.5
    moderate, vigorous = zones("reserve", 65, rest=70, settings=S).bands
    assert (moderate.low, moderate.high) == (107, 125)  # 59 %: 124.575
    assert (vigorous.low, vigorous.high) == (126, 152)  # 125.5 half up; 89 %: 152.325
    with pytest.raises(BadInput, match="pulse at rest"):
        zones("reserve", 65, settings=S)


def test_sources_name_their_own_formula_and_are_not_mixed():
    assert "220" in zones("AHA", 40, settings=S).formula
    assert "208" in zones("reserve", 40, rest=60, settings=S).formula
    assert "220" not in zones("reserve", 40, rest=60, settings=S).formula
    assert zones("AHA", 40, settings=S).bands != zones("CDC", 40, settings=S).bands


@pytest.mark.parametrize(
    ("age", "beats"),
    # the usual 15-second chart at 60, 70 and 80 % of 220 - age
    [(20, (30, 35, 40)), (30, (29, 33, 38)), (65, (23, 27, 31))],
)
def test_the_fifteen_second_chart(age, beats):
    assert tuple(quarter_minute(age, share, settings=S) for share in (60, 70, 80)) == beats


def test_halves_go_up():
    assert [half_up(n, 2) for n in (185, 323, 0, 1, 4)] == [93, 162, 0, 1, 2]
    assert round(92.5) == 92  # what the language does by itself, and the table does not


@pytest.mark.parametrize(("count", "seconds", "rate", "step"), [(24, 15, 96, 4), (16, 10, 96, 6), (48, 30, 96, 2)])
def test_a_count_and_its_step(count, seconds, rate, step):
    counted = counted_pulse(count, seconds, settings=S)
    assert (counted.rate, counted.step) == (rate, step)
    assert counted_pulse(count + 1, seconds, settings=S).rate - rate == step


def test_share_of_the_highest():
    # age 61: 208 - 42.7 = 165.3; 132 of that are 79.85 %, and one beat in 15 s is 4 of it, 2.42 %
    assert share_percent(counted_pulse(33, 15, settings=S), 61, settings=S) == (80, 2)


def test_recovery_with_what_two_counts_may_shift():
    fell, give = recovery(counted_pulse(32, 15, settings=S), counted_pulse(24, 15, settings=S))
    assert (fell, give) == (32, 8)


@pytest.mark.parametrize(
    ("age", "pulse", "breaths"),
    # Fleming S, et al. Lancet 2011;377:1011-1018: centiles 1, 10, 25, 50, 75, 90, 99
    [(6, (59, 74, 82, 91, 101, 111, 123), (16, 18, 20, 21, 23, 24, 27)), (8, (52, 67, 75, 84, 93, 103, 115), (14, 16, 18, 19, 21, 22, 25)),
     (11, (52, 67, 75, 84, 93, 103, 115), (14, 16, 18, 19, 21, 22, 25)), (12, (47, 62, 69, 78, 87, 96, 108), (12, 15, 16, 18, 19, 21, 23)),
     (17, (43, 58, 65, 73, 83, 92, 104), (11, 13, 15, 16, 18, 19, 22))],
)  # fmt: skip
def test_resting_children(age, pulse, breaths):
    assert resting_pulse(age, settings=S).values == pulse
    found = resting_breaths(age, settings=S)
    assert found.values == breaths
    assert found.middle == (breaths[1], breaths[5])
    assert f"{breaths[1]} to {breaths[5]} times" in breaths_words(age, settings=S)


@pytest.mark.parametrize("age", [5, 18, 70])
def test_no_centiles_are_made_up(age):
    assert isinstance(resting_breaths(age, settings=S), NotMeasured)
    assert isinstance(resting_pulse(age, settings=S), NotMeasured)


@pytest.mark.parametrize("age", [0, 130])
def test_ages_that_cannot_be(age):
    for ask in (
        lambda: top_rate(age, settings=S),
        lambda: zones("AHA", age, settings=S),
        lambda: resting_breaths(age, settings=S),
        lambda: energy(age, 60, 30, settings=S),
        lambda: effort_told(15, 30, age, "AHA"),
        lambda: breath_told(10, age),
    ):
        with pytest.raises(BadInput, match=f"The age is {age}"):
            ask()


@pytest.mark.parametrize("rate", [10, 400])
def test_pulses_that_cannot_be(rate):
    with pytest.raises(BadInput, match=f"The pulse comes to {rate} a minute"):
        pulse_rate(rate, settings=S)
    with pytest.raises(BadInput, match="Count again"):
        counted_pulse(100 if rate == 400 else 2, 15, settings=S)
    with pytest.raises(BadInput, match="only 10, 15 and 30"):
        counted_pulse(20, 20, settings=S)


def test_breaths_are_counted_for_thirty_seconds():
    assert (counted_breaths(10, 30, settings=S).rate, counted_breaths(10, 30, settings=S).step) == (20, 2)
    with pytest.raises(BadInput, match="breathing comes to 0"):
        counted_breaths(0, 30, settings=S)


def test_energy_in_both_forms():
    """1 kcal per kg, hour and MET (Compendium): 7.8 * 60 * 0.5 = 234; 7.8 * 3.5 * 60 / 200 * 30 = 245.7, 5 % more."""
    assert kcal(7.8, 60, 30) == pytest.approx(234)
    assert kcal_by_oxygen(7.8, 60, 30) == pytest.approx(245.7)
    spent = energy(40, 60, 30, settings=S)
    assert (spent.low_kcal, spent.high_kcal) == (120, 240)
    assert "03031" in met_words()  # the 2011 Compendium's code of general dancing with line dancing, 7.8
    assert "7.8 MET" in met_words()


@pytest.mark.parametrize("age", [8, 17, 18, 60, 75])
def test_no_kilocalories_for_children_nor_beyond_the_table(age):
    assert isinstance(energy(age, 60, 30, settings=S), NotMeasured)
    assert "kcal" not in energy_told(age, 60, 30).words.lower()


def test_children_get_no_target():
    with pytest.raises(BadInput, match="grown-ups"):
        zones("CDC", 12, settings=S)
    with pytest.raises(BadInput, match="grown-ups"):
        effort_told(15, 30, 12, "AHA")


def test_what_a_grown_up_is_told():
    said = " ".join(counts_told(15, 18, 33, 27))
    assert "18 in 15 s are 72 a minute (one more or less: ±4)" in said
    assert "it fell by 24, give or take 8" in said
    told = effort_told(15, 33, 50, "CDC")
    for words in ("132 a minute", "about 76 % of the highest pulse that is usual at 50", "is 2 %", "at an edge", "talk test",
                  "moderate 109 to 129, vigorous 131 to 158", "reads low", "beta-blockers"):  # fmt: skip
        assert words in told.words, words
    assert "in moderate" in effort_told(15, 30, 50, "CDC").words


@pytest.mark.parametrize("source", ZONE_SOURCES)
def test_formulas_and_who_published_them_are_figures_and_none_is_lost(source):
    told = (effort_told(15, 33, 34, source, rest=18), energy_told(34, 60, 30), breath_told(14, 34), breath_told(14, 10))
    plain = " ".join([*(one.words for one in told), SOURCE_WORDS[source]])
    assert not re.search(r"\d\.\d|−|×|MET\b|Tanaka|Lancet|Compendium|et al|\bage\)", plain), plain
    figures = " ".join(line for one in told for line in one.figures)
    for words in ("184.2 by 208 − 0.7 × age (Tanaka", "220 − age", "gives 186", "7 to 11 and more", "2011 Compendium", "03031",
                  "4 to 8 MET × kg × hours", "Lancet 2011;377", zones(source, 34, rest=72, settings=S).source,
                  zones(source, 34, rest=72, settings=S).formula):  # fmt: skip
        assert words in figures, words
    assert "About 120 to 240 kcal in 30 minutes" in energy_told(34, 60, 30).words
    assert "eight in ten children" in breath_told(14, 10).words


def test_the_talk_test_has_words_for_both():
    assert talk_words("talks", children=False) == "Moderate effort."
    assert talk_words("few words", children=True) != talk_words("few words", children=False)
