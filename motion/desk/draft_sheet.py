"""Write down what was danced: a draft of a dance sheet from a stored review of a demonstration, without any sheet.

Only the beat and the landings have a say. The person says how many counts the dance has, and may say when count 1 was.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from motion.base.errors import BadInput
from motion.base.types import Angles, BeatGrid, DanceSheet, Floats, Measurement, NotMeasured, Pairing, Review, Steps
from motion.dance.draft import Landed, draft_sheet
from motion.desk.review_clip import without_sheet
from motion.review.settings import SETTINGS


def written_down(folder: Path, counts: int, *, dancer: int = 1, first_count_s: float | None = None) -> DanceSheet:
    """A draft of the dance that dancer number `dancer` dances in the review in `folder`, marked as a draft in its header.

    counts: of one wall; first_count_s: when count 1 was, in seconds of the clip, or None to take it as the review has it.
    Raises BadStore if the folder holds no review, BadInput if there is no such dancer, no beat or no landing to write down.
    """
    review = without_sheet(folder, first_count_s)
    one = next((d for d in review.dancers if d.track.id == dancer), None)
    if one is None:
        raise BadInput(f"There is no dancer {dancer} in this review", f"Choose 1 to {len(review.dancers)}")
    grid = review.beats
    if isinstance(grid, NotMeasured):
        raise BadInput(f"The dance cannot be written down: {grid.why}", "Tap the beats first, then try again")
    whose = f", dancer {dancer}" if len(review.dancers) > 1 else ""
    title = f"Draft of {Path(review.clip.name).stem}"
    threes = 3 if int(grid.counts.max()) == 6 else 4
    made_from = f"the clip {review.clip.name}{whose}"
    return draft_sheet(landed(one, grid), counts, title=title, made_from=made_from, beats_per_bar=threes, bpm=grid.tempo_bpm)


def dancers_of(review: Review) -> list[int]:
    """The numbers of the dancers whose landings were read."""
    return [d.track.id for d in review.dancers if isinstance(d.steps, Steps)]


def landed(one: Measurement, grid: BeatGrid) -> list[Landed]:
    """The dancer's landings on counts, with what the body faced when the foot came down; BadInput if there are none."""
    steps, pairing, angles = one.steps, one.pairing, one.angles
    if isinstance(steps, NotMeasured) or isinstance(pairing, NotMeasured):
        why = steps.why if isinstance(steps, NotMeasured) else pairing.why if isinstance(pairing, NotMeasured) else ""
        raise BadInput(f"The dance cannot be written down: {why}", "Choose another dancer or clip")
    gap_s = 60 / grid.tempo_bpm
    off = _off(pairing, gap_s)
    facing_deg = _facing(steps.times_s, angles if isinstance(angles, Angles) else None, gap_s)
    return [
        Landed(float(pairing.counts[k]), float(off[k]), "right" if steps.right[k] else "left", steps.kinds[k], float(steps.strength[k]),
               (float(steps.place[k, 0]), float(steps.place[k, 1])), float(facing_deg[k]))
        for k in range(len(steps.times_s))
        if np.isfinite(pairing.counts[k])
    ]  # fmt: skip


def _off(pairing: Pairing, gap_s: float) -> Floats:
    """Counts (S,) off the nearest half count, the dancer's own habit taken out."""
    off = pairing.offset_ms / 1000 / gap_s
    usual = float(np.nanmedian(off)) if np.isfinite(off).any() else 0.0
    return np.asarray(np.nan_to_num(off - usual))


def _facing(times_s: Floats, angles: Angles | None, gap_s: float) -> Floats:
    """Facing (S,) in degrees clockwise, from any zero and running on, in the half count after each landing; NaN where not seen."""
    out = np.full(len(times_s), np.nan)
    if angles is None:
        return out
    seen = np.isfinite(angles.view_deg)
    view_deg = np.full(len(seen), np.nan)
    if seen.any():
        view_deg[seen] = np.degrees(np.unwrap(np.radians(angles.view_deg[seen])))
    for k, time_s in enumerate(times_s):
        near = seen & (angles.times_s >= time_s) & (angles.times_s < time_s + SETTINGS.draft.facing_counts * gap_s)
        if near.any():
            out[k] = -float(np.median(view_deg[near]))  # who turns to the right shows the left side to whoever stood in front
    return out
