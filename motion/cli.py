"""The command: arguments in, exit codes out. 0 done, 1 a problem that the person can mend, 2 wrong arguments."""

from __future__ import annotations

import argparse
import glob
import io
import os
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, nullcontext
from datetime import date, timedelta
from pathlib import Path

from motion import __version__
from motion.errors import BadInput, BadStore, MotionError
from motion.options import JudgeOptions, WatchOptions
from motion.progress import Progress
from motion.settings import SETTINGS


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command with arguments (the process's own if None) and return its exit code."""
    ask = _parser().parse_args(argv)
    try:
        with _native_code_quiet() if ask.command in ("review", "batch") else nullcontext():
            return int(ask.run(ask))
    except MotionError as error:
        _say(str(error))
        return 1
    except KeyboardInterrupt:
        _say("Stopped; nothing was written.")
        return 1


@contextmanager
def _native_code_quiet() -> Iterator[None]:
    """Keep what compiled libraries write past Python (the pose model's own log lines) out of the person's terminal: it goes nowhere,
    while Python's own words still go where they did."""
    before = sys.stderr
    if not isinstance(before, io.TextIOWrapper) or before is not sys.__stderr__:  # somebody reads our words themselves
        yield
        return
    before.flush()
    kept = os.dup(2)
    sys.stderr = os.fdopen(os.dup(2), "w", buffering=1, encoding=before.encoding, errors="replace")
    with open(os.devnull, "w") as nowhere:
        os.dup2(nowhere.fileno(), 2)
    try:
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        sys.stderr.close()
        sys.stderr = before


def _say(words: str) -> None:
    print(words, file=sys.stderr, flush=True)


class _Parser(argparse.ArgumentParser):
    """argparse with one sentence for a wrong argument instead of the whole usage."""

    def error(self, message: str) -> None:  # type: ignore[override]
        self.exit(2, f"{self.prog}: {message}. See {self.prog} --help.\n")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="countfall", description="Reviews a line dance practice clip, on this computer only.")
    parser.add_argument("--version", action="version", version=f"countfall {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND", parser_class=_Parser)

    review = commands.add_parser("review", help="review a clip")
    review.add_argument("clip", type=Path, metavar="CLIP")
    review.add_argument("--out", type=Path, metavar="FOLDER", help="where the review goes (default: beside the clip)")
    _watch_options(review)
    _judge_options(review)
    review.set_defaults(run=_review)

    judge = commands.add_parser("judge", help="judge a stored review again, without the video")
    judge.add_argument("folder", type=Path, metavar="FOLDER")
    _judge_options(judge)
    judge.set_defaults(run=_judge)

    compare = commands.add_parser("compare", help="two takes side by side")
    compare.add_argument("folder", type=Path, metavar="FOLDER")
    compare.add_argument("other", type=Path, metavar="FOLDER")
    compare.set_defaults(run=_compare)

    check = commands.add_parser("check", help="findings on a dance sheet")
    check.add_argument("sheet", type=Path, metavar="SHEET.csv")
    check.set_defaults(run=_check)

    prepare = commands.add_parser("prepare", help="fetch and check the pose model ahead of the lesson")
    prepare.add_argument("--to", type=Path, metavar="FOLDER", help="also write it there, for a computer without network")
    prepare.set_defaults(run=_prepare)

    page = commands.add_parser("open", help="open the page in the browser")
    page.add_argument("what", type=Path, nargs="?", metavar="CLIP|FOLDER")
    page.add_argument("--port", type=int, help="a fixed port instead of a free one")
    page.add_argument("--no-browser", action="store_true", help="only print the address")
    page.set_defaults(run=_open)

    batch = commands.add_parser("batch", help="review many clips")
    batch.add_argument("clips", nargs="+", metavar="FOLDER|GLOB")
    batch.add_argument("--out", type=Path, metavar="FOLDER", help="folder that all reviews go into")
    _watch_options(batch)
    _judge_options(batch)
    batch.set_defaults(run=_batch)
    return parser


