"""Reviews that run on their own while the page is reloaded, closed or started again.

Each job is a folder in the work folder, and everything about it is a file in there, so that whoever looks knows how far it is:

    job.json        what was asked (written first)          alive      touched every second while it runs
    progress.jsonl  how far it is, one line per word        ended.json how it ended (written last)
    said.txt        what the command said                   stop       asks it to stop
    review/         the finished review                     clip/      the page's own copy of an uploaded clip and sheet

`supervisor.py` starts the command, keeps `alive` fresh and ends the command's whole process group when asked to.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from pathlib import Path
from typing import IO, Any, Literal

from motion.base.atomic import write_whole
from motion.base.child import COMMAND, child_environment, error_sentence
from motion.base.errors import BadInput, BadStore
from motion.base.home import PASSING, home, no_room, safe_name, touched
from motion.base.options import JudgeOptions, WatchOptions
from motion.film.covered_record import VIEWING
from motion.jobs.messages import judge_words as judge_words
from motion.jobs.messages import progress_file as progress_file
from motion.jobs.messages import seconds_left as seconds_left
from motion.jobs.messages import watch_words as watch_words
from motion.review.settings import SETTINGS
from motion.store.folder import read_review
from motion.tell.words import told_day

ASKED, ALIVE, ENDED, STOP = "job.json", "alive", "ended.json", "stop"
PROGRESS, SAID, REVIEW, CLIP = "progress.jsonl", "said.txt", "review", "clip"
#: Names the file to which the command writes how far it is.
PROGRESS_VARIABLE = "COUNTFALL_PROGRESS"


@dataclass(frozen=True)
class Job:
    """One review that was asked for. clip: the file reviewed; sheet: the dance sheet used, if any; started_at: Unix time, seconds;
    own_clip: the clip is the page's copy, which goes when the job is deleted, and whose place a copy with heads covered takes."""

    folder: Path
    clip: Path
    sheet: Path | None
    title: str
    started_at: float
    own_clip: bool

    @property
    def id(self) -> str:
        """The name of its folder."""
        return self.folder.name

    @property
    def review(self) -> Path:
        """Where its review is, once it is done."""
        return self.folder / REVIEW


@dataclass(frozen=True)
class Finished:
    """A review that can be opened. key: for the address bar; clip: where the clip should be; sheet: the page's copy of the sheet;
    job: None for a folder that was not made by the page."""

    key: str
    title: str
    folder: Path
    clip: Path
    sheet: Path | None
    job: Job | None


@dataclass(frozen=True)
class JobStatus:
    """How a job stands. words: what it is doing; share: 0..1 done, None if unknown; seconds_left: None while it cannot be told;
    folder: the review, when done; error: one plain sentence, when failed."""

    state: Literal["waiting", "running", "done", "failed", "cancelled"]
    words: str
    share: float | None
    seconds_left: float | None
    folder: Path | None
    error: str | None


def save_upload(name: str, source: IO[bytes]) -> Path:
    """Write an uploaded file into the work folder, piece by piece and whole or not at all, under its own name made safe.

    Uploads that were never reviewed go after a day. Raises BadStore if the disk is full or closed.
    """
    uploads = home() / "uploads"
    try:
        uploads.mkdir(exist_ok=True, mode=0o700)
        _sweep(uploads.iterdir())
        target = Path(tempfile.mkdtemp(dir=uploads)) / safe_name(name)
        half = target.with_name(f".half-{os.getpid()}")
        try:
            with half.open("wb") as file:
                shutil.copyfileobj(source, file, 1 << 20)
            os.replace(half, target)
        except OSError:
            shutil.rmtree(target.parent, ignore_errors=True)
            raise
    except OSError as error:
        raise no_room(uploads, error) from error
    return target


def discard_upload(path: Path) -> None:
    """Remove an upload that is not wanted after all. A file anywhere else is left alone."""
    if path.parent.parent == home() / "uploads":
        shutil.rmtree(path.parent, ignore_errors=True)


