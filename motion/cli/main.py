"""The command: arguments in, exit codes out. 0 done, 1 a problem that the person can mend, 2 wrong arguments."""

from __future__ import annotations

import argparse
import io
import os
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, nullcontext
from datetime import date, timedelta
from pathlib import Path

from motion import __version__
from motion.base.errors import BadInput, MotionError
from motion.base.options import JudgeOptions, WatchOptions
from motion.base.progress import Progress
from motion.cli.arguments import check_age, check_floor, in_one_line, nobody_reads, number, told_beside, whole
from motion.cli.films import add_film_commands, check_against, check_length, clips_named, film_words, make_folder, place, places_for
from motion.review.settings import SETTINGS

#: Of the work, done before a time left is told.
LEAST_SHARE = 0.02
#: What commands were called in earlier releases; not listed, and still understood.
EARLIER_NAMES = {"judge": "recount", "crib": "wallplan"}


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command with arguments (the process's own if None) and return its exit code."""
    try:
        ask = _parser().parse_args(_as_called_now(sys.argv[1:] if argv is None else argv))
        with _native_code_quiet() if ask.command in ("review", "batch", "look") else nullcontext():
            code = int(ask.run(ask))
            sys.stdout.flush()
            return code
    except BrokenPipeError:
        nobody_reads()
        return 1
    except MotionError as error:
        _say(in_one_line(str(error)))
        return 1
    except KeyboardInterrupt:
        _say("Stopped; nothing was written.")
        return 1


def _as_called_now(argv: Sequence[str]) -> list[str]:
    """The words with a command's earlier name, which is still taken, in place of it."""
    return [EARLIER_NAMES.get(argv[0], argv[0]), *argv[1:]] if argv else []


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
    with Path(os.devnull).open("w") as nowhere:
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
    review.add_argument("clip", type=place, metavar="CLIP")
    review.add_argument("--out", type=place, metavar="FOLDER", help="where the review goes (default: beside the clip)")
    _watch_options(review)
    _judge_options(review)
    review.set_defaults(run=_review)

    recount = commands.add_parser("recount", help="count a stored review again, without the video")
    recount.add_argument("folder", type=place, metavar="FOLDER")
    _judge_options(recount)
    recount.add_argument("--heard", action="store_true", help="go by the clip's own sound again, in place of beats given before")
    recount.set_defaults(run=_recount)

    compare = commands.add_parser("compare", help="two takes side by side")
    compare.add_argument("folder", type=place, metavar="FOLDER")
    compare.add_argument("other", type=place, metavar="FOLDER")
    compare.set_defaults(run=_compare)

    check = commands.add_parser("check", help="findings on a dance sheet")
    check.add_argument("sheet", type=place, metavar="SHEET.csv")
    check.set_defaults(run=_check)

    wallplan = commands.add_parser("wallplan", help="the dance in its song, wall by wall, on one printed page")
    wallplan.add_argument("sheet", type=place, metavar="SHEET.csv")
    wallplan.add_argument("--minutes", metavar="M:SS", help="how long the music lasts (default: once through the dance)")
    wallplan.add_argument("--bpm", type=number, help="beats a minute of the music, in place of the sheet's")
    wallplan.add_argument("--intro", type=whole, metavar="COUNTS", help="counts before count 1, in place of the sheet's")
    wallplan.add_argument("--out", type=place, metavar="FILE.html", help="where the page goes (default: beside the sheet)")
    wallplan.set_defaults(run=_wallplan)

    lesson = commands.add_parser("lesson", help="a lesson around the dance, as one file for a tablet or paper")
    lesson.add_argument("--dance", type=place, metavar="SHEET.csv", help="the dance sheet")
    lesson.add_argument("--minutes", type=number, default=45.0, metavar="M", help="how long the lesson is (default: 45)")
    lesson.add_argument("--for", choices=("children", "adults", "seniors"), default="children", dest="audience")
    lesson.add_argument("--dancers", type=whole, metavar="N", help="how many dance: adds the floor plan")
    lesson.add_argument("--rows", type=whole, metavar="R", help="rows that they stand in (default: what suits)")
    lesson.add_argument("--room", metavar="WxD", help="width and depth of the room in metres, such as 10x8")
    lesson.add_argument("--seated", action="store_true", help="the warm-up on chairs")
    lesson.add_argument("--bpm", type=number, help="beats a minute of the music, in place of the sheet's")
    lesson.add_argument("--age", type=whole, metavar="YEARS", help="of grown-ups, for the pulse at their age")
    lesson.add_argument("--out", type=place, metavar="FILE.html", help="where the lesson goes (default: lesson.html)")
    lesson.set_defaults(run=_lesson)

    tune = commands.add_parser("tune", help="practice music with a count-in, and its beats beside it")
    tune.add_argument("--bpm", type=number, required=True, help="beats a minute")
    tune.add_argument("--counts", type=whole, default=64, metavar="N", help="counts to dance, at each tempo (default: 64)")
    tune.add_argument("--metre", choices=("4/4", "3/4"), default="4/4", help="3/4 for a waltz")
    tune.add_argument("--wait", type=whole, default=0, metavar="COUNTS", help="counts of music before count 1")
    tune.add_argument("--ladder", type=whole, default=1, metavar="N", help="as many tempos, from slow to --bpm")
    tune.add_argument("--clicks-only", action="store_true", help="no backing and no voice")
    tune.add_argument("--seed", type=whole, default=1, metavar="N", help="another number is another tune")
    tune.add_argument("--out", type=place, required=True, metavar="NAME.wav", help="where the music goes")
    tune.set_defaults(run=_tune)

    add_film_commands(commands, _progress, print)

    page = commands.add_parser("open", help="open the page in the browser")
    page.add_argument("what", type=place, nargs="?", metavar="CLIP|FOLDER")
    page.add_argument("--port", type=whole, help="a fixed port instead of a free one")
    page.add_argument("--no-browser", action="store_true", help="only print the address")
    page.set_defaults(run=_open)

    sweep = commands.add_parser("sweep", help="delete reviews whose last day has passed")
    sweep.add_argument("folders", type=place, nargs="*", metavar="FOLDER", help="reviews to remember, or folders that hold some")
    sweep.set_defaults(run=_sweep)

    batch = commands.add_parser("batch", help="review many clips")
    batch.add_argument("clips", nargs="+", metavar="FOLDER|GLOB")
    batch.add_argument("--out", type=place, metavar="FOLDER", help="folder that all reviews go into")
    _watch_options(batch)
    _judge_options(batch)
    batch.set_defaults(run=_batch)
    return parser


def _watch_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--quality", choices=("fine", "fast"), default="fine", help="fine is careful, fast is quick (default: fine)"
    )
    parser.add_argument("--dancers", type=whole, metavar="N", help="how many danced, if known")
    parser.add_argument("--from", type=number, dest="from_s", metavar="S", help="begin at this second of the clip")
    parser.add_argument("--to", type=number, dest="to_s", metavar="S", help="end at this second of the clip")
    parser.add_argument("--overlay", action="store_true", help="also write the clip with counts and landings drawn over it")
    parser.add_argument("--room-sound", action="store_true", help="in that clip the room's own sound: voices can be heard")
    parser.add_argument("--show-heads", action="store_true", help="in that clip, leave heads uncovered")
    parser.add_argument("--model", type=place, metavar="FILE|FOLDER", help="a pose model that you already have")


