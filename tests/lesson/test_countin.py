"""When counts fall: count-in, ladder, tapped tempo."""

from __future__ import annotations

import pytest

from motion.base.errors import BadInput
from motion.base.types import NotMeasured
from motion.lesson.backing import backing, clicks
from motion.lesson.countin import Rung, called, count_in_s, counting, ladder, rungs_words, tapped_bpm
from motion.review.settings import SETTINGS

D, S = SETTINGS.dance, SETTINGS.lesson


def counted(*rungs, **asked):
    return counting([Rung(*rung) for rung in rungs], limits=D, settings=S, **asked)


@pytest.mark.parametrize(
    ("section", "bpm", "seconds"),
    # a count lasts 60 / BPM s: 5-6-7-8 begins four of them before 1, in waltz 4-5-6 three
    [(8, 84, 2.857), (8, 100, 2.4), (8, 120, 2.0), (8, 128, 1.875), (8, 150, 1.6), (6, 84, 2.143)],
)
def test_when_the_count_in_begins(section, bpm, seconds):
    assert count_in_s(section, bpm) == pytest.approx(seconds, abs=5e-4)
    if bpm < S.fast_bpm:
        music = counted((bpm, 16), section=section)
        first = next(one for one in music.counts if one.running == 1)
        assert first.time_s - music.counts[0].time_s == pytest.approx(seconds, abs=5e-4)


def test_the_numbers_that_are_called():
    assert called(8, 120, settings=S) == (5, 6, 7, 8)
    assert called(6, 120, settings=S) == (4, 5, 6)
    assert called(8, 168, settings=S) == (5, None, 6, None, 5, 6, 7, 8)


def test_counts_by_hand():
    music = counted((120, 10))
    assert [one.count for one in music.counts] == [5, 6, 7, 8, 1, 2, 3, 4, 5, 6, 7, 8, 1, 2]
    assert [one.says for one in music.counts[:5]] == [5, 6, 7, 8, None]
    assert [one.running for one in music.counts[:6]] == [-3, -2, -1, 0, 1, 2]
    assert music.counts[4].time_s == pytest.approx(S.tune_silence_s + 2.0)
    assert music.duration_s == pytest.approx(S.tune_silence_s + 14 * 0.5 + S.tune_tail_s)


def test_music_that_is_waited_through():
    music = counted((100, 8), wait_counts=16)
    assert [one.says for one in music.counts[:17]] == [None] * 12 + [5, 6, 7, 8, None]
    assert music.counts[16].running == 1
    # the band plays while one waits, and is silent under the numbers
    playing = {note.time_s for note in backing(music, 1) if note.part in ("kick", "snare")}
    assert music.counts[0].time_s in playing
    assert music.counts[12].time_s not in playing
    assert music.counts[16].time_s in playing


def test_waltz_counts_to_six():
    music = counted((90, 9), section=6)
    assert [one.count for one in music.counts] == [4, 5, 6, 1, 2, 3, 4, 5, 6, 1, 2, 3]


def test_a_ladder_has_a_count_in_for_every_tempo():
    music = counted((84, 16), (96, 16), (120, 16))
    for rung in range(3):
        own = [one for one in music.counts if one.rung == rung]
        assert [one.says for one in own[:4]] == [5, 6, 7, 8]
        assert len(own) == 20
        assert own[1].time_s - own[0].time_s == pytest.approx(60 / (84, 96, 120)[rung])
    assert rungs_words(music) == "84, then 96, then 120 beats a minute, 16 counts each"


def test_tempos_of_the_ladder():
    def of(bpm, rungs, share):
        return ladder(bpm, rungs=rungs, from_share=share, limits=D, settings=S)

    assert of(120, 4, 0.7) == (84, 96, 108, 120)
    assert of(101.5, 3, 0.8) == (81, 91, 101.5)
    assert of(120, 1, 0.7) == (120,)
    assert of(32, 4, 0.7) == (30, 32)  # nothing slower than anybody steps to
    for asked in ((0, 4, 0.7), (-120, 4, 0.7), (120, 0, 0.7), (120, 4, 1.5)):
        with pytest.raises(BadInput):
            of(*asked)


def test_tapped_tempo():
    def of(taps):
        return tapped_bpm(taps, limits=D, settings=S)

    assert of([0, 0.5, 1.0, 1.5]) == pytest.approx(120)
    # one slip among many does not move it; a long pause begins anew
    assert of([0, 0.5, 1.0, 1.62, 2.0, 2.5, 3.0]) == pytest.approx(120)
    assert of([0, 1, 2, 10, 10.6, 11.2, 11.8]) == pytest.approx(100)
    assert isinstance(of([0, 0.5, 1.0]), NotMeasured)
    assert isinstance(of([0, 0.01, 0.02, 0.03]), NotMeasured)


@pytest.mark.parametrize(
    ("rungs", "said"),
    [([(-100, 16)], "tempo is -100"), ([(100, 0)], "number of counts is 0"), ([(1000, 16)], "tempo is 1000"), ([], "no tempo"),
     ([(30, 2000)], "minutes of music")],
)  # fmt: skip
def test_music_that_cannot_be(rungs, said):
    with pytest.raises(BadInput, match=said):
        counted(*rungs)


def test_the_tune_depends_on_its_number_only():
    music = counted((100, 64))
    assert backing(music, 3) == backing(music, 3)
    assert backing(music, 3) != backing(music, 4)
    tunes = [note.pitch_hz for note in backing(music, 3) if note.part == "tune"]
    assert tunes[: len(tunes) // 2] != tunes[len(tunes) // 2 :]
    assert [note.says for note in clicks(music) if note.says] == [5, 6, 7, 8]
    # the harmony goes on too, and not in the same order from phrase to phrase
    bass = [note.pitch_hz for note in backing(music, 3) if note.part == "bass"]
    assert len(set(bass)) >= 6
    assert bass[: len(bass) // 2] != bass[len(bass) // 2 :]