def _watch_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--quality", choices=("fine", "fast"), default="fine", help="fine is careful, fast is quick (default: fine)"
    )
    parser.add_argument("--dancers", type=int, metavar="N", help="how many danced, if known")
    parser.add_argument("--from", type=float, dest="from_s", metavar="S", help="begin at this second of the clip")
    parser.add_argument("--to", type=float, dest="to_s", metavar="S", help="end at this second of the clip")
    parser.add_argument("--overlay", action="store_true", help="also write the clip with counts and landings drawn over it")
    parser.add_argument("--model", type=Path, metavar="FILE", help="a pose model that you already have")


def _judge_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--dance", type=Path, metavar="SHEET.csv", help="the dance sheet")
    parser.add_argument("--beats", type=Path, metavar="BEATS.csv", help="beats that you already have")
    parser.add_argument("--bpm", type=float, help="a steady tempo, with --first-count")
    parser.add_argument("--first-count", type=float, dest="first_count_s", metavar="SECONDS", help="when count 1 falls")
    parser.add_argument("--count-speed", choices=("half", "same", "double"), default="same", help="count half or twice as fast")
    parser.add_argument("--starting-wall", type=int, default=1, metavar="N", help="the wall that the clip begins with")
    parser.add_argument(
        "--song", type=Path, metavar="FILE", help="the song danced to, as a sound file (NAME.beats.csv beside it is used)"
    )
    parser.add_argument("--distance", type=float, dest="distance_m", metavar="METRES", help="from the phone to the loudspeaker")
    parser.add_argument("--range-check", action="store_true", help="the clip is a guided range check")


def _watching(ask: argparse.Namespace) -> WatchOptions:
    if ask.dancers is not None and not 1 <= ask.dancers <= SETTINGS.body.most_dancers:
        raise BadInput(f"--dancers is {ask.dancers}, but must lie in 1 to {SETTINGS.body.most_dancers}", "Give how many danced")
    return WatchOptions(ask.quality, ask.dancers, ask.from_s, ask.to_s, ask.model, ask.overlay)


def _judging(ask: argparse.Namespace) -> JudgeOptions:
    from motion.checks import number_between

    given = [f"--{name}" for name in ("beats", "bpm", "song") if getattr(ask, name) is not None]
    if len(given) > 1:
        raise BadInput(f"Both {given[0]} and {given[1]} are given", "Give one of them")
    if ask.distance_m is not None:
        number_between(ask.distance_m, 0, SETTINGS.practice.farthest_m, "--distance", "metres")
    if ask.bpm is not None:
        number_between(ask.bpm, 20, 400, "--bpm", "beats a minute")
    if ask.first_count_s is not None:
        number_between(ask.first_count_s, -60, SETTINGS.clip.longest_s, "--first-count", "seconds")
    number_between(ask.starting_wall, 1, 100, "--starting-wall", "walls")
    return JudgeOptions(
        ask.dance, ask.beats, ask.bpm, ask.first_count_s, ask.count_speed, ask.starting_wall, ask.range_check,
        ask.song, ask.distance_m,
    )  # fmt: skip


def _review(ask: argparse.Namespace) -> int:
    from motion.desk import review_clip
    from motion.store import default_out

    out = ask.out or default_out(ask.clip)
    done = review_clip(ask.clip, out, _watching(ask), _judging(ask), progress=_progress(), expires=_expiry())
    _told(done, out)
    return 0


def _judge(ask: argparse.Namespace) -> int:
    from motion.desk import judge_folder

    done = judge_folder(ask.folder, _judging(ask))
    _told(done, ask.folder)
    return 0


def _told(review: dict[str, object], out: Path) -> None:
    from motion.plain import review_told

    for line in review_told(review):
        print(line)
    print(f"Written to {out}: open {out / 'report.html'}, or look at it with: countfall open {out}")