def _judge_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--dance", type=place, metavar="SHEET.csv", help="the dance sheet")
    parser.add_argument("--beats", type=place, metavar="BEATS.csv", help="beats that you already have")
    parser.add_argument("--bpm", type=number, help="a steady tempo, with --first-count")
    parser.add_argument("--first-count", type=number, dest="first_count_s", metavar="SECONDS", help="when count 1 falls")
    parser.add_argument("--count-speed", choices=("half", "same", "double"), default="same", help="count half or twice as fast")
    parser.add_argument("--starting-wall", type=whole, default=1, metavar="N", help="the wall that the clip begins with")
    parser.add_argument(
        "--song", type=place, metavar="FILE", help="the song danced to, as a sound file (NAME.beats.csv beside it is used)"
    )
    parser.add_argument("--distance", type=number, dest="distance_m", metavar="METRES", help="from the phone to the loudspeaker")
    parser.add_argument("--range-check", action="store_true", help="the clip is a guided range check")
    parser.add_argument(
        "--standing", type=place, metavar="FOLDER", help="a dancer's range check: bending counts from the standing in it"
    )
    parser.add_argument("--body-facts", action="store_true", help="step length, lean, sway and the like as well")
    parser.add_argument(
        "--mirror", choices=("ask", "yes", "no"), default="ask", help="does the clip show the dance in mirror image? (default: ask)"
    )
    own = "dancer with a version of their own: beside the beat only; may be given again"
    parser.add_argument("--own-version", type=whole, action="append", default=[], metavar="N", help=own)


