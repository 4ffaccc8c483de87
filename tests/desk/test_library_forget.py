"""What goes by its date, every trace of a dancer, what is held about one, and copies of clips with heads covered."""

from __future__ import annotations

import hashlib
import io
import json
import time
import zipfile
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from made import made_review

import motion.opened as opened_module
import motion.review as review_module
from motion import unfinished
from motion.amend import add, give_label, not_this_one
from motion.clip.video import open_clip, pictures
from motion.covers import COVER
from motion.desk import judge_folder
from motion.errors import BadInput, BadStore, ClipMissing, MotionError
from motion.extract import cut, find_clip
from motion.forget import HANDED_OUT, forget_dancer, forget_in_review, scrubbed
from motion.jobs import Job, as_filmed, find, home
from motion.library import Library, library_file, open_library
from motion.library_consent import add_yes, consents, yes_for_one_review
from motion.library_held import held_about, held_archive
from motion.library_sweep import forget_class, forget_lesson, sweep
from motion.options import JudgeOptions
from motion.report import report_html
from motion.settings import SETTINGS
from motion.store import read_review, read_stored, write_review
from motion.store_corrections import masks_in
from motion.store_json import review_json
from motion.viewing import keep_viewing_copy, write_viewing

TODAY = date(2031, 3, 1)
SIZE_PX = (384, 216)
RATE_HZ = 10.0
#: Labels that stand in no file by chance.
RED, BLUE = "Zinnober", "Ultramarin"


@pytest.fixture(autouse=True)
def apart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, judged_here: None) -> None:
    monkeypatch.setenv("COUNTFALL_CACHE", str(tmp_path / "cache"))


@pytest.fixture
def tuesday(library: Library) -> int:
    class_id = library.add_class("Tuesday beginners")
    library.set_line_up(class_id, [RED, BLUE, "K"])
    return class_id


@cache
def film() -> bytes:
    """A film as long as a stored review, of dark noise with one click at 1 s in its sound."""
    import av

    times_s, made = made_review(1, 8, rate_hz=RATE_HZ).landmarks.times_s, io.BytesIO()
    sound = np.zeros(round((times_s[-1] + 0.1) * 44_100), np.float32)
    sound[44_100:][:60] = 0.9
    dark = np.random.default_rng(1).integers(20, 60, (SIZE_PX[1], SIZE_PX[0], 3), dtype=np.uint8)
    with av.open(made, "w", format="mp4") as box:
        video = box.add_stream("libx264", options={"crf": "10", "preset": "ultrafast"})
        video.width, video.height, video.pix_fmt = *SIZE_PX, "yuv420p"
        video.codec_context.time_base = Fraction(1, 90_000)
        heard = box.add_stream("aac", rate=44_100, layout="mono")
        for time_s in times_s:
            frame = av.VideoFrame.from_ndarray(dark, format="rgb24")
            frame.pts, frame.time_base = round(time_s * 90_000), Fraction(1, 90_000)
            box.mux(video.encode(frame))
        box.mux(video.encode(None))
        piece = av.AudioFrame.from_ndarray(sound[None, :], format="fltp", layout="mono")
        piece.sample_rate, piece.pts, piece.time_base = 44_100, 0, Fraction(1, 44_100)
        box.mux(heard.encode(piece))
        box.mux(heard.encode(None))
    return made.getvalue()


def store(folder: Path, dancers: int = 3, *, clip: Path | None = None, expires: str | None = None, **options: Any) -> Path:
    """A stored review, of a clip that may be there."""
    made = made_review(dancers, 8, size_px=SIZE_PX, rate_hz=RATE_HZ, expires=expires, **options)
    if clip is not None:
        digest = hashlib.sha256(clip.read_bytes()).hexdigest()
        made = replace(made, clip=replace(made.clip, sha256=digest, name=clip.name))
    folder.parent.mkdir(parents=True, exist_ok=True)
    write_review(folder, made, extra_arrays={}, report_html=report_html(review_json(made)))
    return folder


