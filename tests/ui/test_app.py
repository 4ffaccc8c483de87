"""Every page from stored reviews, without video and without a browser."""

from __future__ import annotations

import json
import re
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from html import unescape
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from streamlit.testing.v1 import AppTest

from motion.base.home import home
from motion.base.options import JudgeOptions, WatchOptions
from motion.clip import video as video_module
from motion.clip.pose_model import PoseModel
from motion.clip.video import open_clip
from motion.desk import page_server as page_module
from motion.desk.page_server import START_VARIABLE
from motion.jobs import queue as jobs_module
from motion.jobs.queue import Job, jobs, start, status
from motion.review.settings import SETTINGS

UI = Path(__file__).resolve().parents[2] / "ui"
PAGES = ("page_new.py", "page_review.py", "page_filming.py", "page_library.py", "page_numbers.py")
#: Words of engineers; the page says what they mean instead.
JARGON = re.compile(r"\b(bias|sigma|landmarks?|tracks?|overlay|confidence|localhost|vector|fps|frames?|percentiles?|bpm)\b", re.I)
#: Praise, blame and order have no place beside a dancer.
GRADES = re.compile(
    r"\b(well done|excellent|perfect|poor|bad|best|worst|score|rank(ed|ing)?|grade|correct|wrong|mistakes?|errors?)\b", re.I
)
Shelve = Callable[..., Job]


@pytest.fixture
def page(monkeypatch: pytest.MonkeyPatch) -> Callable[..., AppTest]:
    """Open a page as a browser would: page("page_review.py", review="id")."""
    monkeypatch.syspath_prepend(str(UI))

    def open_it(name: str, **asked: str) -> AppTest:
        app = AppTest.from_file(str(UI / "app.py"), default_timeout=20)
        for key, value in asked.items():
            app.query_params[key] = value
        app.run()
        return app.switch_page(name).run() if name != "page_new.py" else app

    return open_it


def shown(app: AppTest) -> str:
    """Everything that the page says, with the HTML in it as text."""
    said: list[str] = []

    def walk(block: Any) -> None:
        for child in getattr(block, "children", {}).values():
            proto = getattr(child, "proto", None)
            if proto is not None:
                said.extend(texts(proto))
            walk(child)

    walk(app.main)
    return unescape(re.sub(r"<[^>]*>", " ", "\n".join(said)))


def texts(proto: Any) -> list[str]:
    """Every string that a message shows to a person."""
    found = []
    for field, value in proto.ListFields():
        if field.name in (
            "id",
            "form_id",
            "url",
            "js_content",
            "css_content",
            "icon",
            "component_name",
            "page_script_hash",
            "url_pathname",
        ):
            continue
        if field.message_type is not None:
            for one in value if field.is_repeated else [value]:
                if hasattr(one, "ListFields"):
                    found += texts(one)
        elif isinstance(value, str):
            found.append(value)
        elif field.is_repeated:
            found += [one for one in value if isinstance(one, str)]
    return found


def test_the_words_of_every_page_are_plain(page: Callable[..., AppTest], shelve: Shelve) -> None:
    shelve("solo", 1, 64, start_view_deg=70.0, lag_ms=-60.0)
    for name in PAGES:
        said = shown(page(name))
        assert len(said) > 300, name
        assert JARGON.findall(said) == [], name
        assert GRADES.findall(said) == [], name


def test_an_empty_shelf_says_what_to_do(page: Callable[..., AppTest]) -> None:
    app = page("page_review.py")
    said = shown(app)
    assert not app.exception
    assert "No review yet." in said
    assert "Start one with a sample clip" in said


def test_a_solo_review(page: Callable[..., AppTest], shelve: Shelve) -> None:
    shelve("solo", 1, 32, start_view_deg=80.0, lag_ms=-120.0)
    app = page("page_review.py")
    said = shown(app)
    assert not app.exception
    assert app.title[0].value == "solo.mp4"
    assert "108 beats a minute. It was heard in the clip's own sound. It is clear." in said
    assert "As a rule clearly before the beat" in said
    assert "No landing was seen on count 7." in said
    assert "from the dancer's right side" in said
    assert "Dancer 1, wall 1, counts 1 to 32" in said  # the count line's own title
    assert "right foot lands and takes weight" in said  # and its legend
    assert [button.label for button in app.button if button.label.startswith("Play 0")] == ["Play 0:08.2", "Play 0:11.5"]
    assert app.query_params["review"] == "solo"


