"""Jobs in the background, with a made-up command in place of the real one."""

from __future__ import annotations

import gc
import io
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

import motion.review.judge as review_module
from motion.base.child import child_environment, error_sentence
from motion.base.errors import BadInput, BadStore
from motion.base.home import home, safe_name, touched_ns
from motion.base.options import JudgeOptions, WatchOptions
from motion.desk.recount import look_ahead, recount
from motion.jobs.queue import (
    Job,
    JobStatus,
    cancel,
    delete,
    discard_upload,
    find,
    finished,
    jobs,
    judge_words,
    judged_before,
    progress_file,
    save_upload,
    seconds_left,
    start,
    status,
    watch_words,
)
from motion.store.folder import read_review

#: Does as the command does: options as words, progress in the file that it is told, a review in the folder that it is told.
SCRIPT = """
import json, os, pathlib, subprocess, sys, time
name, out = pathlib.Path(sys.argv[2]).stem, pathlib.Path(sys.argv[4])
def tell(words, share):
    with open(os.environ["COUNTFALL_PROGRESS"], "a") as file:
        file.write(json.dumps({"words": words, "share": share, "at": time.time()}) + "\\n")
tell("Reading the pictures", 0.25)
print("half a line", end="\\r", file=sys.stderr)
if name == "waits":
    child = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"])
    pathlib.Path("child").write_text(str(child.pid))
    tell("Waiting", 0.5)
    time.sleep(60)
if name == "slow":
    time.sleep(1)
if name == "refused":
    sys.exit("countfall: The clip 'refused.mp4' shows nobody. Film the whole body.")
if name == "faulty":
    raise RuntimeError("ours")
out.mkdir()
(out / "review.json").write_text(json.dumps(sys.argv[1:]))
"""
FAKE = (sys.executable, "-c", SCRIPT)
PLAIN = (WatchOptions(), JudgeOptions())


def begin(clip: Path) -> Job:
    clip.write_bytes(b"film")
    return start(clip, *PLAIN, title=clip.name, command=FAKE)


def until(job: Job, holds: Callable[[JobStatus], bool]) -> JobStatus:
    for _ in range(400):
        if holds(now := status(job)):
            return now
        time.sleep(0.05)
    raise AssertionError(f"still {status(job)}")


def over(now: JobStatus) -> bool:
    return now.state != "running"


def test_a_job_runs_to_its_end(tmp_path: Path) -> None:
    job = begin(tmp_path / "good clip.mp4")
    now = until(job, over)
    assert (now.state, now.share, now.folder, now.error) == ("done", 1.0, job.review, None)
    said = json.loads((job.review / "review.json").read_text())
    assert said == ["review", str(tmp_path / "good clip.mp4"), "--out", str(job.review), "--quality", "fine"]


def test_a_refusal_is_told_in_the_commands_own_sentence(tmp_path: Path) -> None:
    now = until(begin(tmp_path / "refused.mp4"), over)
    assert (now.state, now.folder) == ("failed", None)
    assert now.error == "The clip 'refused.mp4' shows nobody. Film the whole body."


def test_a_fault_of_the_program_is_not_put_on_the_person(tmp_path: Path) -> None:
    job = begin(tmp_path / "faulty.mp4")
    now = until(job, over)
    assert now.state == "failed"
    assert now.error is not None
    assert "fault of its own" in now.error
    assert "RuntimeError" not in now.error
    assert "RuntimeError: ours" in (job.folder / "said.txt").read_text()


@pytest.mark.skipif(os.name != "posix", reason="process groups are a matter of POSIX systems")
def test_stopping_ends_the_command_and_all_that_it_started(tmp_path: Path) -> None:
    job = begin(tmp_path / "waits.mp4")
    now = until(job, lambda s: s.words == "Waiting")
    assert (now.state, now.share) == ("running", 0.5)
    child = int((job.folder / "child").read_text())
    cancel(job)
    now = until(job, over)
    assert (now.state, now.folder, now.error) == ("cancelled", None, None)
    for _ in range(100):
        if not _runs(child):
            break
        time.sleep(0.05)
    assert not _runs(child)