def shelve(
    key: str, dancers: int = 3, *, own: bool = True, started_at: float | None = None, quality: str = "fine", **options: Any
) -> Job:
    """A finished job with its clip: the page's own copy, or one that lies elsewhere."""
    folder = home() / "jobs" / key
    (folder / "clip").mkdir(parents=True)
    place = folder / "clip" if own else home().parent
    clip = place / "lesson.mp4"
    clip.write_bytes(film())
    store(folder / "review", dancers, clip=clip, **options)
    asked = {
        "clip": str(clip), "sheet": None, "title": clip.name, "own_clip": own, "argv": ["--quality", quality],
        "started_at": time.time() if started_at is None else started_at,
    }  # fmt: skip
    (folder / "job.json").write_text(json.dumps(asked))
    (folder / "ended.json").write_text(json.dumps({"code": 0, "stopped": False}))
    job = find(key)
    assert job is not None
    return job


def call(folder: Path, number: int, label: str) -> None:
    """Give a label as the page does."""
    add(folder, give_label(read_review(folder), number, label), JudgeOptions())


def bytes_under(*places: Path) -> dict[str, bytes]:
    """Every file under these places, and what is packed in it."""
    found: dict[str, bytes] = {}
    for path in (p for place in places for p in place.rglob("*") if p.is_file()):
        found[str(path)] = path.read_bytes()
        if path.suffix == ".npz":
            with np.load(path) as arrays:
                found |= {f"{path}:{name}": arrays[name].tobytes() for name in arrays.files}
    return found


def holding(word: str, *places: Path) -> list[str]:
    return [name for name, content in bytes_under(*places).items() if word.lower().encode() in content.lower()]


# --- what goes by its date


def test_a_review_folder_goes_after_its_day_and_the_clip_beside_it_stays(library: Library, tmp_path: Path) -> None:
    clip = tmp_path / "lesson.mp4"
    clip.write_bytes(b"film")
    folder = store(tmp_path / "clips" / "lesson.review", expires="2031-03-10", clip=clip)
    assert sweep(library, [tmp_path / "clips"], today=date(2031, 3, 10)).deleted == ()  # its last day still holds
    assert folder.is_dir()
    done = sweep(library, today=date(2031, 3, 11))  # remembered since it was told
    assert done.deleted == (f"The review of lesson.mp4 in {folder}, kept until 10 Mar 2031",)
    assert done.left == ("The clip lesson.mp4 itself is yours, and stays where you keep it",)
    assert not folder.exists()
    assert clip.exists()
    assert library.reviews() == []
    assert library.rows("SELECT count(*) FROM clips")[0][0] == 0


def test_files_of_others_in_a_review_folder_stay(library: Library, tmp_path: Path) -> None:
    folder = store(tmp_path / "lesson.review", expires="2031-03-10")
    (folder / "my notes.txt").write_text("mine")
    done = sweep(library, [folder], today=date(2031, 3, 11))
    assert [path.name for path in folder.iterdir()] == ["my notes.txt"]
    assert any("such as my notes.txt" in line for line in done.left)


def test_a_review_without_a_date_stays_and_one_that_was_moved_is_no_longer_known(library: Library, tmp_path: Path) -> None:
    folder = store(tmp_path / "lesson.review")
    assert sweep(library, [folder], today=date(2099, 1, 1)).deleted == ()
    folder.rename(tmp_path / "elsewhere")
    sweep(library, today=date(2099, 1, 1))
    assert library.reviews() == []


def test_a_damaged_review_is_named_and_the_others_are_still_swept(library: Library, tmp_path: Path) -> None:
    bad, old = store(tmp_path / "a.review", expires="2031-03-10"), store(tmp_path / "b.review", expires="2031-03-10")
    (bad / "review.json").write_text("{")
    done = sweep(library, [tmp_path], today=date(2031, 3, 11))
    assert not old.exists()
    assert bad.exists()
    assert any("is damaged" in line for line in done.left)


