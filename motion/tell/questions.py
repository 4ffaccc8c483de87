"""What a review asks back, and what it found that is no fault: a mirror image, counts placed off the beat on purpose, easier ways."""

from __future__ import annotations

from typing import Any

from motion.review.settings import SETTINGS
from motion.tell.words import Told, count_name, listed, place_words, section_of, why_not
from motion.timing.questions import ANSWER_MIRROR

MIRROR_QUESTION = "Was the clip filmed with the front camera, or did you dance it turned for learners?"


def asks_mirror(note: str) -> bool:
    """Whether a note of a review is the question about a mirror image, which a page asks with buttons instead."""
    return note.endswith(ANSWER_MIRROR)


def mirror_is_open(review: dict[str, Any]) -> bool:
    """Whether left and right fit better exchanged, and nobody has said yet why."""
    return _mirror(review) == "ask" and any(asks_mirror(str(note)) for note in review.get("notes", ()))


def mirror_answered(review: dict[str, Any]) -> str | None:
    """How the question was answered and what follows from that; None while it was not."""
    return {
        "yes": "Judged with left and right exchanged, because you said that the clip shows the dance turned round.",
        "no": "Judged with left and right as they are seen, because you said that the clip does not show the dance turned round.",
    }.get(_mirror(review))


def phrasing_told(dancer: dict[str, Any]) -> Told | None:
    """Counts that a dancer places off the beat wall after wall, which is theirs and no fault; None if there are none."""
    found = dancer.get("phrasing") or ()
    if not found:
        return None
    words, figures = [], []
    for one in found:
        size = "clearly" if abs(one["offset_ms"]) > SETTINGS.page.little_ms else "a little"
        when = "later" if one["offset_ms"] > 0 else "earlier"
        foot = f"the {one['foot']} foot" if one.get("foot") else "the foot"
        name = count_name(one["count"])
        words.append(f"On count {name} {foot} comes {size} {when} than their other steps, wall after wall.")
        figures.append(
            f"Count {name}: {abs(one['offset_ms']):.0f} ± {one['interval_ms']:.0f} ms {when} than this dancer's own usual time, "
            f"seen on {one['walls']} walls; on {one['off']} of them by more than a single landing can be misread."
        )
    return Told(f"{' '.join(words)} That is how this dancer phrases it, and no fault.", tuple(figures))


def own_told(dancer: dict[str, Any]) -> str | None:
    """That a dancer was marked as dancing a version of their own; None for everybody else."""
    said = "Dances a version of their own, on purpose: set beside the beat alone, and none of it is a fault."
    return said if dancer.get("own_version") else None


def easier_told(dancer: dict[str, Any], review: dict[str, Any] | None = None) -> str | None:
    """Where a dancer took an easier way that the sheet offers; None if nowhere. review: so that walls can be named."""
    spans = dancer.get("easier") or ()
    if not spans:
        return None
    dance, beats = (review or {}).get("dance"), (review or {}).get("beats")
    section = section_of(dance, {} if beats is None or why_not(beats) else beats)
    places = [place_words(from_count, until, dance["wall_starts"] if dance else [], section) for from_count, until in spans]
    return f"Danced in the easier way that the sheet offers, which is as good: {listed(places)}."


def _mirror(review: dict[str, Any]) -> str:
    return str(review.get("made_by", {}).get("judged", {}).get("mirror", "ask"))
