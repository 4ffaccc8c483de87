"""`countfall sweep`, and how reviews made on the command line come to be known."""

from __future__ import annotations

import json
import sys
import time
from datetime import date, timedelta
from pathlib import Path

import pytest
from made import made_review

from motion.cli.main import main
from motion.jobs import queue as jobs_module
from motion.jobs.queue import sweep_aside
from motion.library.classes import library_file, open_library, remembered
from motion.store.folder import write_review
from motion.tell.words import told_day

YESTERDAY, TOMORROW = ((date.today() + timedelta(days=by)).isoformat() for by in (-1, 1))


def store(folder: Path, expires: str | None) -> Path:
    folder.parent.mkdir(parents=True, exist_ok=True)
    write_review(folder, made_review(1, 4, expires=expires), extra_arrays={}, report_html=None)
    return folder


def test_sweep_says_what_it_deleted_and_what_it_left(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    old, new = store(tmp_path / "clips" / "old.review", YESTERDAY), store(tmp_path / "clips" / "new.review", TOMORROW)
    assert main(["sweep", str(tmp_path / "clips")]) == 0
    said = capsys.readouterr()
    assert said.out.startswith(f"Deleted: The review of practice.mp4 in {old}, kept until ")
    assert said.out.endswith("1 review is known and within its time.\n")
    assert said.err == "The clip practice.mp4 itself is yours, and stays where you keep it.\n"
    assert (old.exists(), new.exists()) == (False, True)


def test_a_review_of_the_command_line_is_found_later_without_being_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = store(tmp_path / "lesson.review", YESTERDAY)
    assert remembered(folder, YESTERDAY).startswith(f"It is deleted after {told_day(YESTERDAY)},")
    assert main(["sweep"]) == 0
    assert "Deleted: " in capsys.readouterr().out
    assert not folder.exists()


def test_a_library_that_cannot_be_read_takes_nothing_from_a_review(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with open_library():
        pass
    for path in library_file().parent.iterdir():
        path.unlink()
    library_file().write_bytes(b"a letter " * 1000)
    folder = store(tmp_path / "lesson.review", YESTERDAY)
    assert remembered(folder, YESTERDAY).startswith("This review is not noted down to be deleted after its last day. The library ")
    assert main(["sweep"]) == 1
    assert "is damaged" in capsys.readouterr().err
    assert folder.exists()


def test_sweep_refuses_a_folder_that_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sweep", str(tmp_path / "nothing")]) == 1
    assert capsys.readouterr().err.startswith(f"There is no folder {tmp_path / 'nothing'}.")


def test_the_page_has_the_sweep_done_beside_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    words = tmp_path / "words"
    script = f"import json, pathlib, sys; pathlib.Path({str(words)!r}).write_text(json.dumps(sys.argv[1:]))"
    monkeypatch.setattr(jobs_module, "COMMAND", (sys.executable, "-c", script))
    sweep_aside()
    for _ in range(200):
        if words.is_file() and words.read_text():
            break
        time.sleep(0.05)
    assert json.loads(words.read_text()) == ["sweep"]