def test_telling_of_a_folder_that_is_none(library: Library, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="There is no folder"):
        sweep(library, [tmp_path / "nothing"])


def test_the_first_yes_that_runs_out_is_a_reviews_last_day(library: Library, tuesday: int, tmp_path: Path) -> None:
    folder = store(tmp_path / "lesson.review", expires="2031-06-30")
    lesson = library.add_lesson(tuesday, "2031-03-01", "Turns")
    library.add_review(folder, lesson_id=lesson)
    red, blue, _ = library.dancers(tuesday)
    add_yes(library, [red.id], ("guardian", "child"), "2031-05-01", today=TODAY)
    add_yes(library, [blue.id], ("adult",), "2031-06-01", today=TODAY)
    sweep(library, today=date(2031, 5, 1))
    assert library.reviews()[0].expires == "2031-05-01"
    add_yes(library, [red.id], ("guardian", "child"), "2031-12-01", today=TODAY)  # asked again in time
    sweep(library, today=date(2031, 5, 2))
    assert library.reviews()[0].expires == "2031-06-01"
    assert sweep(library, today=date(2031, 6, 2)).deleted != ()
    assert not folder.exists()


def test_a_yes_for_one_review_ends_it_and_goes_with_it(library: Library, tmp_path: Path) -> None:
    folder = store(tmp_path / "lesson.review", expires="2031-06-30")
    library.add_review(folder, consent_id=yes_for_one_review(library, "myself", "2031-03-20", today=TODAY))
    assert sweep(library, today=date(2031, 3, 20)).deleted == ()
    assert sweep(library, today=date(2031, 3, 21)).deleted != ()
    assert library.rows("SELECT count(*) FROM consents")[0][0] == 0


def test_lessons_and_ended_agreements_go_a_school_year_later(library: Library, tuesday: int) -> None:
    red = library.dancers(tuesday)[0].id
    old, new = library.add_lesson(tuesday, "2031-03-01", "Turns"), library.add_lesson(tuesday, "2032-03-01", "Restart")
    for lesson in (old, new):
        library.judge(lesson, red, "On the beat", "often")
        library.store_lesson_record({"lesson": lesson}, lesson)
    add_yes(library, [red], ("adult",), "2031-03-05", today=TODAY)
    a_year_on = date(2031, 3, 1) + timedelta(days=SETTINGS.library.records_kept_days)
    assert sweep(library, today=a_year_on).deleted == ()
    assert sweep(library, today=a_year_on + timedelta(days=1)).deleted == ("The lesson Turns of 1 Mar 2031",)
    assert [one.id for one in library.lessons()] == [new]
    assert [one.lesson_id for one in library.judgements(dancer_id=red)] == [new]
    assert library.lesson_records() == [{"lesson": new}]
    assert len(consents(library)) == 1
    sweep(library, today=a_year_on + timedelta(days=5))
    assert consents(library) == []
    assert holding("Turns", library_file().parent) == []


def test_a_job_goes_with_its_copy_and_a_clip_of_ones_own_stays(library: Library) -> None:
    own, theirs = shelve("a", expires="2031-03-10"), shelve("b", own=False, expires="2031-03-10")
    sweep(library, today=date(2031, 3, 11))
    assert find("a") is find("b") is None
    assert not own.folder.exists()
    assert theirs.clip.is_file()


def test_what_was_broken_off_long_ago_goes_with_its_copy(library: Library) -> None:
    yesterday = time.time() - 2 * SETTINGS.page.upload_kept_s
    old, new, kept = shelve("old", started_at=yesterday), shelve("new"), shelve("mine", own=False, started_at=yesterday)
    for job in (old, new, kept):
        (job.folder / "ended.json").write_text(json.dumps({"code": 1, "stopped": False}))
    sweep(library, today=TODAY)
    assert [find(key) is None for key in ("old", "new", "mine")] == [True, False, False]