def test_dancers_in_standing_order_and_remembered(page: Callable[..., AppTest], shelve: Shelve) -> None:
    shelve("class", 3, 32, labels=("Red", None, "K"))
    app = page("page_review.py")
    choice = app.segmented_control(key="dancer")
    assert list(choice.options) == ["Dancer 1 · Red", "Dancer 2", "Dancer 3 · K"]
    assert "No landing was seen on count 7." in shown(app)
    choice.set_value("2").run()
    assert app.query_params["dancer"] == "2"
    assert "No landing was seen on count 7." not in shown(app)


def test_without_sound_the_reason_is_told(page: Callable[..., AppTest], shelve: Shelve) -> None:
    shelve("mute", 1, 32, sound=False, sheet=False)
    app = page("page_review.py")
    said = shown(app)
    assert not app.exception
    assert "The beat was not measured: the clip has no sound." in said
    assert "No count line can be drawn: the clip has no sound." in said
    assert "Put the counts right" not in said


def test_figures_are_folded_away(page: Callable[..., AppTest], shelve: Shelve) -> None:
    shelve("solo", 1, 32)
    app = page("page_review.py")
    inside = [e for e in app.expander if e.label.startswith("Show the figures")]
    assert inside
    assert not any(e.proto.expanded for e in inside)
    assert "Spread about it" in "".join(text for e in inside for text in (m.value for m in e.markdown))
    assert "Spread about it" not in "".join(m.value for m in app.main.markdown if m not in [x for e in inside for x in e.markdown])


@pytest.mark.parametrize("view", ["teacher", "student", "choreographer", "everything"])
def test_no_two_folds_on_a_page_are_called_alike(view: str, page: Callable[..., AppTest], shelve: Shelve) -> None:
    shelve("three", 3, 64)
    app = page("page_review.py")
    app.query_params["view"] = view
    app.run()
    labels = [e.label for e in app.expander if e.label.startswith("Show the figures")]
    assert labels
    assert len(set(labels)) == len(labels)
    assert all(label.startswith("Show the figures: ") for label in labels)