def _watching(ask: argparse.Namespace) -> WatchOptions:
    if ask.dancers is not None and not 1 <= ask.dancers <= SETTINGS.body.most_dancers:
        raise BadInput(f"--dancers is {ask.dancers}, but must lie in 1 to {SETTINGS.body.most_dancers}", "Give how many danced")
    if (ask.room_sound or ask.show_heads) and not ask.overlay:
        raise BadInput("--room-sound and --show-heads are about the counted clip", "Give --overlay too")
    return WatchOptions(
        ask.quality, ask.dancers, ask.from_s, ask.to_s, ask.model, ask.overlay, ask.room_sound, ask.show_heads
    )  # fmt: skip


def _judging(ask: argparse.Namespace) -> JudgeOptions:
    from motion.base.checks import number_between

    heard = getattr(ask, "heard", False)
    given = [f"--{name}" for name in ("beats", "bpm", "song") if getattr(ask, name) is not None] + ["--heard"] * heard
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
        ask.song, ask.distance_m, ask.standing, ask.body_facts, ask.mirror, tuple(ask.own_version), heard,
    )  # fmt: skip


def _review(ask: argparse.Namespace) -> int:
    from motion.desk.review_clip import review_clip
    from motion.library.classes import remembered
    from motion.store.folder import default_out

    out = ask.out or default_out(ask.clip)
    check_length(ask.clip, ask.first_count_s)
    done = review_clip(ask.clip, out, _watching(ask), _judging(ask), progress=_progress(), expires=_expiry())
    _told(done, out)
    print(remembered(out, done["clip"]["expires"]))
    if ask.overlay:
        print("\n".join(film_words(show_heads=ask.show_heads, room_sound=ask.room_sound)))
    return 0


def _sweep(ask: argparse.Namespace) -> int:
    from motion.library.retention import swept_told

    told, left = swept_told(ask.folders)
    print("\n".join(told))
    for line in left:
        _say(line)
    return 0


def _recount(ask: argparse.Namespace) -> int:
    from motion.desk.review_clip import judge_folder
    from motion.store.folder import OVERLAY, read_review

    judging, stored = _judging(ask), read_review(ask.folder, whole=bool(ask.own_version))
    check_against(stored, first_count_s=judging.first_count_s, own_version=judging.own_version)
    had = (ask.folder / OVERLAY).is_file()
    done = judge_folder(ask.folder, judging)
    _told(done, ask.folder)
    if had:
        from motion.film.overlay import state_words

        print(state_words(ask.folder))
    return 0


def _told(review: dict[str, object], out: Path) -> None:
    from motion.tell.choreographer import sheets_doubted
    from motion.tell.review_words import review_told

    for line in (*review_told(review), *sheets_doubted(review), *told_beside(review)):
        print(line)
    print(f"Written to {out}: open {out / 'report.html'}, or look at it with: countfall open {out}")


def _compare(ask: argparse.Namespace) -> int:
    from motion.store.folder import read_review
    from motion.tell.compare import compared

    for line in compared(read_review(ask.folder, whole=True), read_review(ask.other, whole=True)):
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