# --- the kept copy


def lit(path: Path, time_s: float) -> np.ndarray:
    """Where the picture of a dark film is covered, at a moment."""
    clip = open_clip(path, settings=SETTINGS.clip)
    with pictures(path, clip, settings=SETTINGS.clip, from_s=time_s) as shown:
        return np.abs(next(iter(shown)).rgb.astype(int) - COVER).max(axis=2) < 30


def test_the_kept_copy_covers_heads_keeps_times_and_sound_and_still_plays(library: Library) -> None:
    job = shelve("a")
    before = open_clip(job.clip, settings=SETTINGS.clip)
    assert sweep(library, today=TODAY).covered == 1
    job = find("a") or job
    assert sorted(path.name for path in job.clip.parent.iterdir()) == ["viewing.json", "viewing.mp4"]
    assert as_filmed(job) is None
    review = read_review(job.review)
    kept = find_clip(job.clip, review)
    assert kept.sha256 != before.sha256
    np.testing.assert_allclose(kept.times_s, before.times_s, atol=2e-5)
    assert (kept.width_px, kept.height_px) == SIZE_PX
    stored = read_stored(job.review)
    k = len(stored.landmarks.times_s) // 2
    covered = lit(job.clip, float(stored.landmarks.times_s[k]))
    for x, y in stored.landmarks.image_px[k, :, 0]:  # noses
        assert covered[round(y), round(x)]
    for x, y in stored.landmarks.image_px[k, :, 24]:  # hips
        assert not covered[round(y), round(x)]
    assert cut(job.clip, kept, 1.0, 2.0, masks_in(job.review))[4:8] == b"ftyp"
    import av

    with av.open(str(job.clip)) as box:
        sound = [(float(f.time or 0), f.to_ndarray()[0]) for f in box.decode(audio=0)]
    samples = np.concatenate([s for _, s in sound])
    assert sound[0][0] + np.argmax(np.abs(samples)) / 44_100 == pytest.approx(1.0, abs=0.005)
    assert sweep(library, today=TODAY).covered == 0  # once is enough


def test_a_film_is_no_kept_copy_without_its_record(library: Library) -> None:
    job = shelve("a")
    keep_viewing_copy(job)
    job = find("a") or job
    review = read_review(job.review)
    film = job.clip.read_bytes()
    job.clip.write_bytes(film + b"\0\0\0\x08free")  # plays, and is another file
    with pytest.raises(ClipMissing, match="is not the clip that was reviewed"):
        find_clip(job.clip, review)
    job.clip.write_bytes(film)
    find_clip(job.clip, review)
    (job.clip.parent / "viewing.json").write_text("{")
    with pytest.raises(ClipMissing, match="is not the clip that was reviewed"):
        find_clip(job.clip, review)


def test_a_clip_of_ones_own_is_never_touched(library: Library) -> None:
    job = shelve("a", own=False)
    before = job.clip.read_bytes()
    assert not keep_viewing_copy(job)
    sweep(library, today=TODAY)
    assert job.clip.read_bytes() == before


def test_after_a_quick_look_the_clip_stays_as_filmed_for_a_day(library: Library) -> None:
    job = shelve("a", quality="fast")
    assert sweep(library, today=TODAY).covered == 0
    assert as_filmed(job) == job.clip
    old = shelve("b", quality="fast", started_at=time.time() - 2 * SETTINGS.page.upload_kept_s)
    assert sweep(library, today=TODAY).covered == 1
    assert as_filmed(find("b") or old) is None


def test_a_copy_that_cannot_be_covered_is_not_kept_for_long(library: Library) -> None:
    job = shelve("a", started_at=time.time() - 2 * SETTINGS.page.upload_kept_s)
    job.clip.write_bytes(b"no film")
    assert sweep(library, today=TODAY).left != ()
    assert not job.clip.exists()
    assert job.review.is_dir()


