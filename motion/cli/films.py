"""The commands about filming: what is made ready and looked at before it, the counted clip, the film that a student takes along."""

from __future__ import annotations

import argparse
import glob
import json
import os
from collections.abc import Callable, Sequence
from itertools import chain, count
from pathlib import Path
from typing import TYPE_CHECKING, Any

from motion.base.errors import BadInput, BadStore
from motion.base.progress import Progress
from motion.cli.arguments import clip_of, whole
from motion.review.settings import SETTINGS

if TYPE_CHECKING:
    Commands = argparse._SubParsersAction[Any]
    Bar = Callable[[], Progress]
    Say = Callable[[str], None]


def place(text: str) -> Path:
    """The path that was typed; the folder that one is in, and a disk's own, by their whole path: they have no name of their own."""
    path = Path(text)
    try:
        path = path if path.name not in ("", "..") else path.resolve()
    except FileNotFoundError as error:
        what = "The folder that you are in is no longer there: it was moved, deleted or written anew"
        raise BadInput(what, "Go into it again, or name the folder from its beginning") from error
    if not path.name:
        raise BadInput(f"'{text}' is a whole disk", "Name the clip or the folder itself")
    return path


def check_against(review: dict[str, Any], *, first_count_s: float | None, own_version: Sequence[int]) -> None:
    """Raise BadInput where what is asked of a stored review cannot be: a count 1 after the clip's end, a dancer who is not in it."""
    from motion.tell.takes import dancer_of

    _check_first_count(first_count_s, review["clip"]["name"], float(review["clip"]["duration_s"]))
    for number in own_version:
        dancer_of(review, number)


def check_length(clip: Path, first_count_s: float | None) -> None:
    """The same of a clip that is yet to be looked at; raises as opening it does."""
    from motion.clip.video import open_clip

    if first_count_s is not None:
        _check_first_count(first_count_s, clip.name, open_clip(clip, settings=SETTINGS.clip).duration_s)


def _check_first_count(first_count_s: float | None, name: str, duration_s: float) -> None:
    """Before the clip's beginning count 1 may lie, for a clip that begins in mid-dance; after its end it may not."""
    if first_count_s is not None and first_count_s > duration_s:
        what = f"--first-count is {first_count_s:g} s, but the clip '{name}' lasts {duration_s:.1f} s"
        raise BadInput(what, "Give the second of the clip at which count 1 of the dance falls")


