"""Did the foot go where the dance has it: against the sheet's word, and against the dancer's own other walls."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from motion.base.types import Due, Floats
from motion.timing.settings import TimingSettings


@dataclass(frozen=True)
class Elsewhere:
    """Event i went elsewhere by `far` leg lengths beyond what is usual; by_sheet: against the sheet, else against the other walls;
    always: it does so on every wall, which questions the sheet and not the dancer."""

    i: int
    far: float
    by_sheet: bool
    always: bool


def elsewhere(due: Sequence[Due], place: Floats, settings: TimingSettings) -> list[Elsewhere]:
    """Events whose foot came to rest somewhere else than meant.

    place (N, 2): where each event's foot came to rest against the other foot, to the dancer's right and forward in leg lengths, NaN
    where there is none (or where the dance was in mirror image).
    """
    own = place.copy()
    own[[d.foot == "left" for d in due], 0] *= -1  # to the stepping foot's own side
    out = []
    for i, d in enumerate(due):
        if not np.isfinite(own[i]).all() or turning(due, i):
            continue
        others = [k for k, o in enumerate(due) if k != i and _same(o, d) and np.isfinite(own[k]).all()]
        far = float(beyond(d, own[[i]], settings)[0])
        if far > settings.place_slack:
            alike = [k for k in others if beyond(d, own[[k]], settings)[0] > settings.place_slack]
            out.append(Elsewhere(i, far, True, len(others) > 0 and len(alike) > len(others) / 2))
        elif len(others) >= settings.place_walls:
            usual = np.median(own[others], axis=0)
            spread = float(np.median(np.hypot(*(own[others] - usual).T)))
            gap = float(np.hypot(*(own[i] - usual)))
            if spread < settings.place_spread and gap > settings.place_apart:
                out.append(Elsewhere(i, gap, False, False))
    return out


def turning(due: Sequence[Due], i: int) -> bool:
    """Does the body turn about then? While it does, its own right and forward are not certain enough."""
    return any(o.turn_deg != 0 and abs(o.count - due[i].count) <= 1.01 for o in due[max(0, i - 3) : i + 4])


def _same(a: Due, b: Due) -> bool:
    return a.foot == b.foot and a.move == b.move and abs(a.count_in_wall - b.count_in_wall) < 0.01


def beyond(due: Due, own: Floats, settings: TimingSettings) -> Floats:
    """How far places (N, 2: own side, forward) lie outside where the event's word puts its foot, leg lengths (N,).

    0 for words that leave it open, and where the sheet's figure has a place of its own; NaN where the place is not known.
    """
    side, ahead = own[:, 0], own[:, 1]
    least, close = settings.place_least, settings.place_close
    outside = {
        "forward": least - ahead,
        "back": least + ahead,
        "side": settings.place_side - side,
        "together": np.maximum(np.abs(ahead) - close, side - settings.place_together),
        "cross": side - settings.place_crossed,
        "behind": side - settings.place_crossed,
    }
    if due.place is not None or due.move not in outside:
        return np.where(np.isfinite(side), 0.0, np.nan)
    return np.asarray(np.maximum(outside[due.move], 0.0))


def speaks(due: Due) -> bool:
    """Does the event's word say where its foot goes?"""
    return due.place is None and due.move in ("forward", "back", "side", "together", "cross", "behind")