def _wallplan(ask: argparse.Namespace) -> int:
    from motion.dance.check import require_danceable
    from motion.dance.sheet import read_sheet
    from motion.dance.song_plan import on_paper
    from motion.tell.wall_plan import song_seconds, wall_plan_html, write_wall_plan

    sheet = read_sheet(ask.sheet)
    require_danceable(sheet)
    song_s = song_seconds(ask.minutes) if ask.minutes is not None else None
    html = wall_plan_html(sheet, on_paper(sheet, bpm=ask.bpm, song_s=song_s, intro=ask.intro))
    out = ask.out or ask.sheet.with_suffix(".wallplan.html")
    write_wall_plan(out, html)
    print(f"Written to {out}: open it in a browser and print it on A4.")
    return 0


def _lesson(ask: argparse.Namespace) -> int:
    from motion.dance.sheet import read_sheet
    from motion.tell.lesson_page import write_lesson
    from motion.tell.lesson_plan import Wish, make_lesson, room_of

    check_age(ask.age, ask.audience)
    check_floor(ask.dancers, ask.rows, ask.room)
    room_m = room_of(ask.room) if ask.room is not None else None
    wish = Wish(ask.minutes, ask.audience, ask.dancers, ask.rows, room_m, ask.seated, ask.bpm, ask.age)
    lesson = make_lesson(wish, read_sheet(ask.dance) if ask.dance is not None else None)
    out = ask.out or Path("lesson.html")
    write_lesson(out, lesson)
    print(f"Written to {out}: open it in a browser, also without a network, or print it.")
    return 0


def _tune(ask: argparse.Namespace) -> int:
    from motion.base.checks import number_between
    from motion.film.practice_track import practice_rungs, practice_track, section_of_metre, write_practice_track

    rungs = practice_rungs(ask.bpm, ask.counts, ladder_of=ask.ladder)
    number_between(ask.seed, 0, 999_999, "--seed", "")
    plain = ask.clicks_only
    section = section_of_metre(ask.metre)
    tune = practice_track(rungs, section=section, wait_counts=ask.wait, music=not plain, voice=not plain, seed=ask.seed)
    beats = write_practice_track(ask.out, tune)
    print(f"Written to {ask.out}, its beats to {beats.name} beside it: review a clip danced to it with --song {ask.out}.")
    return 0


def _open(ask: argparse.Namespace) -> int:
    from motion.desk.page_server import open_page

    return open_page(ask.what, port=ask.port, browser=not ask.no_browser, tell=lambda words, _: print(words))


def _batch(ask: argparse.Namespace) -> int:
    from motion.desk.review_clip import review_clip
    from motion.library.classes import remembered

    clips = clips_named(ask.clips)
    watching, judging, failed = _watching(ask), _judging(ask), 0
    if ask.out:
        make_folder(ask.out)
    for k, (clip, out) in enumerate(zip(clips, places_for(clips, ask.out), strict=True), 1):
        _say(f"[{k} of {len(clips)}] {clip.name}")
        try:
            check_length(clip, judging.first_count_s)
            done = review_clip(clip, out, watching, judging, progress=_progress(), expires=_expiry())
            _told(done, out)
            print(remembered(out, done["clip"]["expires"]))
        except MotionError as error:
            _say(in_one_line(str(error)))
            failed += 1
    if failed:
        _say(f"{failed} of {len(clips)} clips could not be reviewed.")
    return 1 if failed else 0


def _expiry() -> str:
    return (date.today() + timedelta(days=SETTINGS.desk.kept_days)).isoformat()


def _progress() -> Progress:
    """A bar on a terminal; few plain lines elsewhere; a file of steps where COUNTFALL_PROGRESS names one."""
    name = os.environ.get("COUNTFALL_PROGRESS")
    if name:
        from motion.jobs.queue import progress_file

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
        left = f", {gone / share * (1 - share):.0f} s left" if share > LEAST_SHARE and gone > 1 else ""
        full = int(share * 30)
        end = "\n" if share >= 1 else ""
        print(f"\r\033[K{words} [{'=' * full}{' ' * (30 - full)}] {share:4.0%}{left}", end=end, file=sys.stderr, flush=True)

    return tell
