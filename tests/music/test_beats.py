"""Beats in sounds whose beats are known."""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from beat_scores import f_measure, level, offsets_ms
from made_music import RATE_HZ, curve_of, in_hall, make, talk

from motion.base.errors import BadInput
from motion.base.types import BeatGrid, NotMeasured, Sound
from motion.music.beat_tracking import one_level, smooth
from motion.music.beats import find_beats, pulse
from motion.music.clicks import Timbre, click_track, place, sound_of
from motion.music.onset_strength import OnsetCurve
from motion.music.speech import spoken_count
from motion.review.settings import SETTINGS

MUSIC = SETTINGS.music
SHARED = Path(__file__).resolve().parents[2].parent / "shared"


def beats_of(samples, rate=RATE_HZ, start=0.0, **how):
    curve = curve_of(Sound(np.asarray(samples, np.float32), rate, start))
    assert isinstance(curve, OnsetCurve)
    return find_beats(curve, settings=MUSIC, **how)


@cache
def made(style, seed, bpm=None, intro=None):
    return make(style, seed, bpm=bpm, beats=32, intro=intro)


@pytest.mark.parametrize("timbre", ["wood block", "kick", "hi-hat", "piano", "ta"])
@pytest.mark.parametrize("bpm", [72, 127.3, 160])
def test_clicks_come_back_where_they_were_put(timbre, bpm):
    beats = np.arange(0.37, 14, 60 / bpm)
    grid = beats_of(click_track(beats, timbre, 44100, 14.3, seed=int(bpm)), 44100)
    assert f_measure(beats, grid.times_s) == 1.0
    errors = offsets_ms(beats, grid.times_s)
    assert abs(np.median(errors)) <= 3
    assert np.max(np.abs(errors)) <= 5
    assert grid.tempo_bpm == pytest.approx(bpm, rel=2e-3)
    assert not any("not certain that the music" in d and "threes" in d for d in grid.doubts)


@pytest.mark.parametrize("bpm", [90, 127.3])
def test_a_beat_on_the_first_sample_is_found(bpm):
    beats = np.arange(0.0, 14, 60 / bpm)
    grid = beats_of(click_track(beats, "kick", RATE_HZ, 14.3))
    assert len(grid.times_s) == len(beats)
    assert 0.0 <= grid.times_s[0] <= 0.003


@pytest.mark.parametrize("bpm", [60, 200])
def test_very_slow_and_very_fast_clicks_with_a_hint(bpm):
    beats = np.arange(0.37, 16, 60 / bpm)
    grid = beats_of(click_track(beats, "wood block", RATE_HZ, 16.3), bpm_hint=bpm * 1.05)
    assert f_measure(beats, grid.times_s) == 1.0
    assert abs(np.median(offsets_ms(beats, grid.times_s))) <= 3


@pytest.mark.parametrize("bpm", [75.0, 150.0])
def test_the_hint_settles_half_and_double(bpm):
    grid = beats_of(click_track(np.arange(0.4, 14, 0.4), "kick", RATE_HZ, 14.3), bpm_hint=bpm)
    assert grid.tempo_bpm == pytest.approx(bpm, rel=0.01)


@pytest.mark.parametrize("style", ["straight", "swung", "waltz", "sparse", "talk", "room noise", "drift"])
def test_music_of_each_style_is_followed_closely(style):
    piece = made(style, 7, 112.0)
    grid = beats_of(piece.samples, bpm_hint=115.0)
    assert f_measure(piece.beats_s, grid.times_s) >= 0.98
    errors = offsets_ms(piece.beats_s, grid.times_s)
    assert abs(np.median(errors)) <= 5
    assert np.median(np.abs(errors - np.median(errors))) <= 6


def test_a_slowing_band_is_followed():
    piece = made("ritardando", 3, 125.0)
    grid = beats_of(piece.samples)
    assert np.diff(piece.beats_s)[-1] > 1.25 * np.diff(piece.beats_s)[0]
    assert level(piece.beats_s, grid.times_s) == "right"
    assert np.percentile(np.abs(offsets_ms(piece.beats_s, grid.times_s)), 90) <= 15


