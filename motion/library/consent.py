"""Who said yes to being filmed and reviewed, for what and until when; a child's own yes beside a guardian's; and who said no.

A yes holds through its last day, a no until a later yes takes its place. Nothing here decides whether a yes was freely given: that is
the person's part.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from motion.base.errors import BadInput
from motion.library.classes import Dancer, Kept, Library, day_of, name_of
from motion.review.settings import SETTINGS
from motion.tell.words import told_day

Who = Literal["myself", "adult", "guardian", "child", "others"]
#: Whose later yes takes the place of whose no; and whose earlier yes that no takes back. A child and a grown-up are the dancer's own
#: voice, and a grown-up has no guardian.
ANSWERS: dict[Who, tuple[Who, ...]] = {"guardian": ("guardian", "adult"), "child": ("child", "adult"), "adult": ("child", "adult")}
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
class Refusal:
    """One no, as written down. said_on: ISO date; replaced_on: the day of the later yes that took its place, None while it holds."""

    id: int
    dancer_id: int
    who: Who
    said_by: str
    purpose: str
    said_on: str
    replaced_on: str | None


@dataclass(frozen=True)
class ConsentState:
    """How a dancer's agreement stands. until: its last day while it holds, else None; words: the same in words; said: who said it, on
    which day and to what, "" where nobody did or it was taken back; no: whether somebody's no holds, and then said is theirs."""

    dancer: Dancer
    until: date | None
    words: str
    said: str = ""
    no: bool = False


@dataclass(frozen=True)
class ClassYes:
    """What holds for a class today. agreed, missing: labels in standing order; until: the first last day of those who agreed."""

    agreed: tuple[str, ...]
    missing: tuple[str, ...]
    until: date | None


def consents(library: Library, *, dancer_id: int | None = None) -> list[Consent]:
    """Every yes of a dancer, or of anybody, in the order in which they were written down."""
    query = """SELECT id, dancer_id, who, said_by, purpose, given_on, until, withdrawn_on FROM consents
        WHERE answer = 'yes' AND (?1 IS NULL OR dancer_id = ?1) ORDER BY id"""
    return [Consent(*row) for row in library.rows(query, dancer_id)]


def refusals(library: Library, *, dancer_id: int | None = None) -> list[Refusal]:
    """Every no of a dancer, or of anybody, in the order in which they were written down."""
    query = """SELECT id, dancer_id, who, said_by, purpose, given_on, withdrawn_on FROM consents
        WHERE answer = 'no' AND (?1 IS NULL OR dancer_id = ?1) ORDER BY id"""
    return [Refusal(*row) for row in library.rows(query, dancer_id)]


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

    It takes the place of a no that the same person said until then; a later no has taken it back already.
    until, given_on: ISO dates. said_by: such as "mother"; it is kept with the grown-up's yes where the child's comes with it. Raises
    BadInput over a last day that has passed or is far off, a yes of tomorrow, nobody chosen.
    """
    today = today or date.today()
    last = _last_day(until, today)
    _write_down("yes", library, dancer_ids, who, last.isoformat(), said_by, purpose, given_on, today)


def add_no(
    library: Library,
    dancer_ids: Sequence[int],
    who: Sequence[Who],
    *,
    said_by: str = "",
    purpose: str = PURPOSE,
    said_on: str | None = None,
    today: date | None = None,
) -> None:
    """Write down a no of each of these dancers, or of their guardian, or both. One of them is enough: no yes holds beside it.

    It takes back what the same person agreed to until then, and holds until they say yes later. said_on: ISO date. Raises BadInput over
    a no of tomorrow, nobody chosen.
    """
    _write_down("no", library, dancer_ids, who, "", said_by, purpose, said_on, today or date.today())


def take_back(library: Library, dancer_id: int, *, today: date | None = None) -> None:
    """A dancer's yes is taken back from today on. What was made of them so far is deleted by `erase.forget_dancer`."""
    now = (today or date.today()).isoformat()
    # Kept beside the day at which it ended: that may be a no's, which may turn out never to have been said.
    library.rows(
        """UPDATE consents SET withdrawn_on = coalesce(withdrawn_on, ?1), taken_back_on = coalesce(taken_back_on, ?1)
        WHERE dancer_id = ?2 AND answer = 'yes'""",
        now,
        dancer_id,
    )


def answers_told(library: Library, class_id: int) -> dict[int, str]:
    """Every yes and no of a class in words, by its id: dancers in standing order, of each the last that was written down first."""
    told = {}
    for one in library.dancers(class_id):
        said: list[Consent | Refusal] = [*consents(library, dancer_id=one.id), *refusals(library, dancer_id=one.id)]
        for each in sorted(said, key=lambda it: it.id, reverse=True):
            yes = isinstance(each, Consent)
            whose = _people([(each, each.given_on if isinstance(each, Consent) else each.said_on)])
            until = f", until {told_day(each.until)}" if isinstance(each, Consent) else ""
            told[each.id] = f"{one.label}: {'yes' if yes else 'no'} from {whose}{until}"
    return told