def make_folder(folder: Path) -> None:
    """Make a folder, and those above it. Raises BadStore where that cannot be."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadStore(f"The folder {folder} cannot be made: {_reason(error)}", "Choose another place") from error


def clips_in(folder: Path) -> list[Path]:
    """The clips in a folder, by name. Raises BadInput where it may not be looked into."""
    try:
        return sorted(path for path in folder.iterdir() if path.suffix.lower() in SETTINGS.clip.endings)
    except OSError as error:
        raise BadInput(f"The folder {folder} cannot be read: {_reason(error)}", "Check that you may open it") from error


def clips_named(asked: Sequence[str]) -> list[Path]:
    """The clips meant by names, folders and patterns such as "*.mp4". Raises BadInput where none is."""
    found: list[Path] = []
    for word in asked:
        if os.path.isdir(word):
            found += clips_in(Path(word))
        elif os.path.isfile(word):  # also one whose name looks like a pattern
            found.append(Path(word))
        else:
            found += sorted(Path(p) for p in glob.glob(word)) or [Path(word)]
    if not found:
        raise BadInput(f"No clip was found in '{', '.join(asked)}'", "Name a folder that holds clips, or the clips themselves")
    once: dict[Path, Path] = {}
    for path in found:  # named twice, reviewed once
        once.setdefault(path.resolve(), path)
    return list(once.values())


def places_for(clips: Sequence[Path], out: Path | None) -> list[Path]:
    """The review folder of each clip, beside it or all in `out`; no two clips have one, whatever they are called."""
    from motion.store.folder import default_out

    taken: list[Path] = []
    for clip in clips:
        plain = default_out(clip) if out is None else out / default_out(clip).name
        others = (plain.with_name(f"{clip.name}{number}{plain.suffix}") for number in chain([""], map(" {}".format, count(2))))
        taken.append(next(place for place in chain([plain], others) if place not in taken))
    return taken


def _reason(error: OSError) -> str:
    return (error.strerror or "the disk gave no reason").lower()


def add_film_commands(commands: Commands, progress: Bar, say: Say) -> None:
    """Add the commands to the parser; progress: makes what shows how far a command is; say: tells a line."""
    prepare = commands.add_parser("prepare", help="fetch and check the pose model ahead of the lesson")
    prepare.add_argument("--to", type=place, metavar="FOLDER", help="also write it there, for a computer without network")
    prepare.add_argument("--icon", action="store_true", help="also put an icon that opens the page on the desktop")
    prepare.set_defaults(run=lambda ask: _prepare(ask, progress, say))

    overlay = commands.add_parser("overlay", help="the counted clip of a stored review, drawn anew as it is judged now")
    _film_options(overlay)
    overlay.add_argument("--room-sound", action="store_true", help="the room's own sound in place of clicks: voices can be heard")
    overlay.set_defaults(run=lambda ask: _overlay(ask, progress, say))

    handout = commands.add_parser("handout", help="one dancer's film to take along: counts, clicks, three speeds")
    _film_options(handout)
    handout.add_argument("--dancer", type=whole, required=True, metavar="N", help="whose film, by number in the review")
    handout.add_argument("--mirror", action="store_true", help="left and right exchanged, as in a mirror")
    handout.add_argument("--apart", action="store_true", help="each speed in a file of its own, in place of chapters")
    handout.add_argument("--out", type=place, metavar="FILE.mp4", help="where the film goes (default: beside the folder)")
    handout.set_defaults(run=lambda ask: _handout(ask, progress, say))

    release = commands.add_parser("release", help="before a dance is released: sheet and clip, line by line, on one printed page")
    release.add_argument("folder", type=place, metavar="FOLDER")
    release.add_argument("--dancer", type=whole, metavar="N", help="who demonstrates, by number in the review (default: the first)")
    release.add_argument("--out", type=place, metavar="FILE.html", help="where the page goes (default: beside the folder)")
    release.set_defaults(run=lambda ask: _release(ask, say))

    look = commands.add_parser("look", help="before filming: what a test clip or picture shows, and what to change")
    look.add_argument("what", type=place, metavar="CLIP|PICTURE")
    look.add_argument("--dancers", type=whole, metavar="N", help="how many are dancing")
    look.add_argument("--for", dest="purpose", choices=("timing", "bending"), default="timing", help="what the clip is to be for")
    look.add_argument("--model", type=place, metavar="FILE|FOLDER", help="a pose model that you already have")
    look.add_argument("--json", action="store_true", help="for programs")
    look.set_defaults(run=lambda ask: _look(ask, progress, say))


def _release(ask: argparse.Namespace, say: Say) -> int:
    from motion.store.folder import read_review
    from motion.tell.release import default_release, release_html, release_lines, write_release
    from motion.tell.takes import dancer_of

    review = read_review(ask.folder, whole=True)
    if not review["dancers"]:
        raise BadInput(f"The review in {ask.folder} holds no dancer any more", "Review the clip again")
    dancer = review["dancers"][0] if ask.dancer is None else dancer_of(review, ask.dancer)
    out = ask.out or default_release(ask.folder)
    write_release(out, release_html(review, dancer))
    for line in release_lines(review, dancer):
        say(f"{line.name}: {line.verdict}. {line.words}")
    say(f"Written to {out}: open it in a browser and print it on A4.")
    return 0


def _film_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", type=place, metavar="FOLDER")
    parser.add_argument("--clip", type=place, metavar="CLIP", help="the clip, where it is not beside the folder")
    parser.add_argument("--show-heads", action="store_true", help="leave heads uncovered: only with everybody's agreement to that")
    parser.add_argument(
        "--mask", type=whole, action="append", default=[], metavar="N", help="a dancer who must not be seen; may be given again"
    )


def _prepare(ask: argparse.Namespace, progress: Bar, say: Say) -> int:
    from motion.clip.pose_model import prepare
    from motion.desk.desktop_icon import write_icon

    for model in prepare(ask.to, progress=progress()):
        say(f"Ready: the {'careful' if model.quality == 'fine' else 'quick'} model, {model.path}")
        if model.fell_back:
            say(model.fell_back)
    if ask.icon:
        say(f"An icon that opens the page: {write_icon()} (some Linux desktops ask once: right-click it, and allow it to start)")
    return 0


def _overlay(ask: argparse.Namespace, progress: Bar, say: Say) -> int:
    from motion.film.overlay import draw_again

    out = draw_again(
        ask.folder,
        clip_of(ask.folder, ask.clip),
        room_sound=ask.room_sound,
        cover_heads=not ask.show_heads,
        mask=ask.mask,
        progress=progress(),
    )
    say(f"Written to {out}.")
    for words in film_words(show_heads=ask.show_heads, room_sound=ask.room_sound):
        say(words)
    return 0


def film_words(*, show_heads: bool, room_sound: bool = False) -> list[str]:
    """What is to be known of a film before it is handed on: whether heads are covered in it, and whether voices can be heard."""
    from motion.film.overlay import HEADS_WORDS, ROOM_SOUND_WORDS

    heads = "Heads are not covered in the film: hand it on only with the agreement of everybody in it to that."
    return [heads if show_heads else HEADS_WORDS, *([ROOM_SOUND_WORDS] if room_sound else [])]


def _handout(ask: argparse.Namespace, progress: Bar, say: Say) -> int:
    from motion.film.take_home import default_handout, make_handout

    out = ask.out or default_handout(ask.folder, ask.dancer)
    made = make_handout(
        ask.folder, clip_of(ask.folder, ask.clip), ask.dancer, out, mirror=ask.mirror, apart=ask.apart, cover_heads=not ask.show_heads,
        mask=ask.mask, progress=progress(),
    )  # fmt: skip
    for path in made:
        say(f"Written to {path}.")
    for words in film_words(show_heads=ask.show_heads):
        say(words)
    return 0


def _look(ask: argparse.Namespace, progress: Bar, say: Say) -> int:
    from motion.film.framing_check import look, looked_json

    looked = look(ask.what, dancers=ask.dancers, purpose=ask.purpose, model=ask.model, progress=progress())
    if ask.json:
        say(json.dumps(looked_json(looked)))
        return 0
    for one in looked.told:
        say(f"{'Good' if one.good else 'Not told' if one.good is None else 'Change'}: {one.words} {one.remedy}".rstrip())
    return 0