def start(
    clip: Path,
    watch: WatchOptions,
    judge: JudgeOptions,
    *,
    title: str,
    command: Sequence[str] | None = None,
    queue: bool = False,
) -> Job:
    """Start a review in the background. An uploaded clip moves into the job's folder; a clip anywhere else stays where it is.

    The dance sheet is copied, so that the review can be judged again later. While another review runs, this one waits for its turn
    with `queue`, and BadInput is raised without.
    """
    busy = [job for job in jobs() if status(job).state == "running"]
    if busy and not queue:
        raise BadInput(f"Another review is running ({busy[0].title})", "Wait until it is done, or stop it")
    try:
        jobs_folder = home() / "jobs"
        jobs_folder.mkdir(exist_ok=True, mode=0o700)
        folder = Path(tempfile.mkdtemp(prefix=time.strftime("%Y%m%d-%H%M%S-"), dir=jobs_folder))
        kept = folder / CLIP
        kept.mkdir(mode=0o700)
        own = clip.is_relative_to(home() / "uploads")
        if own:
            clip = Path(shutil.move(clip, kept / clip.name))
        if judge.dance is not None:
            sheet = kept / f"sheet{judge.dance.suffix}"
            shutil.copyfile(judge.dance, sheet)
            judge = replace(judge, dance=sheet)
        if judge.song is not None and judge.song.is_relative_to(home() / "uploads"):
            # The page's own copy goes with the job; a song that lies elsewhere stays where it is.
            judge = replace(judge, song=Path(shutil.move(judge.song, kept / judge.song.name)))
        job = Job(folder, clip.absolute(), judge.dance, title, time.time(), own)
        argv = [*(command or COMMAND), "review", str(job.clip), "--out", str(job.review), *watch_words(watch), *judge_words(judge)]
        asked = {
            "clip": str(job.clip),
            "sheet": str(job.sheet) if job.sheet else None,
            "title": title,
            "started_at": job.started_at,
            "own_clip": own,
            "argv": argv,
        }
        write_whole(folder / ASKED, json.dumps(asked, ensure_ascii=False))
        if busy:
            start_next()  # whichever ran may have ended before this one was there to be begun after it
        else:
            _launch(folder)
    except OSError as error:
        raise no_room(home(), error) from error
    return job


def start_next() -> Job | None:
    """Begin the review that has waited longest, unless one is running; None if there is nothing to begin."""
    states = [(job, status(job).state) for job in reversed(jobs())]
    if any(state == "running" for _, state in states):
        return None
    return next((job for job, state in states if state == "waiting" and _launch(job.folder)), None)


def _launch(folder: Path) -> bool:
    """Start the watch over a job; False if somebody else has just done so."""
    try:
        (folder / ALIVE).touch(exist_ok=False)
    except FileExistsError:
        return False
    keeper = subprocess.Popen(
        [sys.executable, "-P", "-m", "motion.jobs.supervisor", str(folder)],
        cwd=folder,
        env=child_environment(),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,  # so that closing the page with Ctrl-C does not break the review off
    )
    threading.Thread(target=keeper.wait, daemon=True).start()
    return True


def jobs() -> list[Job]:
    """Every job in the work folder, newest first."""
    found = [_read_job(path.parent) for path in (home() / "jobs").glob(f"*/{ASKED}")]
    return sorted((job for job in found if job is not None), key=lambda job: -job.started_at)


def find(job_id: str) -> Job | None:
    """The job with this id, or None."""
    return next((job for job in jobs() if job.id == job_id), None)


def status(job: Job) -> JobStatus:
    """How the job stands now."""
    events = _events(job.folder / PROGRESS)
    words = str(events[-1]["words"]) if events else "Getting ready"
    share = next((event["share"] for event in reversed(events) if event["share"] is not None), None)
    ended = _read_json(job.folder / ENDED)
    if ended is None:
        if not (job.folder / ALIVE).exists():
            return JobStatus("waiting", "Waiting for its turn", None, None, None, None)
        if time.time() - touched(job.folder / ALIVE) < SETTINGS.page.silent_s:
            return JobStatus("running", words, share, seconds_left(events, time.time()), None, None)
        broken = "The review was broken off: the computer was switched off or the program was ended. Start it again."
        return JobStatus("failed", words, share, None, None, broken)
    if ended["stopped"]:
        return JobStatus("cancelled", "Stopped", None, None, None, None)
    if ended["code"] == 0 and job.review.is_dir():
        return JobStatus("done", "Done", 1.0, 0.0, job.review, None)
    said = _read_text(job.folder / SAID)
    return JobStatus("failed", words, share, None, None, error_sentence(ended["code"], said, job.folder / SAID))


def finished(start: Path | None = None) -> list[Finished]:
    """The reviews that can be opened: `start`, if it is a review folder, then every finished job, newest first."""
    found = []
    if start is not None and (start / "review.json").is_file():  # it may have been deleted meanwhile
        name = _clip_name(start, _touched_ns(start / "review.json"))
        found.append(Finished("opened", f"{name} (folder {start.name})", start, start.parent / name, None, None))
    for job in jobs():
        if (done := status(job)).folder is not None and done.state == "done":
            began = datetime.fromtimestamp(job.started_at)
            when = f"{told_day(began.date())}, {began:%H:%M}" + ("" if is_careful(job) else ", a quick look")
            found.append(Finished(job.id, f"{job.title} ({when})", job.review, job.clip, job.sheet, job))
    return found