@pytest.mark.parametrize(("style", "section"), [("waltz", 6), ("straight", 8), ("half-time", 8)])
def test_the_metre_is_heard(style, section):
    counts = [beats_of(made(style, seed, 110.0).samples, bpm_hint=110.0).counts.max() for seed in (1, 2)]
    assert counts == [section, section]


def test_the_metre_of_the_sheet_is_taken():
    assert beats_of(made("straight", 1, 110.0).samples, beats_per_bar=3).counts.max() == 6


@pytest.mark.parametrize("style", ["straight", "waltz", "swung"])
def test_count_one_is_where_the_music_comes_in_after_ticks(style):
    piece = made(style, 11, 108.0, "ticks")
    grid = beats_of(piece.samples, bpm_hint=108.0)
    assert grid.first_count_s == pytest.approx(piece.beats_s[piece.first_count], abs=0.01)
    assert grid.counts[np.argmin(np.abs(grid.times_s - grid.first_count_s))] == 1


def test_without_an_entry_count_one_is_said_to_be_a_guess():
    grid = beats_of(made("straight", 5, 118.0, "none").samples)
    assert grid.first_count_s is None
    assert any("count 1" in d for d in grid.doubts)


@pytest.mark.parametrize("seed", [1, 2])
def test_swing_is_measured(seed):
    piece = made("swung", seed, 115.0)
    assert beats_of(piece.samples, bpm_hint=115.0).half_at == pytest.approx(piece.half_at, abs=0.03)
    assert beats_of(made("straight", seed, 115.0).samples, bpm_hint=115.0).half_at == 0.5


def test_an_impossible_hint_is_told():
    with pytest.raises(BadInput, match="tempo"):
        beats_of(made("straight", 9, 116.0).samples, bpm_hint=0.0)


def test_half_and_double_are_the_persons_to_say():
    samples = made("straight", 9, 116.0).samples
    same, half, double = (beats_of(samples, bpm_hint=116.0, speed=s) for s in ("same", "half", "double"))
    assert half.tempo_bpm == pytest.approx(same.tempo_bpm / 2)
    assert double.tempo_bpm == pytest.approx(same.tempo_bpm * 2)
    assert set(np.round(half.times_s, 6)) <= set(np.round(same.times_s, 6)) <= set(np.round(double.times_s, 6))


def test_nothing_steady_is_no_beat():
    rng = np.random.default_rng(5)
    for sound in (0.1 * rng.standard_normal(15 * RATE_HZ), talk(16.0, rng), 0.3 * np.sin(np.arange(15 * RATE_HZ) * 0.1)):
        found = beats_of(sound)
        assert isinstance(found, NotMeasured)
        assert "no steady beat" in found.why


def test_beats_start_with_the_music_and_go_on_to_its_end():
    beats = np.arange(3.2, 15, 0.5)
    x = click_track(beats, "snare", RATE_HZ, 20.0) + 1e-4 * np.random.default_rng(0).standard_normal(20 * RATE_HZ)
    grid = beats_of(x)
    assert grid.times_s[0] == pytest.approx(3.2, abs=0.005)
    assert grid.times_s[-1] == pytest.approx(beats[-1], abs=0.005)


def test_beats_go_on_through_a_short_break():
    beats = np.arange(0.4, 16, 0.5)
    grid = beats_of(click_track(beats[(beats < 7) | (beats > 9)], "kick", RATE_HZ, 16.5))
    assert f_measure(beats, grid.times_s) == 1.0


def test_two_pieces_with_a_long_stop_between_are_both_found():
    first, second = np.arange(0.4, 12, 0.5), np.arange(20.2, 32, 0.6)
    grid = beats_of(click_track(np.r_[first, second], "snare", RATE_HZ, 33.0))
    assert f_measure(np.r_[first, second], grid.times_s) == 1.0
    assert any("stops between" in d for d in grid.doubts)