def _runs(process_id: int) -> bool:
    try:
        os.kill(process_id, 0)
    except ProcessLookupError:
        return False
    # Ended, but not yet cleared away by whoever inherited it, counts as ended.
    state = Path(f"/proc/{process_id}/stat")
    return not state.exists() or state.read_text().rpartition(")")[2].split()[0] != "Z"


def test_one_review_at_a_time(tmp_path: Path) -> None:
    job = begin(tmp_path / "waits.mp4")
    with pytest.raises(BadInput, match=r"Another review is running \(waits.mp4\)"):
        begin(tmp_path / "good.mp4")
    with pytest.raises(BadInput, match="still running"):
        delete(job)
    cancel(job)
    until(job, over)
    assert until(begin(tmp_path / "good.mp4"), over).state == "done"


@pytest.mark.skipif(os.name != "posix", reason="Ctrl-C goes to a process group on POSIX systems only")
def test_a_job_outlives_the_program_that_started_it(tmp_path: Path) -> None:
    """The program starts a job and gets a Ctrl-C at once, as everything in its terminal does."""
    (tmp_path / "slow.mp4").write_bytes(b"film")
    code = (
        "import os, signal, sys\nfrom pathlib import Path\nfrom motion.jobs.queue import start\n"
        "signal.signal(signal.SIGINT, signal.SIG_DFL)\n"  # a shell that started the tests in the background has it ignored
        "from motion.base.options import JudgeOptions, WatchOptions\n"
        "start(Path(sys.argv[1]), WatchOptions(), JudgeOptions(), title='of old', command=sys.argv[2:])\n"
        "os.killpg(0, signal.SIGINT)\n"
    )
    argv = [sys.executable, "-c", code, str(tmp_path / "slow.mp4"), *FAKE]
    ended = subprocess.run(argv, env=child_environment(), start_new_session=True, capture_output=True)
    assert ended.returncode == -signal.SIGINT
    (job,) = jobs()
    assert job.title == "of old"
    assert status(job).state == "running"
    assert until(job, over).state == "done"
    assert find(job.id) == job
    assert find("nothing") is None


def test_a_job_without_a_sign_of_life_was_broken_off(tmp_path: Path) -> None:
    job = begin(tmp_path / "good.mp4")
    until(job, over)
    (job.folder / "ended.json").unlink()
    assert status(job).state == "running"
    long_ago = time.time() - 3600
    os.utime(job.folder / "alive", (long_ago, long_ago))
    now = status(job)
    assert now.state == "failed"
    assert now.error is not None
    assert now.error.startswith("The review was broken off")


def test_a_persons_own_clip_stays_and_an_upload_goes_with_its_job(tmp_path: Path) -> None:
    own = begin(tmp_path / "mine.mp4")
    until(own, over)
    upload = save_upload("theirs.mp4", io.BytesIO(b"film"))
    sent = start(upload, *PLAIN, title="theirs", command=FAKE)
    until(sent, over)
    assert not own.own_clip
    assert sent.own_clip
    assert sent.clip.is_relative_to(sent.folder)
    assert not upload.exists()
    delete(own)
    delete(sent)
    assert (tmp_path / "mine.mp4").exists()
    assert not sent.clip.exists()
    assert jobs() == []


def test_the_sheet_is_kept_with_the_job(tmp_path: Path) -> None:
    (tmp_path / "a dance.csv").write_text("count,foot\n")
    (tmp_path / "good.mp4").write_bytes(b"film")
    job = start(tmp_path / "good.mp4", WatchOptions(), JudgeOptions(dance=tmp_path / "a dance.csv"), title="t", command=FAKE)
    until(job, over)
    assert job.sheet is not None
    assert job.sheet.read_text() == "count,foot\n"
    assert json.loads((job.review / "review.json").read_text())[-1] == f"--dance={job.sheet}"


class InPieces(io.BytesIO):
    """Refuses to hand everything over at once."""

    def read(self, size: int | None = -1, /) -> bytes:
        assert size is not None
        assert 0 < size <= 1 << 20
        return super().read(size)