def test_outside_the_part_that_was_reviewed_nobody_is_shown(library: Library) -> None:
    job = shelve("a")
    part = made_review(3, 8, size_px=SIZE_PX, rate_hz=RATE_HZ).landmarks
    late = part.times_s > 3.5
    stored = read_stored(job.review)
    clipped = type(part)(part.times_s[late], part.ids, part.image_px[late], part.visibility[late], part.unsure)
    path = job.folder / "out.mp4"
    write_viewing(job.clip, replace(stored, landmarks=clipped), path)
    assert lit(path, 1.0).all()
    assert not lit(path, 4.0).all()


def test_whoever_is_covered_by_hand_later_is_covered_in_the_kept_copy_at_the_next_sweep(library: Library) -> None:
    job = shelve("a")
    sweep(library, today=TODAY)
    job = find("a") or job
    lm = read_stored(job.review).landmarks
    k = len(lm.times_s) // 2
    x, y = lm.image_px[k, 0, 24]
    add(job.review, not_this_one(read_review(job.review), 1), JudgeOptions())
    assert not lit(job.clip, float(lm.times_s[k]))[round(y), round(x)]
    assert sweep(library, today=TODAY).covered == 1
    assert lit(job.clip, float(lm.times_s[k]))[round(y), round(x)]


# --- one dancer


def test_deleting_a_dancer_leaves_no_trace_in_file_or_database(library: Library, tuesday: int) -> None:
    job = shelve("a")
    lesson = library.add_lesson(tuesday, "2031-03-01", f"{RED} leads")
    library.add_review(job.review, job="a", lesson_id=lesson)
    call(job.review, 2, RED)
    call(job.review, 3, BLUE)
    kept = json.loads((job.review / "corrections.json").read_text())
    kept["clips"]["another clip's"] = next(iter(kept["clips"].values()))
    (job.review / "corrections.json").write_text(json.dumps(kept))
    sweep(library, today=TODAY)
    red, blue, _ = library.dancers(tuesday)
    library.judge(lesson, red.id, "On the beat", "often", "better")
    library.judge(lesson, blue.id, "On the beat", "often", f"watch {RED}")
    library.store_lesson_record({"rows": [{"label": RED, "late": 2}, {"label": BLUE}], RED: 1, "note": f"{RED}, well"}, lesson)
    add_yes(library, [red.id], ("guardian", "child"), "2031-07-18", said_by=f"mother of {RED}", today=TODAY)
    library.log_export("hand-out", "handout.mp4", dancer_id=red.id)
    library.log_export("report", "report.html", folder=job.review)
    (unfinished.folder()).mkdir(parents=True)
    (unfinished.folder() / "note.npz").write_bytes(b"where people stood")
    lm = read_stored(job.review).landmarks
    k = len(lm.times_s) // 2
    hip = lm.image_px[k, 1, 24]
    assert holding(RED, home())

    done = forget_dancer(library, red.id)

    assert holding(RED, home()) == []
    assert holding(BLUE, home()) != []
    stored = read_stored(job.review)
    assert stored.landmarks.image_px.shape[1] == 2
    everything = np.concatenate([a.ravel() for a in stored.arrays.values()] + [stored.landmarks.image_px.ravel()])
    assert np.isin(lm.image_px[k, 0, :, 0], everything).all()
    assert not np.isin(lm.image_px[k, 1, :, 0], everything).any()  # not one of their points is left
    assert [one["label"] for one in stored.review["dancers"]] == [None, BLUE]
    for table in ("steps.csv", "angles.csv"):
        assert {line.split(",")[0] for line in (job.review / table).read_text().splitlines()[1:]} <= {"1", "2"}
    assert lit((find("a") or job).clip, float(lm.times_s[k]))[round(hip[1]), round(hip[0])]
    assert list(unfinished.folder().iterdir()) == []
    assert library.labels_in_standing_order(tuesday) == [BLUE, "K"]
    assert library.lesson_records(lesson) == [{"rows": [{"label": BLUE}], "note": "…, well"}]
    assert [one.words for one in library.judgements(lesson_id=lesson)] == ["watch …"]
    assert library.lessons(tuesday)[0].title == "… leads"
    said = "\n".join(done.left)
    assert "hand-out, handout.mp4, handed out on" in said
    assert "report, report.html, handed out on" in said
    assert "shows dancers without a label" in said
    assert done.left[-1] == HANDED_OUT
    assert [e.name for e in library.exports()] == ["report.html"]