def test_the_makers_name_of_a_model_is_folded_away(page: Callable[..., AppTest], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("COUNTFALL_MODEL", raising=False)
    monkeypatch.setattr(
        "motion.desk.desktop_icon.cached_model", lambda quality: PoseModel(Path("fine"), "00", "fine", "@maker/file@0.5")
    )
    app = page("page_numbers.py")
    (folded,) = [e for e in app.expander if e.label == "Show the figures: the model"]
    assert "@maker/file@0.5" in folded.markdown[0].value
    plain = "".join(m.value for m in app.main.markdown if m not in [*folded.markdown])
    assert "found with the careful model, which is on this computer" in plain
    assert "@" not in plain


def test_a_gone_clip_is_told_where_it_would_play(page: Callable[..., AppTest], shelve: Shelve) -> None:
    shelve("solo", 1, 32)
    app = page("page_review.py")
    app.button(key="play-1-b").click().run()
    assert not app.exception
    assert "The clip 'solo.mp4' is no longer where it was. Put it back into the folder" in app.error[0].value


def test_a_damaged_review_says_so(page: Callable[..., AppTest], shelve: Shelve) -> None:
    job = shelve("solo", 1, 32)
    (job.review / "review.json").write_text("{", encoding="utf-8")
    app = page("page_review.py")
    assert not app.exception
    assert "is damaged or was not written by this program. Review the clip again." in app.error[0].value


@pytest.mark.parametrize(("block", "gone"), [("clip", "sha256"), ("beats", "times_s"), ("dance", "written"), ("dancers", "steps")])
def test_a_review_that_was_changed_by_hand_says_which_part_of_it_cannot_be_used(
    page: Callable[..., AppTest], shelve: Shelve, block: str, gone: str
) -> None:
    path = shelve("solo", 1, 32).review / "review.json"
    review = json.loads(path.read_text(encoding="utf-8"))
    part = review[block][0] if block == "dancers" else review[block]
    del part[gone]
    path.write_text(json.dumps(review), encoding="utf-8")
    for view in ("teacher", "student", "choreographer", "everything"):
        app = page("page_review.py", view=view)
        assert not app.exception, view
        assert f"its part '{block}' cannot be used" in app.error[0].value


def test_a_review_in_which_nobody_is_left_says_so(page: Callable[..., AppTest], shelve: Shelve) -> None:
    path = shelve("solo", 1, 32).review / "review.json"
    review = json.loads(path.read_text(encoding="utf-8")) | {"dancers": []}
    path.write_text(json.dumps(review), encoding="utf-8")
    for view in ("teacher", "student", "choreographer", "everything"):
        app = page("page_review.py", view=view)
        assert not app.exception, view
    assert "Nobody is left in this review" in shown(app)


def test_another_count_one_is_judged_at_once(page: Callable[..., AppTest], shelve: Shelve, monkeypatch: pytest.MonkeyPatch) -> None:
    job = shelve("solo", 1, 32)
    asked: list[tuple[Path, JudgeOptions]] = []
    monkeypatch.setattr("motion.desk.recount.recount", lambda folder, judge: asked.append((folder, judge)))
    app = page("page_review.py")
    app.button(key="later").click().run()
    # 108 beats a minute: 0.4 s + 8 beats + one more.
    assert asked == [(job.review, JudgeOptions(first_count_s=round(0.4 + 9 * 60 / 108, 4)))]
    app.number_input(key=f"first-solo-{round(0.4 + 8 * 60 / 108, 4)}").set_value(3.21)
    app.radio(key="speed-solo-same").set_value("double")
    next(b for b in app.button if b.label == "Judge again").click().run()
    assert asked[1:] == [(job.review, JudgeOptions(first_count_s=3.21, count_speed="double"))]


def test_deleting_a_review(page: Callable[..., AppTest], shelve: Shelve) -> None:
    job = shelve("solo", 1, 32)
    app = page("page_review.py")
    app.checkbox(key="sure-solo").check().run()
    app.button(key="delete").click().run()
    assert not job.folder.exists()
    assert "No review yet." in shown(app)


def test_a_folder_named_at_the_start_is_shown_first(
    page: Callable[..., AppTest], shelve: Shelve, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = shelve("solo", 1, 32)
    monkeypatch.setenv(START_VARIABLE, str(job.review))
    app = page("page_new.py")
    assert app.title[0].value == "solo.mp4"
    assert app.selectbox(key="review").value == "opened"


def test_a_bad_upload_is_refused_with_the_commands_sentence(page: Callable[..., AppTest]) -> None:
    from motion.base.errors import MotionError
    from motion.clip.video import open_clip

    app = page("page_new.py")
    app.radio(key="way").set_value("A clip of mine").run()
    app.file_uploader(key="clip-0").set_value(("notes.mp4", b"This is a letter, not a film.", "video/mp4")).run()
    assert not app.exception
    (kept,) = (home() / "uploads").rglob("notes.mp4")
    with pytest.raises(MotionError) as caught:
        open_clip(kept, settings=SETTINGS.clip)
    assert app.error[0].value == str(caught.value)
    assert not [b for b in app.button if b.key == "start"]
    app.button(key="another").click().run()
    assert not kept.exists()
    assert list(app.error) == []


def test_a_clip_that_is_not_there_is_refused(page: Callable[..., AppTest], tmp_path: Path) -> None:
    app = page("page_new.py")
    app.radio(key="way").set_value("A clip that lies on this computer").run()
    app.text_input(key="path").set_value(str(tmp_path / "nothing.mp4")).run()
    assert not app.exception
    assert app.error[0].value.startswith("There is no file 'nothing.mp4'")


def test_a_running_review_shows_how_far_it_is_and_can_be_stopped(page: Callable[..., AppTest], tmp_path: Path) -> None:
    wait = (
        "import json, os, time\n"
        "for share, ago in ((0.0, 10.0), (0.5, 0.0)):\n"
        "    line = json.dumps({'words': 'Reading the pictures', 'share': share, 'at': time.time() - ago})\n"
        "    open(os.environ['COUNTFALL_PROGRESS'], 'a').write(line + '\\n')\n"
        "time.sleep(60)\n"
    )
    (tmp_path / "lesson.mp4").write_bytes(b"film")
    job = start(
        tmp_path / "lesson.mp4",
        WatchOptions(),
        JudgeOptions(),
        title="lesson.mp4",
        command=(sys.executable, "-W", "ignore", "-c", wait),
    )
    await_state(job, lambda: status(job).share == 0.5)
    app = page("page_new.py")  # as after a reload: nothing is known but the work folder
    said = shown(app)
    assert not app.exception
    assert "Reviewing lesson.mp4" in said
    assert "Reading the pictures" in said
    assert re.search(r"Done in about (5|10) seconds", said)
    app.button(key="stop").click().run()
    await_state(job, lambda: status(job).state == "cancelled")
    app.run()
    assert "The review of lesson.mp4 was stopped." in shown(app)
    app.button(key="clear").click().run()
    assert jobs() == []


def await_state(job: Job, holds: Callable[[], bool]) -> None:
    for _ in range(400):
        if holds():
            return
        time.sleep(0.05)
    raise AssertionError(f"still {status(job)}")


def test_a_finished_and_a_failed_review_are_told(
    page: Callable[..., AppTest], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    refuse = "import sys; sys.exit('countfall: Nobody is ever wholly in the picture. Film the whole body.')"
    (tmp_path / "lesson.mp4").write_bytes(b"film")
    job = start(tmp_path / "lesson.mp4", WatchOptions(), JudgeOptions(), title="lesson.mp4", command=(sys.executable, "-c", refuse))
    await_state(job, lambda: status(job).state == "failed")
    app = page("page_new.py")
    assert app.error[0].value == "Nobody is ever wholly in the picture. Film the whole body."


def test_a_sample_brings_its_sheet_and_the_whole_way_to_a_review(
    page: Callable[..., AppTest], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, make_film: Callable[..., None]
) -> None:
    clip, sheet = tmp_path / "practice-solo.mp4", tmp_path / "lantern.csv"
    make_film(clip, np.arange(120) / 30, click_s=1.0)
    sheet.write_text("count,foot\n")
    monkeypatch.setattr(page_module, "samples", lambda: [("One dancer", clip, sheet)])
    monkeypatch.setattr(page_module, "dances", lambda: [("Gravel", tmp_path / "gravel.csv"), ("Lantern", sheet)])
    make = "import pathlib, sys; out = pathlib.Path(sys.argv[4]); out.mkdir(); (out / 'got').write_text(' '.join(sys.argv[5:]))"
    monkeypatch.setattr(jobs_module, "COMMAND", (sys.executable, "-c", make))
    app = page("page_new.py")
    assert not app.exception
    assert app.selectbox(key="dance-lantern").value == "Lantern"
    assert "practice-solo.mp4** lasts 4 seconds. The review will take about 15 seconds a dancer." in shown(app)
    app.radio(key="care").set_value("Quick")
    app.number_input(key="dancers").set_value(2)
    app.number_input(key="from").set_value(1.0)
    app.button(key="start").click().run()
    (job,) = jobs()
    await_state(job, lambda: status(job).state == "done")
    app.run()
    assert app.success[0].value == "The review of practice-solo.mp4 is ready."
    assert "The last review, of **practice-solo.mp4**, is ready." in shown(page("page_new.py"))  # also after a reload
    assert (job.review / "got").read_text() == f"--quality fast --dancers 2 --from 1.0 --dance={job.sheet}"
    assert job.sheet is not None
    assert job.sheet.read_text() == "count,foot\n"
    assert clip.exists()


def test_a_clip_without_sound_leads_to_where_the_beat_can_be_given(
    page: Callable[..., AppTest], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, make_film: Callable[..., None]
) -> None:
    make_film(tmp_path / "mute.mp4", np.arange(120) / 30, click_s=1.0)
    monkeypatch.setattr(video_module, "open_clip", lambda *args, **more: replace(open_clip(*args, **more), has_sound=False))
    app = page("page_new.py")
    app.radio(key="way").set_value("A clip that lies on this computer").run()
    app.text_input(key="path").set_value(str(tmp_path / "mute.mp4")).run()
    (told,) = [one.value for one in app.info if "no sound" in one.value]
    assert "Give the beat yourself" in told
    assert "command line" not in told


@pytest.mark.parametrize(
    ("seconds", "words"), [(4.0, "4 seconds"), (59.7, "1 minute"), (61.0, "1 minute 1 second"), (185.2, "3 minutes 5 seconds")]
)
def test_how_long_a_clip_is_reads_as_people_say_it(
    page: Callable[..., AppTest],
    seconds: float,
    words: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    make_film: Callable[..., None],
) -> None:
    clip = tmp_path / "tuesday.mp4"
    make_film(clip, np.arange(120) / 30, click_s=1.0)
    monkeypatch.setattr(video_module, "open_clip", lambda *args, **more: replace(open_clip(*args, **more), duration_s=seconds))
    app = page("page_new.py")
    app.radio(key="way").set_value("A clip that lies on this computer").run()
    app.text_input(key="path").set_value(str(clip)).run()
    assert f"lasts {words}. The review" in shown(app)


def test_a_button_that_waits_says_what_for(page: Callable[..., AppTest], tmp_path: Path, make_film: Callable[..., None]) -> None:
    clip = tmp_path / "tuesday.mp4"
    make_film(clip, np.arange(120) / 30, click_s=1.0)
    app = page("page_new.py")
    app.radio(key="way").set_value("A clip that lies on this computer").run()
    app.text_input(key="path").set_value(str(clip)).run()
    assert app.button(key="start").disabled
    assert "once it is written down above who is in the clip" in shown(app)
    app.radio(key="who-agreed").set_value("Only me, and I am grown up").run()
    assert not app.button(key="start").disabled
    assert "once it is written down above" not in shown(app)