def test_uploads_are_written_piece_by_piece_for_their_owner_only() -> None:
    film = os.urandom(3_000_001)
    path = save_upload("Übung 1.MOV", InPieces(film))
    assert path.name == "Übung 1.MOV"
    assert path.read_bytes() == film
    assert [p.name for p in path.parent.iterdir()] == [path.name]
    if os.name == "posix":
        assert [p.stat().st_mode & 0o077 for p in (home(), path.parents[1], path.parent)] == [0, 0, 0]


def test_a_failed_upload_leaves_nothing() -> None:
    class Breaks(io.BytesIO):
        def read(self, size: int | None = -1, /) -> bytes:
            raise OSError(28, "No space left on device")

    with pytest.raises(BadStore, match="is full"):
        save_upload("a.mp4", Breaks())
    assert list((home() / "uploads").iterdir()) == []


def test_only_uploads_are_discarded(tmp_path: Path) -> None:
    own = tmp_path / "films" / "mine.mp4"
    own.parent.mkdir()
    own.touch()
    upload = save_upload("a.mp4", io.BytesIO(b"1"))
    discard_upload(own)
    discard_upload(upload)
    assert own.exists()
    assert not upload.parent.exists()


def test_old_uploads_are_swept() -> None:
    old, new = save_upload("old.mp4", io.BytesIO(b"1")), save_upload("new.mp4", io.BytesIO(b"2"))
    two_days_ago = time.time() - 2 * 86_400
    os.utime(old.parent, (two_days_ago, two_days_ago))
    save_upload("third.mp4", io.BytesIO(b"3"))
    assert not old.exists()
    assert new.exists()


@pytest.mark.parametrize(
    ("given", "safe"),
    [
        ("tuesday.mp4", "tuesday.mp4"),
        ("../../etc/passwd", "passwd"),
        ("C:\\films\\a.mov", "a.mov"),
        ("...", "clip"),
        ("", "clip"),
        ("линия танец.mp4", "линия танец.mp4"),
        ("a\x00b?.mp4", "a_b_.mp4"),
        ("x" * 300 + ".webm", "x" * 120 + ".webm"),
    ],
)
def test_safe_names(given: str, safe: str) -> None:
    assert safe_name(given) == safe


def test_time_left_follows_the_pace() -> None:
    def event(share: float | None, at: float) -> dict[str, object]:
        return {"words": "", "share": share, "at": at}

    assert seconds_left([], 0.0) is None
    assert seconds_left([event(0.0, 100.0)], 100.0) is None
    # A quarter in ten seconds leaves thirty; five seconds later, without news, twenty-five.
    quarter = [event(None, 90.0), event(0.0, 100.0), event(0.25, 110.0)]
    assert seconds_left(quarter, 110.0) == pytest.approx(30.0)
    assert seconds_left(quarter, 115.0) == pytest.approx(25.0)
    assert seconds_left(quarter, 1000.0) == 0.0
    # The share begins anew: only the new pace counts.
    assert seconds_left([*quarter, event(0.0, 120.0), event(0.5, 124.0)], 124.0) == pytest.approx(4.0)
    # Too little seen to speak of a pace.
    assert seconds_left([event(0.0, 100.0), event(0.01, 110.0)], 110.0) is None
    assert seconds_left([event(0.0, 100.0), event(0.5, 100.5)], 100.5) is None


def test_progress_lines_are_few_and_whole(tmp_path: Path) -> None:
    tell = progress_file(tmp_path / "p.jsonl")
    tell("Reading", 0.0)
    for n in range(1000):
        tell("Reading", n / 1000)
    tell("Reading", 1.0)
    tell("Judging", None)
    lines = [json.loads(line) for line in (tmp_path / "p.jsonl").read_text().splitlines()]
    assert [(e["words"], e["share"]) for e in lines] == [("Reading", 0.0), ("Reading", 1.0), ("Judging", None)]
    assert all(abs(e["at"] - time.time()) < 10 for e in lines)