def test_nothing_of_a_label_is_left_in_the_librarys_own_files(library: Library, tuesday: int) -> None:
    """Looked at while the library is open, so that its log and the log's index lie beside it; long words fill pages of their own."""

    def files() -> dict[str, bytes]:
        return {end: Path(f"{library_file()}{end}").read_bytes() for end in ("", "-wal", "-shm")}

    red, *_, k = library.dancers(tuesday)
    for n in range(30):
        lesson = library.add_lesson(tuesday, "2031-03-01", f"Evening {n} with {RED}")
        library.judge(lesson, red.id, "On the beat", "often", f"{RED} " * 300)
        library.judge(lesson, k.id, "On the beat", "often", f"beside {RED}")
        library.store_lesson_record({"rows": [{"label": RED, "said": f"{RED} " * 300}]}, lesson)
        if n == 20:
            library.rows("PRAGMA wal_checkpoint(TRUNCATE)")  # the label lies in the file itself, and then in its log too
    before = files()
    assert RED.encode() in before[""]
    assert RED.encode() in before["-wal"]
    forget_dancer(library, red.id)
    after = files()
    assert after.keys() == before.keys()
    for coded in (RED.encode(), RED.lower().encode(), RED.upper().encode(), RED.encode("utf-16-le")):
        assert [end for end, content in after.items() if coded in content] == []
    assert BLUE.encode() in after[""]


def test_a_judgement_taken_back_is_in_no_file_and_no_later_export(library: Library, tuesday: int) -> None:
    red, blue, _ = library.dancers(tuesday)
    lesson = library.add_lesson(tuesday, "2031-03-01", "Turns")
    library.judge(lesson, blue.id, "On the beat", "often", "stays")
    library.judge(lesson, red.id, "On the beat", "often", "verschwindet")
    library.rows("PRAGMA wal_checkpoint(TRUNCATE)")
    library.judge(lesson, red.id, "Steps", "often", "verschwindet")
    assert len(holding("verschwindet", home())) >= 2  # in the file and in its log
    assert len(held_about(library, red.id)["judgements"]) == 2
    library.take_back(lesson, red.id)
    assert holding("verschwindet", home()) == []
    assert held_about(library, red.id)["judgements"] == []
    with zipfile.ZipFile(io.BytesIO(held_archive(library, red.id))) as box:
        assert not [name for name in box.namelist() if b"verschwindet" in box.read(name) or b"often" in box.read(name)]
    assert [one.words for one in library.judgements()] == ["stays"]


def test_a_review_that_shows_nobody_else_goes_whole(library: Library, tuesday: int) -> None:
    job = shelve("a", 1)
    library.add_review(job.review, job="a", class_id=tuesday)
    call(job.review, 1, RED)
    done = forget_dancer(library, library.dancers(tuesday)[0].id)
    assert find("a") is None
    assert not job.folder.exists()
    assert done.done[0] == "The review of lesson.mp4 is deleted"
    assert holding(RED, home()) == []