def _compare(ask: argparse.Namespace) -> int:
    from motion.compare import compared
    from motion.store import read_review

    for line in compared(read_review(ask.folder), read_review(ask.other)):
        print(line)
    return 0


def _check(ask: argparse.Namespace) -> int:
    from motion.dance.check import check_sheet
    from motion.dance.sheet import read_sheet

    findings = check_sheet(read_sheet(ask.sheet))
    for f in findings:
        print(f"{f.grade}{f', row {f.row}' if f.row else ''}: {f.words}")
    if not findings:
        print(f"{ask.sheet.name}: nothing found; the sheet adds up.")
    return 1 if any(f.grade == "error" for f in findings) else 0


def _prepare(ask: argparse.Namespace) -> int:
    from motion.clip.models import prepare

    for model in prepare(ask.to, progress=_progress()):
        print(f"Ready: the {'careful' if model.quality == 'fine' else 'quick'} model, {model.path}")
        if model.fell_back:
            print(model.fell_back)
    return 0


def _open(ask: argparse.Namespace) -> int:
    from motion.page import open_page

    return open_page(ask.what, port=ask.port, browser=not ask.no_browser, tell=lambda words, _: print(words))


def _batch(ask: argparse.Namespace) -> int:
    from motion.desk import review_clip
    from motion.store import default_out

    clips = _clips(ask.clips)
    watching, judging, failed = _watching(ask), _judging(ask), 0
    if ask.out:
        _make(ask.out)
    for k, clip in enumerate(clips, 1):
        out = (ask.out / default_out(clip).name) if ask.out else default_out(clip)
        _say(f"[{k} of {len(clips)}] {clip.name}")
        try:
            _told(review_clip(clip, out, watching, judging, progress=_progress(), expires=_expiry()), out)
        except MotionError as error:
            _say(str(error))
            failed += 1
    if failed:
        _say(f"{failed} of {len(clips)} clips could not be reviewed.")
    return 1 if failed else 0


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        why = (error.strerror or "the disk gave no reason").lower()
        raise BadStore(f"The folder {folder} cannot be made: {why}", "Choose another place") from error


def _clips(asked: Sequence[str]) -> list[Path]:
    found: list[Path] = []
    for word in asked:
        if os.path.isdir(word):
            found += sorted(p for p in Path(word).iterdir() if p.suffix.lower() in SETTINGS.clip.endings)
        else:
            found += sorted(Path(p) for p in glob.glob(word)) or [Path(word)]
    if not found:
        raise BadInput(f"No clip was found in {', '.join(asked)}", "Name a folder that holds clips, or the clips themselves")
    return found


def _expiry() -> str:
    return (date.today() + timedelta(days=SETTINGS.desk.kept_days)).isoformat()


def _progress() -> Progress:
    """A bar on a terminal; few plain lines elsewhere; a file of steps where COUNTFALL_PROGRESS names one."""
    name = os.environ.get("COUNTFALL_PROGRESS")
    if name:
        from motion.jobs import progress_file

        return progress_file(Path(name))
    return _bar() if sys.stderr.isatty() else _lines()


def _lines() -> Progress:
    last: list[object] = ["", -1]

    def tell(words: str, share: float | None) -> None:
        tenth = -1 if share is None else int(share * 4)
        if words != last[0] or tenth > int(str(last[1])):
            last[:] = [words, tenth]
            _say(words if share is None else f"{words}: {share:.0%}")

    return tell


def _bar() -> Progress:
    begun: dict[str, float] = {}

    def tell(words: str, share: float | None) -> None:
        if share is None:
            _say(f"\r\033[K{words}")
            return
        start = begun.setdefault(words, time.monotonic())
        gone = time.monotonic() - start
        left = f", {gone / share * (1 - share):.0f} s left" if share > 0.02 and gone > 1 else ""
        full = int(share * 30)
        end = "\n" if share >= 1 else ""
        print(f"\r\033[K{words} [{'=' * full}{' ' * (30 - full)}] {share:4.0%}{left}", end=end, file=sys.stderr, flush=True)

    return tell