def test_a_later_clock_and_another_gain_change_nothing_else():
    x = made("straight", 2, 121.0).samples
    a, b = beats_of(x), beats_of(0.05 * x, start=1.25)
    assert b.times_s == pytest.approx(a.times_s + 1.25, abs=0.002)
    assert b.counts.tolist() == a.counts.tolist()
    assert b.confidence == pytest.approx(a.confidence, abs=0.02)


def test_confidence_falls_with_noise():
    x = made("straight", 4, 120.0).samples
    noise = np.random.default_rng(1).standard_normal(len(x)) * x.std()
    sure = [g.confidence if isinstance(g, BeatGrid) else 0.0 for g in (beats_of(x), beats_of(x + 4 * noise))]
    assert sure[0] > sure[1]


def test_smoothing_is_a_line_for_a_machine_and_follows_a_band():
    rng = np.random.default_rng(3)
    machine = 0.5 * np.arange(60)
    jitter = rng.normal(0, 0.007, 60)
    assert np.std(smooth(machine + jitter, np.ones(60)) - machine) < 0.003
    band = np.cumsum(0.5 * (1 + 0.05 * np.sin(np.arange(60) / 8)))
    assert np.std(smooth(band + 0.2 * jitter, np.ones(60)) - band) < 0.003
    slipped = machine + 0.2 * jitter
    slipped[[10, 25, 26, 40, 55]] += 0.04
    assert np.max(np.abs(smooth(slipped, np.ones(60)) - machine)) < 0.002


def test_a_path_that_changes_level_is_brought_to_one():
    beats = 0.5 * np.arange(30)
    bare = np.concatenate([beats[:8:2], beats[8:]])
    assert one_level(bare) == pytest.approx(beats)
    doubled = np.sort(np.concatenate([beats, beats[:7] + 0.25]))
    assert one_level(doubled) == pytest.approx(beats)
    slowing = np.cumsum(0.5 * 1.02 ** np.arange(30))
    assert one_level(slowing) == pytest.approx(slowing)


@pytest.mark.parametrize(("style", "seed"), [("straight", 25), ("syncopated", 25), ("drift", 26)])
def test_the_level_is_chosen_by_what_is_heard(style, seed):
    piece = make(style, seed, beats=32)
    curve = curve_of(Sound(piece.samples, RATE_HZ, 0.0))
    assert level(piece.beats_s, pulse(curve, None, MUSIC)) == "double"
    assert level(piece.beats_s, find_beats(curve, settings=MUSIC).times_s) == "right"


def test_other_settings_are_used():
    piece = made("straight", 2, 121.0)
    curve = curve_of(Sound(piece.samples, RATE_HZ, 0.0))
    assert isinstance(find_beats(curve, settings=replace(MUSIC, least_punctual=1.1)), NotMeasured)


def read(path):
    """Mono samples and rate of any sound file."""
    import av

    with av.open(str(path)) as box:
        stream = box.streams.audio[0]
        mono = av.AudioResampler(format="flt", layout="mono", rate=stream.rate)
        parts = [f.to_ndarray()[0] for frame in box.decode(stream) for f in mono.resample(frame)]
        parts += [f.to_ndarray()[0] for f in mono.resample(None)]
        return np.concatenate(parts), stream.rate


@pytest.mark.parametrize(("name", "beats"), [("loop_amen", 4), ("loop_breakbeat", 4), ("loop_compus", 16)])
def test_real_drum_loops_tiled_have_known_beats(name, beats):
    path = SHARED / "real" / f"{name}.flac"
    if not path.exists():
        pytest.skip(f"{path.name} is not there")
    loop, rate = read(path)
    times = 48 // beats
    true = np.arange(48) * len(loop) / rate / beats
    grid = beats_of(np.tile(loop, times), rate)
    assert level(true, grid.times_s) == "right"
    assert f_measure(true, grid.times_s) == 1.0  # the first at the first sample, too
    assert grid.tempo_bpm == pytest.approx(60 * beats * rate / len(loop), rel=1e-3)
    assert abs(np.median(offsets_ms(true, grid.times_s))) <= 15  # where the cutter put the loop's start is not known closer


