"""The review page's parts for giving the beat and for the counted sound, and the files that they hand over."""

from __future__ import annotations

import io
import json
import wave
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from streamlit.testing.v1 import AppTest

import motion.desk.recount
from motion.base.errors import BadInput
from motion.base.options import JudgeOptions
from motion.film.practice_sound import beats_of_taps, counted_wav, handed_over
from motion.jobs.queue import Job, find, judge_words, judged_before
from motion.music.taps import read_beats
from motion.store.folder import read_review

Shelve = Callable[..., Job]


@pytest.fixture
def page(open_page: Callable[..., AppTest]) -> Callable[..., AppTest]:
    return lambda: open_page("page_review.py", review="solo")


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """What the judgement was asked for, and the file that it was handed, read while it was there."""
    got: dict[str, Any] = {}

    def judge(folder: Path, options: JudgeOptions) -> None:
        file = options.beats or options.song
        beside = sorted(path.name for path in file.parent.iterdir()) if file else []
        text = file.read_bytes().decode("utf-8", "replace") if file else ""
        got.update(options=options, text=text, beside=beside, file=file)

    monkeypatch.setattr("motion.desk.recount.recount", judge)

    return got


def upload(app: AppTest, key: str) -> Any:
    return next(one for one in app.file_uploader if one.key == key)


def press(app: AppTest, key: str) -> AppTest:
    return app.button(key=key).click().run()


def test_a_distance_is_judged_with(page: Callable[[], AppTest], shelve: Shelve, asked: dict[str, Any]) -> None:
    shelve("solo", 1, 32)
    app = page()
    app.number_input(key="distance-solo-None").set_value(12.0)
    form = next(b for b in app.button if b.label == "Judge again" and "distance" in str(b.form_id))
    form.click().run()
    assert not app.exception
    assert asked["options"].distance_m == 12.0


def test_a_file_of_beats_goes_back_in(page: Callable[[], AppTest], shelve: Shelve, asked: dict[str, Any]) -> None:
    shelve("solo", 1, 32)
    app = page()
    upload(app, "beats-solo").set_value(("my beats.csv", b"time_s,count\n1.0,1\n1.5,2\n", "text/csv")).run()
    press(app, "use-beats")
    assert not app.exception
    assert asked["text"] == "time_s,count\n1.0,1\n1.5,2\n"
    assert asked["file"].name == "my beats.csv"
    assert not asked["file"].exists()  # only lent


def test_the_heard_beat_can_be_gone_back_to(page: Callable[[], AppTest], shelve: Shelve, asked: dict[str, Any]) -> None:
    path = shelve("solo", 1, 32).review / "review.json"
    assert not [b for b in page().button if b.key == "heard"]
    review = json.loads(path.read_text(encoding="utf-8"))
    review["beats"]["source"] = "taps"
    review["made_by"]["judged"] = {"bpm": 118.0, "first_count_s": 2.5, "starting_wall": 2}
    path.write_text(json.dumps(review), encoding="utf-8")
    press(page(), "heard")
    assert asked["options"] == JudgeOptions(heard=True, starting_wall=2)


def test_a_song_and_its_beats_are_handed_over_together(page: Callable[[], AppTest], shelve: Shelve, asked: dict[str, Any]) -> None:
    shelve("solo", 1, 32)
    app = page()
    upload(app, "song-solo").set_value(("our song.wav", b"RIFF", "audio/wav")).run()
    upload(app, "song-beats-solo").set_value(("whatever.csv", b"time_s,count\n1,1\n2,2\n", "text/csv")).run()
    press(app, "use-song")
    assert not app.exception
    assert asked["beside"] == ["our song.beats.csv", "our song.wav"]
    assert asked["options"].song == asked["file"]


def test_tapping_without_the_clip_says_where_it_should_be(page: Callable[[], AppTest], shelve: Shelve) -> None:
    shelve("solo", 1, 32)
    app = press(page(), "tap-ready")
    assert not app.exception
    assert any("The clip 'solo.mp4' is no longer where it was" in one.value for one in app.error)


def test_a_clip_without_a_beat_can_be_tapped(page: Callable[[], AppTest], shelve: Shelve) -> None:
    shelve("solo", 1, 32, sound=False)
    app = page()
    assert "Give the beat yourself" in [one.label for one in app.expander]
    assert "Practise with the counted sound" not in [one.label for one in app.expander]


def test_the_clip_is_made_ready_to_tap(
    page: Callable[[], AppTest], shelve: Shelve, make_film: Callable[..., None], tmp_path: Path
) -> None:
    clip = tmp_path / "lesson.mp4"
    make_film(clip, np.arange(5 * 10) / 10, click_s=1.5)
    shelve("solo", 1, 32, clip=clip)
    app = press(page(), "tap-ready")
    assert not app.exception
    assert not app.error