def never_said(library: Library, answer_id: int) -> None:
    """Take a yes or a no of a dancer out again that was written down by mistake: for good, and as if it had never been there.

    What it had ended holds again, unless something else ended it too. Whoever changed their mind says no instead, which is kept.
    Raises BadInput if there is no such answer.
    """
    with library.together():
        found = library.rows(
            "SELECT dancer_id, who, given_on, answer FROM consents WHERE id = ? AND dancer_id IS NOT NULL", answer_id
        )
        if not found:
            raise BadInput("This answer is not in the library", "Choose one of those shown")
        dancer_id, who, day, answer = found[0]
        library.rows("DELETE FROM consents WHERE id = ?", answer_id)
        query = "SELECT id, who, given_on, withdrawn_on, taken_back_on FROM consents WHERE dancer_id = ? AND answer = ? ORDER BY id"
        alike = library.rows(query, dancer_id, answer)
        for row in library.rows(query, dancer_id, "no" if answer == "yes" else "yes"):
            if row["withdrawn_on"] != day or not _meets(answer, who, row["who"]):
                continue
            # Of one day the answer counts that was written down later.
            later = [
                one["given_on"]
                for one in alike
                if _meets(answer, one["who"], row["who"]) and (one["given_on"], one["id"]) > (row["given_on"], row["id"])
            ]
            ended = min([*later, *filter(None, [row["taken_back_on"]])], default=None)
            library.rows("UPDATE consents SET withdrawn_on = ? WHERE id = ?", ended, row["id"])
    library.rows("PRAGMA wal_checkpoint(TRUNCATE)")  # nor is it left in the file's log


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


def standing(library: Library, class_id: int, *, today: date | None = None) -> list[ConsentState]:
    """How the agreement of each dancer of a class stands today, in standing order."""
    today = today or date.today()
    dancers = library.dancers(class_id)
    return [_standing(one, consents(library, dancer_id=one.id), refusals(library, dancer_id=one.id), today) for one in dancers]


def without_yes(library: Library, class_id: int, labels: Sequence[str], *, today: date | None = None) -> tuple[str, ...]:
    """Those of these labels for whom no yes holds today, as they were given; whoever said no is among them."""
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


def _write_down(
    answer: Literal["yes", "no"], library: Library, dancer_ids: Sequence[int], who: Sequence[Who], until: str, said_by: str,
    purpose: str, said_on: str | None, today: date,
) -> None:  # fmt: skip
    """Keep each answer, and end what it takes the place of; one that a later answer has ended already is kept as ended."""
    said = today if said_on is None else day_of(said_on)
    if said > today:
        raise BadInput(f"The {answer} is dated {told_day(said)}, which is yet to come", "Give the day on which it was said")
    if not dancer_ids or not who:
        raise BadInput("Nobody is chosen", f"Choose whose {answer} it is, and who said it")
    purpose, by, day = name_of(purpose, "What it is for"), " ".join(said_by.split()), said.isoformat()
    with library.together():
        for dancer_id in dancer_ids:
            one = library.dancer(dancer_id)
            before = library.rows("SELECT id, who, given_on FROM consents WHERE dancer_id = ? AND answer <> ?", one.id, answer)
            for each in who:
                others = [row for row in before if _meets(answer, each, row[1])]
                later = min((row[2] for row in others if row[2] > day), default=None)
                library.rows(
                    """INSERT INTO consents (class_id, dancer_id, who, said_by, purpose, given_on, until, withdrawn_on, answer)
                    VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)""",
                    one.class_id, one.id, each, by if (each,) == tuple(who) or each != "child" else "", purpose, day, until,
                    later, answer,
                )  # fmt: skip
                for row in others:
                    if row[2] <= day:
                        library.rows(
                            "UPDATE consents SET withdrawn_on = ?1 WHERE id = ?2 AND (withdrawn_on IS NULL OR withdrawn_on > ?1)",
                            day,
                            row[0],
                        )


def _meets(answer: Literal["yes", "no"], who: Who, other: Who) -> bool:
    """Whether an answer of one and the opposite answer of another cannot both hold: the later one does."""
    return other in ANSWERS[who] if answer == "no" else who in ANSWERS[other]


def _standing(dancer: Dancer, given: Sequence[Consent], refused: Sequence[Refusal], today: date) -> ConsentState:
    if noes := [one for one in refused if one.replaced_on is None]:
        since, who = told_day(min(one.said_on for one in noes)), _people([(one, one.said_on) for one in noes])
        return ConsentState(dancer, None, f"no, since {since}: leave them out, delete what is held", f"no from {who}", no=True)
    adult, guardian, child = (_latest(given, who) for who in ("adult", "guardian", "child"))
    now, said = today.isoformat(), _said(given)
    until = max(adult, min(guardian, child) if guardian and child else "")
    if until >= now:
        return ConsentState(dancer, date.fromisoformat(until), f"agreed until {told_day(until)}", said)
    if until:
        return ConsentState(dancer, None, f"ran out on {told_day(until)}: ask again", said)
    if guardian or child:
        return ConsentState(dancer, None, f"the {'child’s own' if guardian else 'guardian’s'} yes is missing", said)
    back = max((one.withdrawn_on for one in given if one.withdrawn_on), default="")
    if back:
        return ConsentState(dancer, None, f"taken back on {told_day(back)}: delete what is held")
    return ConsentState(dancer, None, "no yes yet")


def _said(given: Sequence[Consent]) -> str:
    """Who said yes last, on which day and to what: "guardian (mother) and child, 3 Sep 2026: practice clips, seen by the teacher"."""
    latest = {one.who: one for one in given if one.withdrawn_on is None}
    return _people([(one, one.given_on) for one in latest.values()])


def _people(answers: Sequence[tuple[Consent | Refusal, str]]) -> str:
    """Whose answers these are, by the day (ISO) of each and what it was about."""
    people: dict[tuple[str, str], list[str]] = {}
    for one, day in answers:
        name = "grown-up" if one.who == "adult" else one.who
        people.setdefault((day, one.purpose), []).append(f"{name} ({one.said_by})" if one.said_by else name)
    return "; ".join(f"{' and '.join(who)}, {told_day(day)}: {purpose}" for (day, purpose), who in people.items())
