"""A range check read for people: left beside right, this time beside last time, and how much change can be told from noise."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from motion.base.agreement import sem_from_repeats, smallest_change
from motion.review.settings import SETTINGS
from motion.tell.words import degrees, why_not

#: The order of the settings' three-fold values.
JOINT_ORDER = ("hip", "knee", "ankle")
#: Tasks in the order in which they are asked for, with what is measured.
TASKS: tuple[tuple[str, str, str], ...] = (
    ("knee bend", "knee", "Bend both knees"),
    ("knee lift", "hip", "Lift one knee"),
    ("point and flex", "ankle", "Point and flex one foot"),
    ("rise on toes", "ankle", "Rise on your toes"),
)


@dataclass(frozen=True)
class SideRange:
    """One task of one side: median of `repetitions`, its 95 % interval, whether the side was the one nearer the phone; sem_deg: how far
    such a median strays when nothing has changed."""

    range_deg: float
    low_deg: float
    high_deg: float
    repetitions: int
    near: bool
    sem_deg: float


@dataclass(frozen=True)
class TaskRange:
    """One task, left beside right; a side is None where it was skipped or could not be read."""

    task: str
    joint: str
    words: str
    left: SideRange | None
    right: SideRange | None


@dataclass(frozen=True)
class Change:
    """This time against last time: change_deg, and the least change that noise alone makes only once in twenty times."""

    task: str
    side: str
    change_deg: float
    smallest_deg: float
    own_repeats: int

    @property
    def told(self) -> bool:
        """Is the change more than noise?"""
        return abs(self.change_deg) >= self.smallest_deg


def checked_dancer(review: dict[str, Any]) -> dict[str, Any] | None:
    """The dancer of a range check: the first whose check found anything; None when the review holds none."""
    with_check = [one for one in review["dancers"] if "range_check" in one]
    return next((one for one in with_check if why_not(one["range_check"]) is None), None)


def stored_standing(review: dict[str, Any], *, zero: str | None = None) -> tuple[str | None, dict[str, Any]] | None:
    """Label and quiet standing of the first dancer of a review who has one kept (zero: only if bends count from it so named)."""
    for one in review["dancers"]:
        if "standing" in one and (zero is None or zero in one.get("angles", {}).get("zero", {}).values()):
            return one["label"], one["standing"]
    return None


def task_ranges(dancer: dict[str, Any]) -> list[TaskRange]:
    """Every task of the guided check, left beside right, in the order in which they are asked for."""
    rows = {(r["task"], r["side"]): r for r in dancer["range_check"]} if why_not(dancer["range_check"]) is None else {}
    return [
        TaskRange(task, joint, words, *(_side(rows.get((task, side)), joint) for side in ("left", "right")))
        for task, joint, words in TASKS
    ]


def _side(row: dict[str, Any] | None, joint: str) -> SideRange | None:
    if row is None:
        return None
    low, high = row["interval_deg"]
    each = np.array(row.get("each_deg", []), dtype=np.float64)
    within = sem_from_repeats([each]) or 0.0
    # the median of few values strays 1.25 times as much as their mean
    of_median = 1.25 * within / math.sqrt(max(1, row["repetitions"]))
    return SideRange(
        row["range_deg"], low, high, row["repetitions"], bool(row.get("near", False)),
        math.hypot(of_median, SETTINGS.range_check.session_sem_deg[JOINT_ORDER.index(joint)]),
    )  # fmt: skip


def changes(now: dict[str, Any], before: list[dict[str, Any]]) -> list[Change]:
    """This check's dancer against the last of the same person's earlier checks (oldest first), task by task and side by side.

    The least change is worked out from the standard error of measurement: of the repetitions in the checks and of two sessions with
    nothing changed, as measured with this program; from three earlier checks on, from the person's own repeats where these
    stray more.
    """
    told = []
    earlier = [task_ranges(one) for one in before]
    for k, task in enumerate(task_ranges(now)):
        for side in ("left", "right"):
            mine = getattr(task, side)
            theirs = [value for tasks in earlier if (value := getattr(tasks[k], side)) is not None]
            if mine is None or not theirs:
                continue
            last = theirs[-1]
            sem = math.sqrt((mine.sem_deg**2 + last.sem_deg**2) / 2)
            repeats = len(theirs) if len(theirs) >= SETTINGS.range_check.own_repeats else 0
            if repeats:
                sem = max(sem, sem_from_repeats([np.array([one.range_deg for one in theirs])]) or 0.0)
            told.append(Change(task.task, side, mine.range_deg - last.range_deg, smallest_change(sem), repeats))
    return told


def side_difference(task: TaskRange) -> tuple[float, float] | None:
    """Left minus right and the least difference that can be told from noise, in degrees; None unless both were measured from the same
    side of the body. Unlike the error between two days, that of the angles is not shared by the sides: the least is never below what the
    two give or take together."""
    if task.left is None or task.right is None or task.left.near != task.right.near:
        return None
    sem = math.sqrt((task.left.sem_deg**2 + task.right.sem_deg**2) / 2)
    give = [(side.high_deg - side.low_deg) / 2 for side in (task.left, task.right)]
    return task.left.range_deg - task.right.range_deg, max(smallest_change(sem), math.hypot(*give))


def task_told(task: TaskRange) -> str:
    """One plain sentence about a task: both sides with their give or take and the repetitions that they rest on."""
    parts = []
    for side in ("left", "right"):
        value: SideRange | None = getattr(task, side)
        if value is None:
            parts.append(f"{side}: skipped, or not seen from the side")
            continue
        times = "once" if value.repetitions == 1 else f"{value.repetitions} times"
        parts.append(
            f"{side} {degrees(value.range_deg)} give or take {degrees((value.high_deg - value.low_deg) / 2)}, seen {times}"
            + ("" if value.near else ", behind the other leg")
        )
    told = "; ".join(parts)
    return f"{told[0].upper()}{told[1:]}."


def difference_told(task: TaskRange) -> str | None:
    """Left against right in words; None unless both were measured."""
    if task.left is not None and task.right is not None and task.left.near != task.right.near:
        hidden = "left" if task.right.near else "right"
        seen = f"the {hidden} leg was seen only behind the other one"
        return f"Left and right are not set beside each other: {seen}. Turn round half-way next time."
    found = side_difference(task)
    if found is None:
        return None
    apart, least = found
    if abs(apart) < least:
        return f"Left and right do not differ by more than this can tell ({degrees(least)})."
    more, less = ("left", "right") if apart > 0 else ("right", "left")
    return f"The {more} side moved {degrees(abs(apart))} more than the {less}; from {degrees(least)} on that is more than chance."


def change_told(change: Change) -> str:
    """This time against last time in words."""
    least = degrees(change.smallest_deg)
    rests = f", as {change.own_repeats} earlier checks show" if change.own_repeats else ""
    if not change.told:
        return f"{change.side.capitalize()}: no change that can be told from chance (that takes {least}{rests})."
    way = "more" if change.change_deg > 0 else "less"
    size = degrees(abs(change.change_deg))
    return f"{change.side.capitalize()}: {size} {way} than last time; from {least} on that is more than chance{rests}."


#: Said wherever a range of motion is shown.
CAUTIONS = (
    "This is a practice aid, not medical advice and not a medical device. It finds no illness and no injury.",
    "Force nothing: pain is never a target. Whoever feels pain, dizziness or pressure in the chest stops and tells somebody.",
    "How far a joint went here depends on the day, the clothes and the warm-up. There is no number to reach, and nobody is set "
    "beside anybody else. With questions about a joint, ask a doctor or physiotherapist.",
)
#: Asked before anybody moves.
ASK_FIRST = (
    "An operation on hip or knee within the last months, or a joint that hurts or is swollen?",
    "Dizziness, a fall within the last year, or medicine that makes unsteady?",
    "Pregnancy, or anything else for which a doctor has said to take care?",
)
#: The guided minute: what to do, for how long (s), said slowly and in this order; then turned round, once more.
STEPS: tuple[tuple[str, str, int], ...] = (
    ("stand", "Stand upright and quiet, side-on to the phone, one hand on a chair.", 4),
    ("bend", "Bend both knees three times, heels down, as low as is easy.", 6),
    ("lift", "Lift the knee nearer the phone three times, as high as is easy.", 5),
    ("point", "The same foot off the floor: point and flex it three times.", 4),
    ("rise", "Rise on your toes three times, and come down slowly.", 4),
)


@dataclass(frozen=True, eq=False)
class Check:
    """A finished range check on the shelf: key of its review, title, the dancer's label, the dancer's block of review.json, its folder."""

    key: str
    title: str
    label: str | None
    dancer: dict[str, Any]
    folder: Path = Path()

    def repetitions(self) -> list[tuple[TaskRange, str, str]]:
        """Task, side and the sizes of its single repetitions, in words."""
        rows = {(r["task"], r["side"]): r for r in self.dancer["range_check"]}
        return [
            (task, side, ", ".join(degrees(v) for v in rows[(task.task, side)].get("each_deg", [])))
            for task in task_ranges(self.dancer)
            for side in ("left", "right")
            if (task.task, side) in rows
        ]


def maybe_same(found: list[Check], label: str | None, *, but: str | None = None) -> list[Check]:
    """The checks that may be of the dancer with this label: nobody is set beside somebody who is called otherwise. but: a key left out."""
    return [one for one in found if one.key != but and (label is None or one.label is None or one.label == label)]


def earlier_of(found: list[Check], now: Check, last: Check | None) -> list[dict[str, Any]]:
    """The dancers' blocks that a check is set beside, oldest first: `last`, and before it the older ones under the same label.

    found: all checks, newest first. Nothing without `last`.
    """
    if last is None:
        return []
    place = [one.key for one in found].index(last.key)
    same = [one for one in found[place + 1 :] if last.label is not None and one.label == last.label and one.key != now.key]
    return [one.dancer for one in reversed([last, *same])]


def zero_known(dancer: dict[str, Any]) -> str | None:
    """Whether this check can serve other clips of the dancer as their zero; None when it cannot."""
    if "standing" not in dancer:
        return None
    return (
        f"This check shows the dancer standing quietly ({dancer['standing']['pictures']} pictures). Reviews of this dancer that show no "
        "standing offer to count their bends from it."
    )


def use_told(dancer: dict[str, Any]) -> list[str]:
    """Walls on which a joint moved clearly less than on the dancer's own others: for information."""
    return [
        f"Wall {row['wall']}: {row['side']} {row['joint']} moved about {degrees(row['size_deg'])} less than on this dancer's other "
        f"walls (give or take {degrees(2 * row['sigma_deg'])}, over {row['counts']} counts seen on both). It may well be meant so."
        for row in dancer.get("smaller", [])
    ]


def facts_told(dancer: dict[str, Any]) -> list[str]:
    """Body facts in words; empty unless they were asked for."""
    rows = dancer.get("body_facts")
    if rows is None:
        return []
    if reason := why_not(rows):
        return [f"Not measured: {reason}."]
    seen = {"side": "seen from the side", "front": "seen from front or back", "any": "on all walls"}
    unit = {"degrees": "°", "leg lengths": " leg lengths"}
    return [
        f"{row['fact'].capitalize()}{', ' + row['side'] if row['side'] else ''}: {row['value']:g} ± {row['plus_minus']:g}"
        f"{unit[row['unit']]} ({seen[row['seen']]}, {row['n']} looks)"
        for row in rows
    ]
