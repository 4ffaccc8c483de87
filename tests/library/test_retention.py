"""What goes by its date, and the kept copies of clips with heads covered."""

from __future__ import annotations

import json
import time
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from made import made_review
from made_library import RATE_HZ, SIZE_PX, TODAY, holding, lit, shelve, store

from motion.base.errors import BadInput, ClipMissing
from motion.base.options import JudgeOptions
from motion.clip.video import open_clip
from motion.desk.correct import add, not_this_one
from motion.film.extract import cut, find_clip
from motion.film.take_home import default_handout
from motion.jobs.covered_copy import keep_viewing_copy, write_viewing
from motion.jobs.queue import as_filmed, find
from motion.library.classes import Library, library_file
from motion.library.consent import add_no, add_yes, consents, refusals, yes_for_one_review
from motion.library.retention import going, sweep
from motion.review.settings import SETTINGS
from motion.store.corrections import masks_in
from motion.store.folder import read_review, read_stored
from motion.tell.words import told_day

pytestmark = pytest.mark.usefixtures("cache_apart")


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


def test_films_to_take_along_beside_a_review_are_named_whatever_its_name_holds(library: Library, tmp_path: Path) -> None:
    folder = store(tmp_path / "lesson [1].review", expires="2031-03-10")
    default_handout(folder, 2).write_bytes(b"film")
    default_handout(tmp_path / "lesson 1.review", 2).write_bytes(b"another's film")
    done = sweep(library, [folder], today=date(2031, 3, 11))
    assert not folder.exists()
    assert done.left == (
        "The film lesson [1]-dancer-2.hand-out.mp4 beside the review stays: delete it there",
        "The clip practice.mp4 itself is yours, and stays where you keep it",
    )


def test_two_reviews_of_one_clip_are_told_apart_by_day_time_or_folder(library: Library, tmp_path: Path) -> None:
    began = {
        key: datetime(2031, 3, day, hour, minute, second).timestamp()
        for key, day, hour, minute, second in (
            ("a", 1, 9, 5, 0),
            ("b", 2, 9, 5, 0),
            ("c", 2, 17, 30, 0),
            ("d", 3, 9, 5, 7),
            ("e", 3, 9, 5, 8),
        )
    }
    for key, at in began.items():
        library.add_review(shelve(key, 1, started_at=at).review, job=key)
    folders = [store(tmp_path / name / "lesson.review", 1) for name in ("x", "y")]
    for folder in folders:
        library.add_review(folder)
    sweep(library, today=TODAY)
    library.add_review(tmp_path / "z.review")
    today = told_day(date.today())
    assert sorted(one.review for one in going(library)) == sorted(
        [
            "lesson.mp4 (1 Mar 2031)",
            "lesson.mp4 (2 Mar 2031, 09:05)",
            "lesson.mp4 (2 Mar 2031, 17:30)",
            "lesson.mp4 (3 Mar 2031, 09:05:07)",
            "lesson.mp4 (3 Mar 2031, 09:05:08)",
            *(f"practice.mp4 ({today}) in {folder}" for folder in folders),
            f"under way ({today})",
        ]
    )


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


def test_a_no_is_kept_for_as_long_as_it_holds(library: Library, tuesday: int) -> None:
    red, blue, _ = (one.id for one in library.dancers(tuesday))
    add_no(library, [red, blue], ("child",), today=TODAY)
    add_yes(library, [blue], ("child",), "2031-07-18", today=date(2031, 3, 5))
    a_year_on = date(2031, 3, 5) + timedelta(days=SETTINGS.library.records_kept_days)
    sweep(library, today=a_year_on)
    assert [one.dancer_id for one in refusals(library)] == [red, blue]
    sweep(library, today=a_year_on + timedelta(days=365))
    assert [one.dancer_id for one in refusals(library)] == [red]


def test_a_no_takes_that_dancers_yes_out_of_the_date_of_the_class(library: Library, tuesday: int, tmp_path: Path) -> None:
    red, blue, _ = (one.id for one in library.dancers(tuesday))
    library.add_review(store(tmp_path / "lesson.review", expires="2031-06-30"), class_id=tuesday)
    add_yes(library, [red], ("guardian", "child"), "2031-04-01", today=TODAY)
    add_yes(library, [blue], ("guardian", "child"), "2031-05-01", today=TODAY)
    sweep(library, today=TODAY)
    assert library.reviews()[0].expires == "2031-04-01"
    add_no(library, [red], ("child",), today=TODAY)  # they are taken out of the review, and the others stay
    sweep(library, today=TODAY)
    assert library.reviews()[0].expires == "2031-05-01"


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