CLIPS = ["back-swing", "class-six", "dim-handheld", "drifting-band", "quarter-rock", "recovers", "solo-front", "solo-portrait",
         "trio-kids", "turned-phone", "waltz", "watched-pair"]  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("name", CLIPS)
def test_clips_with_truth(name):
    import gzip
    import json

    clip, truth = SHARED / "clips" / f"{name}.mp4", SHARED / "clips" / f"{name}.json.gz"
    if not clip.exists():
        pytest.skip(f"{clip.name} is not there")
    with gzip.open(truth, "rt") as file:
        known = json.load(file)
    true, last = np.array(known["beats"]), known["frame_times"][-1]
    samples, rate = read(clip)
    grid = beats_of(samples, rate)
    kept, due = grid.times_s[grid.times_s <= last], true[true <= last]
    assert f_measure(due, kept) >= 0.99
    errors = offsets_ms(due, kept)
    assert abs(np.median(errors)) <= 5
    assert np.median(np.abs(errors - np.median(errors))) <= 6
    assert grid.first_count_s == pytest.approx(true[known["first_count_beat"]], abs=0.1 * np.median(np.diff(true)))


@pytest.mark.slow
@pytest.mark.parametrize("bpm", [90, 120, 150])
def test_librosa_hears_the_same_tempo_in_clicks(bpm):
    librosa = pytest.importorskip("librosa")
    x = click_track(np.arange(0.4, 20, 60 / bpm), "wood block", RATE_HZ, 20.3)
    other = float(np.atleast_1d(librosa.beat.beat_track(y=x, sr=RATE_HZ)[0])[0])
    ratio = beats_of(x).tempo_bpm / other
    assert min(abs(ratio / k - 1) for k in (0.5, 1, 2)) < 0.04


@pytest.mark.parametrize(("seed", "bpm", "other_bpm"), [(10, 118, 104), (14, 96, 132)])
def test_talk_between_two_dances_is_not_counted(seed, bpm, other_bpm):
    first, second = made("straight", seed, bpm, "none"), made("straight", seed + 1, other_bpm, "none")
    between = 0.5 * talk(10.0, np.random.default_rng(seed)).astype(np.float32)
    begins, ends = len(first.samples) / RATE_HZ, (len(first.samples) + len(between)) / RATE_HZ
    grid = beats_of(np.concatenate([first.samples, between, second.samples]))
    assert f_measure(first.beats_s, grid.times_s[grid.times_s < begins]) >= 0.95
    assert f_measure(second.beats_s + ends, grid.times_s[grid.times_s >= ends]) >= 0.95
    assert np.sum((grid.times_s > begins) & (grid.times_s < ends)) <= 2
    assert any("nothing is counted there" in d for d in grid.doubts)


@pytest.mark.parametrize("style", ["straight", "talk", "room noise"])
def test_nothing_is_cut_out_of_one_dance(style):
    piece = made(style, 7, 112.0)
    assert not any("nothing is counted" in d for d in beats_of(piece.samples).doubts)


def test_counting_aloud_has_its_beat_on_the_vowels():
    rng, gap = np.random.default_rng(3), 60 / 108
    due = 0.8 + gap * np.arange(40)
    words = [spoken_count(i % 8 + 1, RATE_HZ, rng, longest_s=0.8 * gap) for i in range(40)]
    begins = due + rng.normal(0, 0.01, 40) - np.array([lead for _, lead in words])
    grid = beats_of(place(begins, [word for word, _ in words], np.full(40, 0.5), RATE_HZ, due[-1] + 1))
    assert f_measure(due, grid.times_s) >= 0.97  # one of the forty may be an end where nothing holds it
    errors = offsets_ms(due, grid.times_s)
    assert abs(np.median(errors)) <= 10  # words begin with hisses of many lengths
    assert np.median(np.abs(errors - np.median(errors))) <= 10