def test_taps_become_a_judgement(
    monkeypatch: pytest.MonkeyPatch, page: Callable[[], AppTest], shelve: Shelve, asked: dict[str, Any]
) -> None:
    job = shelve("solo", 1, 32)
    import part_taps

    review, one = read_review(job.review), SimpleNamespace(key="solo", sheet=None)
    judged: list[JudgeOptions] = []

    def judge(_: Any, options: JudgeOptions) -> None:
        judged.append(options)
        if options.beats:
            motion.desk.recount.recount(job.review, options)

    before = judged_before(review, None)
    part_taps.take_taps({"one": None, "done": None}, one, review, before, judge)
    assert judged == []
    part_taps.take_taps({"one": 4.25, "done": None}, one, review, before, judge)
    assert judged[-1].first_count_s == 4.25
    taps = [2.0 + 0.55 * k for k in range(24) if k != 5]
    part_taps.take_taps({"one": None, "done": {"taps": taps, "one": 4.2}}, one, review, before, judge)
    grid = read_beats(asked["text"])
    assert grid.source == "taps"
    assert grid.first_count_s == pytest.approx(4.2, abs=0.01)
    assert np.median(np.diff(grid.times_s)) == pytest.approx(0.55, abs=0.002)
    with pytest.raises(BadInput, match="The taps make no beat"):
        part_taps.take_taps({"one": None, "done": {"taps": [1.0, 2.0], "one": None}}, one, review, before, judge)


def test_taps_of_a_waltz_count_to_six(shelve: Shelve) -> None:
    review = read_review(shelve("solo", 1, 32).review)
    review["dance"]["section"] = 6
    name, content = beats_of_taps(review, [1.0 + 0.5 * k for k in range(20)], None)
    assert name == "taps.csv"
    assert read_beats(content.decode(), beats_per_bar=3).counts.max() == 6


def test_the_counted_sound_is_played_and_handed_out(page: Callable[[], AppTest], shelve: Shelve) -> None:
    shelve("solo", 1, 32)
    app = page()
    app.number_input(key="counted-from").set_value(9)
    app.radio(key="counted-speed").set_value(0.5)
    app.checkbox(key="counted-low").check()
    next(b for b in app.button if b.label == "Make it").click().run()
    assert not app.exception
    assert len(app.get("audio")) == 1
    assert [b.proto.label for b in app.get("download_button") if b.proto.label == "Keep it"] == ["Keep it"]


def test_the_counted_sound_has_the_counts_of_the_review(shelve: Shelve) -> None:
    job = shelve("solo", 1, 32)
    review = read_review(job.review)
    made = counted_wav(review, None, None, from_count=1, speed=1.0, low=False, voice=False)
    with wave.open(io.BytesIO(made)) as file:
        x = np.frombuffer(file.readframes(file.getnframes()), "<i2") / 32767
    loud = np.flatnonzero(np.abs(x) > 0.02)
    begins = loud[np.concatenate([[True], np.diff(loud) > 4410])] / 44_100
    beats = [t for t in review["beats"]["times_s"] if t >= review["beats"]["first_count_s"] - 1e-6]
    np.testing.assert_allclose(begins[4:] - begins[4], np.array(beats) - beats[0], atol=0.001)
    with pytest.raises(BadInput, match="from count 900 on"):
        counted_wav(review, None, None, from_count=900, speed=1.0, low=False, voice=False)
    with pytest.raises(BadInput, match="Without a beat"):
        counted_wav({**review, "beats": {"not_measured": "x"}}, None, None, from_count=1, speed=1.0, low=False, voice=False)


def test_too_late_a_count_is_told_on_the_page(page: Callable[[], AppTest], shelve: Shelve) -> None:
    shelve("solo", 1, 32)
    app = page()
    app.number_input(key="counted-from").set_value(500)
    next(b for b in app.button if b.label == "Make it").click().run()
    assert "The sound cannot be counted: the clip has no beats from count 500 on." in app.error[0].value


def test_what_is_lent_goes_again(work_folder: Path) -> None:
    with handed_over("../../a.csv", b"x") as path:
        assert path.is_relative_to(work_folder)
        assert path.read_bytes() == b"x"
    assert not path.parent.exists()

    def refused() -> None:
        with handed_over("a.csv", b"x") as lent:
            paths.append(lent)
            raise BadInput("no")

    paths: list[Path] = []
    with pytest.raises(BadInput):
        refused()
    assert not paths[0].parent.exists()


def test_song_and_distance_as_words() -> None:
    words = judge_words(JudgeOptions(song=Path("a song.mp3"), distance_m=12.5))
    assert words == ["--song=a song.mp3", "--distance=12.5"]
    assert judged_before({"made_by": {"judged": {"distance_m": 12.5, "song": "a song.mp3"}}}, None) == JudgeOptions(distance_m=12.5)
    assert find("nobody") is None