def test_a_label_given_to_somebody_who_is_found_no_longer_goes_too(library: Library, tuesday: int, tmp_path: Path) -> None:
    folder = store(tmp_path / "lesson.review")
    library.add_review(folder, class_id=tuesday)
    call(folder, 2, RED)
    kept = json.loads((folder / "corrections.json").read_text())
    (rows,) = kept["clips"].values()
    rows[0]["at"]["x_px"] += 5000  # nobody stands there
    kept["clips"]["another clip's"] = rows
    (folder / "corrections.json").write_text(json.dumps(kept))
    judge_folder(folder, JudgeOptions())
    assert holding(RED, folder)
    forget_dancer(library, library.dancers(tuesday)[0].id)
    assert holding(RED, folder, library_file().parent) == []
    assert len(read_review(folder)["dancers"]) == 3


def test_a_review_of_another_class_with_the_same_label_is_named_and_not_touched(
    library: Library, tuesday: int, tmp_path: Path
) -> None:
    other = library.add_class("Friday")
    folder = store(tmp_path / "friday.review")
    library.add_review(folder, class_id=other)
    call(folder, 2, RED)
    before = bytes_under(folder)
    done = forget_dancer(library, library.dancers(tuesday)[0].id)
    assert bytes_under(folder) == before
    assert any("also has a dancer called" in line for line in done.left)


def test_what_still_says_the_label_is_named(library: Library, tuesday: int, tmp_path: Path) -> None:
    clip = tmp_path / f"{RED}.mp4"
    clip.write_bytes(b"film")
    folder = store(tmp_path / "lesson.review", clip=clip)
    library.add_review(folder, class_id=tuesday)
    call(folder, 2, RED)
    done = forget_dancer(library, library.dancers(tuesday)[0].id)
    assert any(f"still says {RED}, perhaps as the clip's name" in line for line in done.left)
    assert any(line.startswith(f"The clip {RED}.mp4 itself is yours") for line in done.left)


