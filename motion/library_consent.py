"""Who said yes to being filmed and reviewed, for what and until when; a child's own yes beside a guardian's.

A yes holds through its last day. Nothing here decides whether a yes was freely given: that is the person's part.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from motion.errors import BadInput
from motion.library import Dancer, Kept, Library, day_of, name_of
from motion.report_words import told_day
from motion.settings import SETTINGS

Who = Literal["myself", "adult", "guardian", "child", "others"]
#: What is agreed to unless other words are written down.
PURPOSE = "practice clips, seen by the teacher"


@dataclass(frozen=True)
class Consent:
    """One yes, as written down. dancer_id: None for a yes that belongs to one review and no class; said_by: such as "mother"."""

    id: int
    dancer_id: int | None
    who: Who
    said_by: str
    purpose: str
    given_on: str
    until: str
    withdrawn_on: str | None


@dataclass(frozen=True)
class Standing:
    """How a dancer's agreement stands. until: its last day while it holds, else None; words: the same in words; said: who said it, on
    which day and to what, "" where nobody did or it was taken back."""

    dancer: Dancer
    until: date | None
    words: str
    said: str = ""


@dataclass(frozen=True)
class ClassYes:
    """What holds for a class today. agreed, missing: labels in standing order; until: the first last day of those who agreed."""

    agreed: tuple[str, ...]
    missing: tuple[str, ...]
    until: date | None


def consents(library: Library, *, dancer_id: int | None = None) -> list[Consent]:
    """Every yes of a dancer, or of anybody, in the order in which they were written down."""
    query = """SELECT id, dancer_id, who, said_by, purpose, given_on, until, withdrawn_on FROM consents
        WHERE ?1 IS NULL OR dancer_id = ?1 ORDER BY id"""
    return [Consent(*row) for row in library.rows(query, dancer_id)]


def add_yes(
    library: Library,
    dancer_ids: Sequence[int],
    who: Sequence[Who],
    until: str,
    *,
    said_by: str = "",
    purpose: str = PURPOSE,
    given_on: str | None = None,
    today: date | None = None,
) -> None:
    """Write down a yes of each of these dancers: ("adult",), or ("guardian", "child"), or one of the two where the other said so before.

    until, given_on: ISO dates. said_by: such as "mother"; it is kept with the grown-up's yes where the child's comes with it. Raises
    BadInput over a last day that has passed or is far off, a yes of tomorrow, nobody chosen.
    """
    today = today or date.today()
    last = _last_day(until, today)
    given = today if given_on is None else day_of(given_on)
    if given > today:
        raise BadInput(f"The yes is dated {told_day(given)}, which is yet to come", "Give the day on which it was said")
    if not dancer_ids or not who:
        raise BadInput("Nobody is chosen", "Choose whose yes it is, and who said it")
    purpose, by = name_of(purpose, "What it is for"), " ".join(said_by.split())
    with library.together():
        for dancer_id in dancer_ids:
            one = library.dancer(dancer_id)
            for each in who:
                library.rows(
                    "INSERT INTO consents (class_id, dancer_id, who, said_by, purpose, given_on, until) VALUES (?, ?, ?, ?, ?, ?, ?)",
                    one.class_id, one.id, each, by if (each,) == tuple(who) or each != "child" else "", purpose,
                    given.isoformat(), last.isoformat(),
                )  # fmt: skip


def take_back(library: Library, dancer_id: int, *, today: date | None = None) -> None:
    """A dancer's yes is taken back from today on. What was made of them so far is deleted by `forget.forget_dancer`."""
    now = (today or date.today()).isoformat()
    library.rows("UPDATE consents SET withdrawn_on = ? WHERE dancer_id = ? AND withdrawn_on IS NULL", now, dancer_id)


def yes_for_one_review(library: Library, who: Who, until: str, *, said_by: str = "", today: date | None = None) -> int:
    """Write down a yes that belongs to one review and to no class ("myself", or "others" who were asked); its id, for `add_review`."""
    today = today or date.today()
    last = _last_day(until, today)
    with library.together():
        library.rows(
            "INSERT INTO consents (who, said_by, purpose, given_on, until) VALUES (?, ?, ?, ?, ?)",
            who, " ".join(said_by.split()), PURPOSE, today.isoformat(), last.isoformat(),
        )  # fmt: skip
        return int(library.rows("SELECT last_insert_rowid()")[0][0])


