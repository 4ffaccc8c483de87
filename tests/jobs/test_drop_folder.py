"""The drop folder: which clips it offers, whose eyes may see them, and the folder that a person names."""

from __future__ import annotations

import os
import re
import shutil
import stat
import time
from dataclasses import replace
from pathlib import Path

import pytest

from motion.base.errors import BadInput, BadStore
from motion.base.home import home
from motion.base.options import JudgeOptions, WatchOptions
from motion.jobs.drop_folder import VIDEO, drop_folder, dropped, name_folder
from motion.jobs.queue import start
from motion.review.settings import SETTINGS

AT_ONCE = replace(SETTINGS.page, drop_still_s=0.0)


def put(path: Path, *, age_s: float = 60.0) -> Path:
    path.write_bytes(b"film")
    os.utime(path, (time.time() - age_s,) * 2)
    return path


def test_the_pages_own_folder_is_made_for_its_owner_alone() -> None:
    folder = drop_folder()
    assert folder == home() / "drop"
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    folder.chmod(0o755)
    assert stat.S_IMODE(drop_folder().stat().st_mode) == 0o700
    found = dropped()
    assert (found.clips, found.arriving, found.open_to_others) == ((), (), False)


def test_clips_are_offered_newest_first_and_nothing_else(tmp_path: Path) -> None:
    folder = drop_folder()
    old, new = put(folder / "monday.MP4", age_s=900.0), put(folder / "tuesday.mov", age_s=300.0)
    put(folder / "notes.txt")
    put(folder / ".hidden.mp4")
    (folder / "deeper.mp4").mkdir()
    put(folder / "deeper.mp4" / "inside.mp4")
    (folder / "link.mp4").symlink_to(put(tmp_path / "elsewhere.mp4"))
    assert dropped(settings=AT_ONCE).clips == (new, old)
    assert {"mp4", "mov", "webm"} <= set(VIDEO)


def test_a_clip_that_is_still_being_copied_waits() -> None:
    """Fresh bytes, an old date kept by the copying program, and a file with nothing in it yet."""
    fresh, dated, empty = drop_folder() / "a.mp4", drop_folder() / "b.mp4", drop_folder() / "c.mp4"
    put(fresh, age_s=0.0)
    put(dated, age_s=9e6)
    empty.touch()
    os.utime(empty, (1.0, 1.0))
    found = dropped()
    assert (found.clips, set(found.arriving)) == ((), {"a.mp4", "b.mp4", "c.mp4"})
    assert dropped(settings=replace(SETTINGS.page, drop_still_s=0.0)).clips == (fresh, dated)


def test_a_folder_that_is_named_is_remembered_and_keeps_its_rights(tmp_path: Path) -> None:
    mine = tmp_path / "klasse größer"
    mine.mkdir(mode=0o755)
    mine.chmod(0o755)
    put(mine / "lesson.mp4")
    assert name_folder(f' "{mine}" ') == mine
    found = dropped(settings=AT_ONCE)
    assert (found.folder, [path.name for path in found.clips], found.open_to_others) == (mine, ["lesson.mp4"], True)
    assert stat.S_IMODE(mine.stat().st_mode) == 0o755
    mine.chmod(0o700)
    assert not dropped().open_to_others
    assert name_folder("") == home() / "drop" == drop_folder()


@pytest.mark.parametrize("written", ["no such folder", "/no/such/folder", "."])
def test_what_is_no_folder_is_refused_and_the_earlier_one_stays(tmp_path: Path, written: str) -> None:
    name_folder(str(tmp_path))
    with pytest.raises(BadInput, match=re.escape(f"There is no folder {written}") + r"\.? Write the whole path"):
        name_folder(written)
    assert drop_folder() == tmp_path


def test_a_folder_that_is_gone_is_said_and_a_damaged_note_is_none(tmp_path: Path) -> None:
    mine = tmp_path / "stick"
    mine.mkdir()
    name_folder(str(mine))
    shutil.rmtree(mine)
    with pytest.raises(
        BadStore, match=r"The drop folder cannot be used \(.*stick: no such file or directory\). Name another folder"
    ):
        dropped()
    (home() / "drop.json").write_text("[1, {")
    assert drop_folder() == home() / "drop"


def test_a_dropped_clip_is_the_persons_own_and_stays() -> None:
    clip = put(drop_folder() / "lesson.mp4")
    job = start(clip, WatchOptions(), JudgeOptions(), title="lesson", command=("true",))
    assert (job.own_clip, job.clip) == (False, clip)
    assert clip.read_bytes() == b"film"