@lru_cache(maxsize=1)
def _clip_name(folder: Path, changed_ns: int) -> str:
    """What the clip of a review is called; read again only when the review was written again."""
    return str(read_review(folder)["clip"]["name"])


def cancel(job: Job) -> None:
    """Ask a running job to stop; `status` says when it has."""
    (job.folder / STOP).touch()


def delete(job: Job) -> None:
    """Remove the job, its review and the page's own copy of its clip. A clip that the person owns stays."""
    if status(job).state == "running":
        raise BadInput("This review is still running", "Stop it first")
    try:
        for path in job.folder.iterdir():
            if path.is_dir():  # first: as long as anything of them is left, the job is known as it ended, and can be deleted again
                shutil.rmtree(path)
        shutil.rmtree(job.folder)
    except OSError as error:
        raise BadStore(
            f"The review in {job.folder} cannot be deleted", "Close whatever has its files open, and try again"
        ) from error


def as_filmed(job: Job) -> Path | None:
    """The page's own copy of a clip as it was filmed, None once only the one with heads covered is left, or for a clip of one's own."""
    asked = _read_json(job.folder / ASKED)
    path = Path(asked["clip"]) if asked and job.own_clip else None
    return path if path is not None and path.is_file() and path.name != VIEWING else None


def is_careful(job: Job) -> bool:
    """Whether the review was a careful one; after a quick look the clip stays as filmed for a day, so that a careful one can follow."""
    asked = _read_json(job.folder / ASKED)
    return asked is not None and "fast" not in asked["argv"]


def sweep_uploads() -> None:
    """Delete uploads that were never reviewed, after a day, and what was being made or read when the computer was switched off."""
    uploads = home() / "uploads"
    if uploads.is_dir():
        _sweep(uploads.iterdir())
    _sweep(path for passing in PASSING for path in home().glob(f"{passing}*"))


def sweep_aside() -> None:
    """Have a process of its own delete what is past its day, while the page goes on."""
    words = [*COMMAND, "sweep"]
    quiet = subprocess.DEVNULL
    sweeper = subprocess.Popen(words, env=child_environment(), stdin=quiet, stdout=quiet, stderr=quiet, start_new_session=True)
    threading.Thread(target=sweeper.wait, daemon=True).start()


def judged_before(review: dict[str, Any], sheet: Path | None) -> JudgeOptions:
    """The options by which a review was judged last, with the sheet that is at hand, so that a change to one leaves the others."""
    kept = review["made_by"].get("judged", {})
    return JudgeOptions(
        dance=sheet,
        bpm=kept.get("bpm"),
        first_count_s=kept.get("first_count_s"),
        count_speed=kept.get("count_speed", "same"),
        starting_wall=kept.get("starting_wall", 1),
        range_check=kept.get("range_check", False),
        distance_m=kept.get("distance_m"),
        body_facts=kept.get("body_facts", False),
        mirror=kept.get("mirror", "ask"),
        own_version=tuple(kept.get("own_version", ())),
    )


def _read_job(folder: Path) -> Job | None:
    asked = _read_json(folder / ASKED)
    if asked is None:
        return None
    sheet = Path(asked["sheet"]) if asked["sheet"] else None
    viewing = folder / CLIP / VIEWING
    clip = viewing if asked["own_clip"] and viewing.is_file() else Path(asked["clip"])
    return Job(folder, clip, sheet, asked["title"], asked["started_at"], asked["own_clip"])


def _events(path: Path) -> list[dict[str, Any]]:
    events = []
    for line in _read_text(path).splitlines(keepends=True):
        if line.endswith("\n"):  # the last line may still be on its way to the disk
            events.append(json.loads(line))
    return events


def _read_json(path: Path) -> dict[str, Any] | None:
    text = _read_text(path)
    return json.loads(text) if text else None


def _read_text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8", errors="replace")
    except FileNotFoundError:
        return ""


def _touched_ns(path: Path) -> int:
    return path.stat().st_mtime_ns if path.is_file() else 0


def _sweep(folders: Iterable[Path]) -> None:
    for old in folders:
        if time.time() - touched(old) > SETTINGS.page.upload_kept_s:
            shutil.rmtree(old, ignore_errors=True)
