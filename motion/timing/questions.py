"""What is danced otherwise on most walls, or by most of a class, questions the sheet and not the dancer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from motion.base.types import Flag
from motion.timing.flags import Danced, in_sight
from motion.timing.match import WAYS
from motion.timing.settings import TimingSettings

#: Differences that may be the sheet's; what the question says of them.
DIFFERENT = {
    "missed": "no landing is seen there",
    "other foot": "the other foot steps there",
    "other step": "the foot goes elsewhere, or weight is not as written",
    "extra": "one landing more is seen there",
}
#: How the question about a mirror image ends, by which a stored note is known for it.
ANSWER_MIRROR = "Answer with --mirror."


@dataclass(frozen=True)
class Question:
    """At a count of the wall (3.5 is 3&) most walls differ from the sheet. kind as of flags; dancers: whose walls; walls: on how many of
    `of` walls, over these dancers together."""

    count: float
    kind: str
    dancers: tuple[int, ...]
    walls: int
    of: int

    @property
    def words(self) -> str:
        """One plain sentence."""
        whole = int(self.count + 1e-6)
        mark = "" if self.count - whole < 0.01 else "&" if self.count - whole < 0.6 else "a"
        seen = f"{DIFFERENT[self.kind]} on {self.walls} of {self.of} walls"
        return f"The sheet may differ from what is danced at count {whole}{mark}: {seen}."


def settled(
    danced: Sequence[tuple[int, Danced, Sequence[Flag]]], settings: TimingSettings
) -> tuple[dict[int, tuple[Flag, ...]], tuple[Question, ...]]:
    """The findings of each dancer that are left, and what is asked about the sheet instead.

    danced: (number, what was danced, findings). A difference on most of one dancer's walls (two at least) is the sheet's, unless two
    others or more mostly dance it as written: then it is that dancer's own. One of most of a class, over all their walls together, is
    asked about and put to nobody's name.
    """
    kept = {n: tuple(flags) for n, _, flags in danced}
    tallies = {(key, n): tally for n, one, flags in danced for key, tally in _tallies(one, flags, settings).items()}
    asked: list[Question] = []
    for key in sorted({key for key, _ in tallies}):
        count, kind = key
        each = {n: tallies.get((key, n)) or _walls(one, count, settings) for n, one, _ in danced}
        each = {n: t for n, t in each.items() if t[1] > 0}
        often = [n for n, (k, of) in each.items() if k >= 2 and k > of * settings.phrase_share]
        k, of = sum(t[0] for t in each.values()), sum(t[1] for t in each.values())
        most = len(each) >= 3 and len([n for n, t in each.items() if t[0]]) > len(each) / 2 and k > of * settings.phrase_share
        as_written = [n for n, (k, of) in each.items() if k <= of / 2]
        if most:
            whose = tuple(n for n, t in each.items() if t[0])
            asked.append(Question(count, kind, whose, k, of))
            for n in whose:
                kept[n] = tuple(replace(f, named=False) if _meant(f, key, _of(danced, n)) else f for f in kept[n])
        elif often and len(as_written) < 2:
            asked.append(Question(count, kind, tuple(often), sum(each[n][0] for n in often), sum(each[n][1] for n in often)))
            for n in often:
                kept[n] = tuple(f for f in kept[n] if not _meant(f, key, _of(danced, n)))
    return kept, tuple(asked)


def mirror_question(
    danced: Sequence[tuple[int, Danced, Sequence[Flag]]], kept: dict[int, tuple[Flag, ...]], settings: TimingSettings
) -> tuple[str | None, dict[int, tuple[Flag, ...]]]:  # fmt: skip
    """What to ask when everybody dances in mirror image, None when not, and the findings without those that the answer settles."""
    shares = []
    for _, one, _ in danced:
        held = one.match.step >= 0
        shares.append(float(np.mean([WAYS[w][0] for w in one.match.way[held]])) if held.sum() >= settings.least_pairs else 0.0)
    if not shares or np.mean([s >= settings.mirror_share for s in shares]) < settings.mirror_share:
        return None, kept
    who = "The dancer fits" if len(shares) == 1 else "The dancers fit"
    said = f"{who} the dance better with left and right exchanged: is the clip a mirror image, or danced as one? {ANSWER_MIRROR}"
    return said, {n: tuple(f for f in flags if f.kind != "danced in mirror") for n, flags in kept.items()}


def _of(danced: Sequence[tuple[int, Danced, Sequence[Flag]]], number: int) -> Danced:
    return next(one for n, one, _ in danced if n == number)


def _meant(flag: Flag, key: tuple[float, str], danced: Danced) -> bool:
    return flag.kind == key[1] and flag.until_count is None and _in_wall(flag, danced) == key[0]


def _in_wall(flag: Flag, danced: Danced) -> float | None:
    """The count of the wall that a finding is at, to half a count."""
    if flag.count is None:
        return None
    i = int(np.argmin([abs(d.count - flag.count) for d in danced.due]))
    return round(2 * (danced.due[i].count_in_wall + flag.count - danced.due[i].count)) / 2


def _tallies(danced: Danced, flags: Sequence[Flag], settings: TimingSettings) -> dict[tuple[float, str], tuple[int, int]]:
    """(count in the wall, kind) of every difference -> on how many walls, of how many on which the count could be judged."""
    found: dict[tuple[float, str], int] = {}
    for flag in flags:
        count = _in_wall(flag, danced)
        if flag.kind in DIFFERENT and flag.until_count is None and count is not None:
            found[count, flag.kind] = found.get((count, flag.kind), 0) + 1
    return {key: (many, max(many, _walls(danced, key[0], settings)[1])) for key, many in found.items()}


def _walls(danced: Danced, count: float, settings: TimingSettings) -> tuple[int, int]:
    """(0, on how many walls something due within a half count of this one could be judged, danced as written or not at all)."""
    near = [i for i, d in enumerate(danced.due) if d.lands and abs(d.count_in_wall - count) <= 0.5]
    judged = {
        danced.due[i].wall
        for i in near
        if in_sight(danced, i, settings) and (danced.match.step[i] < 0 or WAYS[danced.match.way[i]] == (False, 0))
    }
    return 0, len(judged)