def test_options_become_the_commands_words() -> None:
    assert watch_words(WatchOptions()) == ["--quality", "fine"]
    many = WatchOptions(quality="fast", dancers=4, from_s=1.5, to_s=9.0, model=Path("m.task"), overlay=True)
    assert watch_words(many) == [
        "--quality",
        "fast",
        "--dancers",
        "4",
        "--from",
        "1.5",
        "--to",
        "9.0",
        "--model",
        "m.task",
        "--overlay",
    ]
    assert judge_words(JudgeOptions()) == []
    all_of_it = JudgeOptions(Path("d.csv"), Path("b.csv"), 120.0, -0.5, "half", 2, True)
    assert judge_words(all_of_it) == [
        "--dance=d.csv", "--beats=b.csv", "--bpm=120.0", "--first-count=-0.5", "--count-speed=half",
        "--starting-wall=2", "--range-check",
    ]  # fmt: skip
    assert judge_words(JudgeOptions(body_facts=True, heard=True)) == ["--body-facts", "--heard"]


def test_judging_again(shelve: Callable[..., Job]) -> None:
    folder = shelve("a", 2, 12).review
    recount(folder, JudgeOptions(bpm=118.0, first_count_s=4.25))
    beats = read_review(folder)["beats"]
    assert (beats["tempo_bpm"], beats["first_count_s"]) == (118.0, 4.25)
    before = (folder / "review.json").read_bytes()
    with pytest.raises(BadInput, match="A tempo alone"):
        recount(folder, JudgeOptions(bpm=118.0))
    assert (folder / "review.json").read_bytes() == before


def test_a_review_is_read_ahead_and_a_broken_one_is_passed_over(shelve: Callable[..., Job]) -> None:
    folder = shelve("a", 2, 12).review
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    read = review_module._bodies.cache_info().misses
    try:
        for asked in (folder, folder.with_name("none")):
            look_ahead(asked, JudgeOptions()).join()
        assert gc.get_freeze_count() > 0  # what was read is not searched for unused objects during the next press
    finally:
        gc.unfreeze()
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
    assert review_module._bodies.cache_info().misses == read + 1
    recount(folder, JudgeOptions(bpm=118.0, first_count_s=4.25))
    assert review_module._bodies.cache_info().misses == read + 1  # what was read ahead was used


def test_what_was_judged_before_is_kept(tmp_path: Path) -> None:
    judged = {"dance": "lantern.csv", "beats": None, "bpm": 118.0, "first_count_s": 2.5, "count_speed": "half", "starting_wall": 2}
    before = judged_before({"made_by": {"judged": judged}}, tmp_path / "sheet.csv")
    assert before == JudgeOptions(tmp_path / "sheet.csv", None, 118.0, 2.5, "half", 2, False)
    assert judged_before({"made_by": {}}, None) == JudgeOptions()


def test_error_sentences() -> None:
    assert error_sentence(1, "Reading 5 %\rReading 9 %\nThe disk is full. Make room.\n", None) == "The disk is full. Make room."
    assert "fault of its own" in error_sentence(-signal.SIGSEGV, "The disk is full.", None)
    assert "fault of its own" in error_sentence(1, "", None)


def test_the_shelf_holds_finished_reviews_newest_first(shelve: Callable[..., Job], tmp_path: Path) -> None:
    shelve("older", started_at=1e9)
    newer = shelve("newer", started_at=2e9)
    begin(tmp_path / "refused.mp4")
    until(jobs()[0], over)
    shelf = finished()
    assert [one.key for one in shelf] == ["newer", "older"]
    assert (shelf[0].folder, shelf[0].clip, shelf[0].job) == (newer.review, newer.clip, newer)
    opened = finished(newer.review)[0]
    assert (opened.key, opened.folder, opened.clip, opened.job) == ("opened", newer.review, newer.folder / "newer.mp4", None)


def test_a_file_that_is_gone_was_never_touched(tmp_path: Path) -> None:
    """Another process may take a file away between two looks at it: asking when it changed is one look."""
    path = tmp_path / "clip.mp4"
    assert touched_ns(path) == 0
    path.touch()
    assert touched_ns(path) == path.stat().st_mtime_ns
