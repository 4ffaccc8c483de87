"""Do walls begin with the music's phrases: made sounds whose phrases are known, and sounds without any."""

from __future__ import annotations

import numpy as np
import pytest
from made_dances import dance

from motion.base.types import BeatGrid, NotMeasured
from motion.music.counts import changed, steady_grid
from motion.music.onset_strength import OnsetCurve
from motion.review.settings import SETTINGS
from motion.tell.sheet_words import phrase_told
from motion.timing.phrase import phrase_fit, wall_firsts

T, M = SETTINGS.timing, SETTINGS.music
BPM, SECONDS = 120.0, 90.0


def sound(
    phrase_at: int | None, *, every: int = 32, silent: int = 0, step_db: float = 5.0, noise_db: float = 3.0, seed: int = 1
) -> OnsetCurve:
    """Colours of a sound with one loud value a tenth of a second: a bar's pattern, noise, and from every phrase's start (beat
    phrase_at, then `every` beats on) another mixture of instruments."""
    chance = np.random.default_rng(seed)
    times_s = np.arange(0, SECONDS, 0.1)
    beat = np.floor(times_s * BPM / 60 + 1e-6).astype(int)
    colour = (
        -30 + 4.0 * np.sin(np.arange(24) / 3)[None, :] * (beat % 4 == 0)[:, None] + chance.normal(0, noise_db, (len(times_s), 24))
    )
    if phrase_at is not None:
        mixes = chance.normal(0, step_db, (int(beat[-1]) // every + 2, 24))
        colour += mixes[(beat - phrase_at) // every + 1]
    colour[beat < silent] = -90.0
    nothing = np.zeros(len(times_s))
    return OnsetCurve(
        times_s, np.zeros((len(times_s), 4)), np.ones(4), nothing, nothing, 0.0, 0.1, times_s, colour, nothing > -1, 0.0, SECONDS
    )


def grid(first_beat: int) -> BeatGrid:
    return changed(steady_grid(BPM, first_beat * 0.5, 0.0, SECONDS), source="sound")


def fit(curve: OnsetCurve | None, first_beat: int, entry: list[tuple[float, float]] | None = None) -> dict | NotMeasured:
    walls = [(1, 1.0), (2, 33.0), (3, 49.0)]  # the second wall is cut after 16
    return phrase_fit(grid(first_beat), curve, entry or [], walls, M, T)


@pytest.mark.parametrize("first_beat", [16, 20, 30])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_phrases_that_are_heard_place_every_wall(first_beat: int, seed: int) -> None:
    said = fit(sound(16, seed=seed), first_beat)
    assert isinstance(said, dict)
    late = first_beat - 16
    assert (said["basis"], said["phrase_counts"]) == ("changes", 32)
    assert [(w["wall"], w["after"]) for w in said["walls"]] == [(1, late), (2, late), (3, (late + 16) % 32)]
    assert said["walls"][1]["time_s"] == pytest.approx((first_beat + 32) * 0.5)


@pytest.mark.parametrize("seed", range(25))
def test_a_sound_without_phrases_cannot_tell(seed: int) -> None:
    assert not fit(sound(None, seed=seed), 16)


@pytest.mark.parametrize("every", [8, 16])
def test_changes_at_every_section_do_not_say_which_begins_the_phrase(every: int) -> None:
    many = [fit(sound(16, every=every, seed=seed), 16) for seed in range(12)]
    assert sum(bool(one) for one in many) <= 1


def test_where_the_music_comes_in_counts_as_a_beginning_if_it_is_plain() -> None:
    curve = sound(None, silent=16)
    said = fit(curve, 20, [(8.0, 0.9)])
    assert isinstance(said, dict)
    assert said["basis"] == "entry"
    assert [w["after"] for w in said["walls"]] == [4, 4, 20]
    assert not fit(curve, 20, [(8.0, 0.3)])


def test_without_sound_nothing_is_said() -> None:
    said = fit(None, 16)
    assert isinstance(said, NotMeasured)
    assert phrase_told({}) is None
    told = phrase_told({"phrase": {"not_measured": said.why}})
    assert told is not None
    assert told.words.startswith("Whether the dance fits the music's phrases: cannot tell, because there is no sound")


def test_words_on_phrases() -> None:
    walls = [
        {"wall": 1, "time_s": 8.0, "after": 0},
        {"wall": 2, "time_s": 24.0, "after": 16},
        {"wall": 3, "time_s": 40.0, "after": 31},
    ]
    told = phrase_told({"phrase": {"basis": "changes", "phrase_counts": 32, "heard": 4, "walls": walls}})
    assert told is not None
    assert "Wall 2 begins 16 counts into a phrase of the music. Wall 3 begins 1 count before a phrase" in told.words
    assert "With a phrase: wall 1." in told.words
    assert "at the same place 4 times" in told.words
    on = phrase_told({"phrase": {"basis": "entry", "phrase_counts": 32, "heard": 1, "walls": walls[:1]}})
    assert on is not None
    assert on.words.startswith("The only wall in this clip begins with a phrase of the music.")
    two = [walls[0], walls[1] | {"after": 0}]
    both = phrase_told({"phrase": {"basis": "entry", "phrase_counts": 32, "heard": 1, "walls": two}})
    assert both is not None
    assert both.words.startswith("Every wall begins with a phrase of the music.")


def test_walls_begin_where_their_first_count_is_even_if_nothing_lands_on_it() -> None:
    due = [d for d in dance(3) if d.count_in_wall > 1]
    assert wall_firsts(due, grid(2), 100.0) == [(1, 1.0), (2, 9.0), (3, 17.0)]
    assert wall_firsts(due, grid(2), 9.0) == [(1, 1.0), (2, 9.0)]