def test_hand_claps_alone_are_a_beat():
    rng, n = np.random.default_rng(6), int(0.08 * RATE_HZ)
    due = 0.7 + 60 / 116 * np.arange(36)
    claps = [rng.standard_normal(n) * np.exp(-np.arange(n) / RATE_HZ / 0.012) / 3 for _ in due]
    grid = beats_of(place(due + rng.normal(0, 0.01, 36), claps, np.full(36, 0.8), RATE_HZ, due[-1] + 1))
    assert f_measure(due, grid.times_s) >= 0.99
    errors = offsets_ms(due, grid.times_s)
    assert abs(np.median(errors)) <= 5
    assert np.median(np.abs(errors - np.median(errors))) <= 6


def against_the_sheet(style: str, seed: int, beats_per_bar: int, bpm: float | None = None) -> list[str]:
    return [d for d in beats_of(made(style, seed, bpm).samples, beats_per_bar=beats_per_bar).doubts if "bars of" in d]


@pytest.mark.parametrize(("style", "heard", "written"), [("waltz", 3, 4), ("waltz", 3, 2), ("straight", 4, 3), ("sparse", 4, 3)])
def test_bars_that_the_sheet_does_not_have_are_told(style: str, heard: int, written: int) -> None:
    said = f"The sheet counts in bars of {written}; the music sounds like bars of {heard}. The counts follow the sheet."
    assert against_the_sheet(style, 7, written) == [said]


@pytest.mark.parametrize(
    ("style", "seed", "bpm", "written"),
    [
        ("waltz", 7, None, 3),
        ("straight", 7, None, 4),
        ("straight", 7, None, 2),
        ("waltz", 7, None, 6),  # six eighths may be danced in two
        ("straight", 7, None, 6),
        ("waltz", 8103, 200.0, 3),  # heard once a bar, and these bars may go in fours
        ("room noise", 7005, None, 3),
    ],
)
def test_bars_that_are_as_written_or_not_plain_are_not_spoken_of(style: str, seed: int, bpm: float | None, written: int) -> None:
    assert against_the_sheet(style, seed, written, bpm) == []


def test_clicks_in_a_room_have_no_bars_to_speak_of() -> None:
    """Whatever bars are heard in clicks that are all alike come from the sampling; a room's noise covers them."""
    rng = np.random.default_rng(2)
    for bpm in (72.0, 96.0, 127.3):
        clicks = click_track(np.arange(0.37, 20, 60 / bpm), "kick", RATE_HZ, 20.3)
        heard = in_hall(np.asarray(clicks, float) / np.abs(clicks).max(), rng)
        heard = heard / np.abs(heard).max() + 0.03 * rng.standard_normal(len(heard))
        for written in (3, 4):
            assert not [d for d in beats_of(heard, beats_per_bar=written).doubts if "bars of" in d]


@pytest.mark.parametrize("timbre", ["wood block", "kick", "piano", "beep"])
def test_a_plain_metronome_is_counted_in_eights_by_a_guess(timbre: Timbre) -> None:
    """At 72 a minute every third click has the same place between the values of the flux, which sounds like bars of three."""
    clicks = click_track(np.arange(0.37, 20, 60 / 72), timbre, RATE_HZ, 20.3)
    grid = beats_of(clicks)
    assert grid.counts.max() == 8
    assert "It is not certain that the music goes in fours." in grid.doubts
    assert "Which beat begins a bar is not certain either." in grid.doubts
    assert not [d for d in beats_of(clicks, beats_per_bar=4).doubts if "bars of" in d]


@pytest.mark.parametrize(("bar", "section"), [(3, 6), (4, 8)])
@pytest.mark.parametrize("fall_db", [4.0, 10.0])
def test_a_metronome_that_marks_its_bars_is_heard(bar: int, section: int, fall_db: float) -> None:
    beats = np.arange(0.37, 20, 60 / 100)
    gains = np.where(np.arange(len(beats)) % bar == 0, 0.5, 0.5 * 10 ** (-fall_db / 20))
    click = sound_of("wood block", RATE_HZ, np.random.default_rng(0))
    grid = beats_of(place(beats, [click] * len(beats), gains, RATE_HZ, 20.3))
    assert grid.counts.max() == section
    assert not any("not certain that the music" in d for d in grid.doubts)
