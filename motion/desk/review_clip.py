"""A review from door to desk: what the command and the batch run, and judging a stored one again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from motion.base.options import JudgeOptions, WatchOptions
from motion.base.progress import Progress, quiet
from motion.base.types import BeatGrid, Review

if TYPE_CHECKING:
    from motion.desk.open_review import Opened
    from motion.review.corrections import Corrected, Hidden, Masks
    from motion.review.judge import Weights
    from motion.review.watch import Watched


def review_clip(
    clip: Path, out: Path, watching: WatchOptions, judging: JudgeOptions, *, progress: Progress = quiet, expires: str | None = None
) -> dict[str, Any]:
    """Review a clip into a folder and return review.json. Everything that can be refused is refused before the slow part.

    Corrections by hand that an earlier review of the same clip left in the folder are made again.
    """
    from motion.review.corrections import apply, hide
    from motion.review.judge import check_asked
    from motion.review.settings import SETTINGS
    from motion.review.watch import watch
    from motion.store.corrections import earlier_masks, mask_arrays, read_corrections
    from motion.store.folder import check_out, write_review

    check_out(out)
    check_asked(judging)
    standing = _asked_standing(judging)
    corrections = read_corrections(out)
    watched = watch(clip, watching, progress=progress)
    progress("Judging the counts", None)
    sha256 = watched.clip.sha256
    size_px, earlier = (watched.clip.width_px, watched.clip.height_px), earlier_masks(out, sha256)
    hidden = hide(watched.landmarks, corrections.get(sha256, ()), earlier, size_px, SETTINGS.desk, anew=True)
    corrected = apply(hidden.landmarks, hidden.corrections, SETTINGS.desk)
    review = _judged(watched, hidden, corrected, judging, expires=expires, stored_standing=standing)
    data, html = _rendered(review)

    def draw(target: Path) -> None:
        _draw(clip, review, hidden, watched, watching, target, progress)

    film = draw if watching.overlay else _kept_overlay(out, sha256, earlier, hidden.masks)
    arrays = watched.arrays() | mask_arrays(hidden.masks)
    write_review(out, review, extra_arrays=arrays, report_html=html, overlay=film, landmarks=hidden.landmarks, said=data)
    return data


def judge_folder(folder: Path, judging: JudgeOptions, *, weights: Weights | None = None) -> dict[str, Any]:
    """Judge a stored review again, without the video, and return review.json.

    The sheet, the given beats (unless the heard ones are asked for) and the stored standing of the review stay unless others are named;
    all else is as asked now.
    Corrections by hand are made as corrections.json says. weights: of the contact network, for the benches.
    """
    from motion.store.folder import write_review

    one, review = judged_again(folder, judging, weights=weights)
    data, html = _rendered(review)
    carry = _kept_overlay(folder, one.watched.clip.sha256, one.masks, one.hidden.masks)
    write_review(
        folder,
        review,
        extra_arrays=one.arrays(),
        report_html=html,
        overlay=carry,
        landmarks=one.hidden.landmarks,
        packed=one.packed,
        said=data,
    )
    return data


def judged_again(folder: Path, judging: JudgeOptions, *, weights: Weights | None = None) -> tuple[Opened, Review]:
    """As `judge_folder`, and not written: the stored review as it was opened, and as it is judged now."""
    from motion.dance.sheet import parse_sheet
    from motion.desk.open_review import opened
    from motion.tell.range_check import stored_standing

    one = opened(folder)
    dance = one.review.get("dance")
    sheet = parse_sheet(dance["written"], "the stored dance sheet") if dance else None
    beats, expires = None if judging.heard else _given_beats(one.review), one.review["clip"]["expires"]
    standing = _asked_standing(judging) or stored_standing(one.review, zero="stored")
    more = {"earlier_sheet": sheet, "earlier_beats": beats, "expires": expires, "stored_standing": standing, "weights": weights}
    return one, _judged(one.watched, one.hidden, one.corrected, judging, **more)


def without_sheet(folder: Path, first_count_s: float | None = None) -> Review:
    """A stored review judged again as if no dance were known, and not written: landings against beats alone.

    first_count_s: when count 1 was; None takes the stored review's own. Corrections by hand are worked in.
    """
    from motion.desk.open_review import opened

    one = opened(folder)
    if first_count_s is None:
        first_count_s = one.review["beats"].get("first_count_s")
    asked = JudgeOptions(first_count_s=first_count_s)
    return _judged(one.watched, one.hidden, one.corrected, asked, earlier_beats=_given_beats(one.review))


def _judged(watched: Watched, hidden: Hidden, corrected: Corrected, judging: JudgeOptions, **options: Any) -> Review:
    """The review of the dancers as corrected by hand, with notes on what was done by hand."""
    from motion.review.corrections import told
    from motion.review.judge import judge

    review = judge(
        replace(watched, landmarks=corrected.landmarks),
        judging,
        labels=corrected.labels,
        own_version=corrected.own_version,
        **options,
    )
    notes = []
    asked, found, covered = watched.made_by.get("asked", {}).get("dancers"), len(corrected.labels), len(hidden.masks.points)
    by_hand = corrected.left_out + covered  # found all the same; or nobody of those asked for, where that leaves too many
    if asked is not None and (counted := min(max(asked, found), found + by_hand)) != asked:
        notes.append(f"Found {counted} of {asked} dancers.")
    if corrected.left_out:
        notes.append(f"Left out by hand: {corrected.left_out}.")
    if covered:
        notes.append(f"Covered whole by hand, and not followed: {covered}.")
    for one in (*hidden.missed, *corrected.missed):
        notes.append(f"Put right by hand, but nobody was found there now, so it was not done: {told(one)}.")
    return replace(review, notes=(*notes, *review.notes))


def _asked_standing(judging: JudgeOptions) -> tuple[str | None, dict[str, Any]] | None:
    """The standing in the range check that was asked for; BadInput when there is none in it, BadStore when it is no review."""
    from motion.base.errors import BadInput
    from motion.store.folder import read_review
    from motion.tell.range_check import stored_standing

    if judging.standing is None:
        return None
    found = stored_standing(read_review(judging.standing))
    if found is None:
        raise BadInput(
            f"The review in '{judging.standing}' holds no quiet standing", "Give a range check in which the dancer stands side-on"
        )
    return found


def _given_beats(review: dict[str, Any]) -> BeatGrid | None:
    """The beats of a stored review where a person gave them, at the speed in which they were given; heard ones are found again."""
    from motion.music.counts import at_speed
    from motion.store.folder import beat_grid

    grid = beat_grid(review["beats"])
    if grid is None or grid.source == "sound":
        return None
    counted = review["made_by"].get("judged", {}).get("count_speed", "same")
    return at_speed(grid, "double" if counted == "half" else "half" if counted == "double" else "same")


def _rendered(review: Review) -> tuple[dict[str, Any], str]:
    from motion.store.serialize import review_json
    from motion.tell.report import report_html

    data = review_json(review)
    return data, report_html(data)


def _kept_overlay(folder: Path, sha256: str, before: Masks, now: Masks) -> Callable[[Path], None] | None:
    """What carries an earlier counted clip of this very clip over, so that it is not lost when all is judged or reviewed again; None
    where there is none, or where it shows somebody who is not to be seen any more."""
    import shutil

    from motion.base.errors import BadStore
    from motion.store.folder import OVERLAY, read_review

    earlier = folder / OVERLAY
    if not earlier.is_file() or len(now.points) > len(before.points):
        return None
    try:
        if read_review(folder)["clip"]["sha256"] != sha256:
            return None
    except (BadStore, KeyError, TypeError):  # damaged: nothing tells whom it shows
        return None

    def carry(target: Path) -> None:
        shutil.copyfile(earlier, target)

    return carry


def _draw(
    clip: Path, review: Review, hidden: Hidden, watched: Watched, watching: WatchOptions, target: Path, progress: Progress
) -> None:
    from motion.base.types import BeatGrid, NotMeasured
    from motion.clip.sound import read_sound
    from motion.clip.video import pictures
    from motion.film.covers import with_bystanders
    from motion.film.overlay import counted_sound, draw_overlay
    from motion.review.settings import SETTINGS

    progress("Drawing the counted clip", None)
    beats = review.beats if isinstance(review.beats, BeatGrid) else None
    sound = counted_sound(beats, review.clip.duration_s)
    if watching.room_sound:
        heard = read_sound(clip, review.clip, settings=SETTINGS.clip)
        sound = None if isinstance(heard, NotMeasured) else heard
    with pictures(clip, review.clip, settings=SETTINGS.clip, from_s=watching.from_s, to_s=watching.to_s) as shown:
        everyone = with_bystanders(hidden.landmarks, watched.bystanders_px)
        draw_overlay(shown, review, target, sound=sound, cover_heads=not watching.show_heads, everyone=everyone, masks=hidden.masks)