def standing(library: Library, class_id: int, *, today: date | None = None) -> list[Standing]:
    """How the agreement of each dancer of a class stands today, in standing order."""
    today = today or date.today()
    return [_standing(one, consents(library, dancer_id=one.id), today) for one in library.dancers(class_id)]


def without_yes(library: Library, class_id: int, labels: Sequence[str], *, today: date | None = None) -> tuple[str, ...]:
    """Those of these labels for whom no yes holds today, as they were given."""
    holds = {one.dancer.label for one in standing(library, class_id, today=today) if one.until is not None}
    return tuple(label for label in labels if label not in holds)


def class_yes(library: Library, class_id: int, *, today: date | None = None) -> ClassYes:
    """What holds for a class today. Raises BadInput if nobody in it has agreed: a review of it may then not begin."""
    stands = standing(library, class_id, today=today)
    agreed = [one for one in stands if one.until is not None]
    if not agreed:
        raise BadInput("Nobody in this class has agreed to be reviewed yet", "Write down who said yes, on the page Library")
    return ClassYes(
        tuple(one.dancer.label for one in agreed),
        tuple(one.dancer.label for one in stands if one.until is None),
        min(one.until for one in agreed if one.until is not None),
    )


def last_day_of(library: Library, kept: Kept, own: str | None) -> str | None:
    """The last day (ISO) of a review: its own date, its own yes, or the first yes in its class that runs out, whichever comes first.

    Whose yes was taken back does not count here: they are taken out of the review, and the others stay.
    """
    days = [own] if own else []
    days += [one.until for one in consents(library) if one.id == kept.consent_id]
    if kept.class_id is not None:
        for one in library.dancers(kept.class_id):
            last = [_latest(consents(library, dancer_id=one.id), who) for who in ("adult", "guardian", "child")]
            together = min(last[1], last[2]) if last[1] and last[2] else ""
            days += [max(last[0], together)] if last[0] or together else []
    return min(days, default=None)


def usual_last_day(today: date | None = None) -> date:
    """The last day that is proposed: as long as a review is kept unless something else is said."""
    return (today or date.today()) + timedelta(days=SETTINGS.desk.kept_days)


def _last_day(until: str, today: date) -> date:
    last = day_of(until)
    if last < today:
        raise BadInput(f"The last day, {told_day(last)}, has passed", "Give a day that is still to come")
    if last > today + timedelta(days=SETTINGS.library.longest_yes_days):
        raise BadInput(
            f"The last day, {told_day(last)}, is more than {SETTINGS.library.longest_yes_days} days away",
            "Take the end of the term or of the school year, and ask again then",
        )
    return last


def _latest(given: Sequence[Consent], who: str) -> str:
    """The latest last day of a yes that was not taken back, "" if there is none."""
    return max((one.until for one in given if one.who == who and one.withdrawn_on is None), default="")


def _standing(dancer: Dancer, given: Sequence[Consent], today: date) -> Standing:
    adult, guardian, child = (_latest(given, who) for who in ("adult", "guardian", "child"))
    now, said = today.isoformat(), _said(given)
    until = max(adult, min(guardian, child) if guardian and child else "")
    if until >= now:
        return Standing(dancer, date.fromisoformat(until), f"agreed until {told_day(until)}", said)
    if until:
        return Standing(dancer, None, f"ran out on {told_day(until)}: ask again", said)
    if guardian or child:
        return Standing(dancer, None, f"the {'child’s own' if guardian else 'guardian’s'} yes is missing", said)
    back = max((one.withdrawn_on for one in given if one.withdrawn_on), default="")
    if back:
        return Standing(dancer, None, f"taken back on {told_day(back)}: delete what is held")
    return Standing(dancer, None, "no yes yet")


def _said(given: Sequence[Consent]) -> str:
    """Who said yes last, on which day and to what: "guardian (mother) and child, 3 Sep 2026: practice clips, seen by the teacher"."""
    latest = {one.who: one for one in given if one.withdrawn_on is None}
    people: dict[tuple[str, str], list[str]] = {}
    for one in latest.values():
        name = "grown-up" if one.who == "adult" else one.who
        people.setdefault((one.given_on, one.purpose), []).append(f"{name} ({one.said_by})" if one.said_by else name)
    return "; ".join(f"{' and '.join(who)}, {told_day(day)}: {purpose}" for (day, purpose), who in people.items())