def test_when_a_review_cannot_be_changed_the_dancer_stays_to_be_deleted_again(
    library: Library, tuesday: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = store(tmp_path / "lesson.review")
    library.add_review(folder, class_id=tuesday)
    call(folder, 2, RED)
    red = library.dancers(tuesday)[0].id

    def fails(*_: Any, **__: Any) -> None:
        raise MotionError("Judging again took too long and was stopped")

    with monkeypatch.context() as patched:
        patched.setattr("motion.amend.rejudge", fails)
        with pytest.raises(MotionError, match="took too long"):
            forget_dancer(library, red)
    assert library.dancer(red).label == RED
    forget_dancer(library, red)
    assert holding(RED, folder, library_file().parent) == []


def test_somebody_without_a_label_can_be_taken_out_of_one_review(library: Library) -> None:
    job = shelve("a")
    library.add_review(job.review, job="a")
    judge_folder(job.review, JudgeOptions())
    assert (opened_module._laid_open.cache_info().currsize, review_module._bodies.cache_info().currsize) == (1, 1)
    forget_in_review(library, library.reviews()[0], [1, 2])
    assert (opened_module._laid_open.cache_info().currsize, review_module._bodies.cache_info().currsize) == (0, 0)
    assert len(read_review(job.review)["dancers"]) == 1
    judge_folder(job.review, JudgeOptions())
    forget_in_review(library, library.reviews()[0], [1])
    assert find("a") is None
    assert (opened_module._laid_open.cache_info().currsize, review_module._bodies.cache_info().currsize) == (0, 0)


def test_lessons_and_classes_go_with_all_that_belongs_to_them(library: Library, tuesday: int, tmp_path: Path) -> None:
    job, folder = shelve("a"), store(tmp_path / "b.review")
    lesson = library.add_lesson(tuesday, "2031-03-01", "Turns")
    library.add_review(job.review, job="a", lesson_id=lesson)
    library.add_review(folder, class_id=tuesday)
    forget_lesson(library, lesson)
    assert (find("a"), folder.exists(), library.lessons()) == (None, True, [])
    forget_class(library, tuesday)
    assert (folder.exists(), library.classes()) == (False, [])
    assert holding("Tuesday", library_file().parent) == holding(BLUE, library_file().parent) == []


def test_the_library_says_so_if_old_pages_cannot_be_cleared_away(library: Library, tuesday: int) -> None:
    library.rows("PRAGMA busy_timeout = 0")
    with open_library() as other:
        other.rows("BEGIN")
        other.dancers(tuesday)
        with pytest.raises(BadStore, match="in use by another window"):
            forget_dancer(library, library.dancers(tuesday)[0].id)


def test_scrubbing_takes_the_label_and_nothing_that_only_contains_it() -> None:
    before = {"rows": [["Red", "Blue"], {"who": "red", "n": 1}], "words": "Redo what Red did", "n": 3, "none": None}
    assert scrubbed(before, "Red") == {"rows": [["Blue"]], "words": "Redo what … did", "n": 3, "none": None}


# --- what is held


def test_what_is_held_is_all_of_one_dancer_and_nothing_of_another(library: Library, tuesday: int) -> None:
    job = shelve("a", own=False, expires="2031-06-30")
    lesson = library.add_lesson(tuesday, "2031-03-01", "Turns")
    library.add_review(job.review, job="a", lesson_id=lesson)
    call(job.review, 2, RED)
    call(job.review, 3, BLUE)
    sweep(library, today=TODAY)
    red, blue, k = library.dancers(tuesday)
    library.judge(lesson, red.id, "On the beat", None)
    library.judge(lesson, blue.id, "On the beat", "often")
    library.store_lesson_record({"rows": [{"label": RED, "late": 2}, {"label": BLUE, "late": 5}]}, lesson)
    add_yes(library, [red.id, blue.id], ("adult",), "2031-07-18", today=TODAY)
    for what in ("The film of dancer 2", "The film of dancer 3", "The counted clip"):
        library.log_export(what, "file.mp4", folder=job.review)
    held = held_about(library, red.id)
    assert [one["what"] for one in held["handed_out"]] == ["The film of dancer 2", "The counted clip"]  # dancer 3 is Blue's
    assert (held["label"], held["class"], held["place_in_line"]) == (RED, "Tuesday beginners", 1)
    assert [one["until"] for one in held["agreed"]] == ["2031-07-18"]
    assert [one["level"] for one in held["judgements"]] == [None]
    assert held["lesson_records"] == [[[{"label": RED, "late": 2}]]]
    assert [one["data"][0]["id"] for one in held["reviews"]] == [2]
    with zipfile.ZipFile(io.BytesIO(held_archive(library, red.id))) as box:
        names = sorted(box.namelist())
        assert names == ["held.html", "held.json", "review-1/angles.csv", "review-1/points.npz", "review-1/steps.csv"]
        assert json.loads(box.read("held.json")) == json.loads(json.dumps(held))
        assert box.read("review-1/steps.csv").startswith(b"dancer,time_s")
        rows = box.read("review-1/angles.csv").decode().splitlines()
        assert {row.split(",")[0] for row in rows[1:]} == {"2"}
        with np.load(io.BytesIO(box.read("review-1/points.npz"))) as points:
            assert points["ids"].tolist() == [2]
            assert np.array_equal(points["image_px"][:, 0], read_stored(job.review).landmarks.image_px[:, 1], equal_nan=True)
        assert BLUE.encode() not in b"".join(box.read(name) for name in names)
        page = box.read("held.html").decode()
        for words in (
            "not assessable",
            "The film of dancer 2, file.mp4",
            "data protection authority",
            "points.npz, where the points",
        ):
            assert words in page
    assert [(e.what, e.dancer_id) for e in library.exports()][3:] == [("What is held about a dancer", red.id)]
    assert held_about(library, k.id)["reviews"] == []


def test_nothing_can_be_held_about_somebody_who_is_not_there(library: Library) -> None:
    with pytest.raises(BadInput, match="not in the library"):
        held_about(library, 5)
