"""Who agreed to what, who said no, and what was written down by mistake."""

from __future__ import annotations

from datetime import date

import pytest
from made_library import holding

from motion.base.errors import BadInput
from motion.library.classes import Library, library_file
from motion.library.consent import (
    ANSWERS,
    Who,
    add_no,
    add_yes,
    answers_told,
    class_yes,
    consents,
    never_said,
    refusals,
    standing,
    take_back,
    usual_last_day,
    without_yes,
    yes_for_one_review,
)
from motion.review.settings import SETTINGS

TODAY = date(2031, 3, 1)


def test_a_childs_own_yes_is_needed_beside_a_guardians(library: Library, beginners: int) -> None:
    red, blue, k = (one.id for one in library.dancers(beginners))
    add_yes(library, [red], ("guardian", "child"), "2031-07-18", said_by="mother", today=TODAY)
    add_yes(library, [blue], ("guardian",), "2031-07-18", today=TODAY)
    said = [(one.until, one.words) for one in standing(library, beginners, today=TODAY)]
    assert said == [
        (date(2031, 7, 18), "agreed until 18 Jul 2031"),
        (None, "the child’s own yes is missing"),
        (None, "no yes yet"),
    ]
    add_yes(library, [blue], ("child",), "2031-06-01", today=TODAY)
    add_yes(library, [k], ("adult",), "2031-12-24", today=TODAY)
    assert class_yes(library, beginners, today=TODAY).until == date(2031, 6, 1)  # the earlier of the two
    assert class_yes(library, beginners, today=date(2031, 6, 1)).missing == ()  # the last day still holds
    later = class_yes(library, beginners, today=date(2031, 6, 2))
    assert (later.agreed, later.missing) == (("Red", "K"), ("Blue",))
    assert consents(library, dancer_id=red)[0].said_by == "mother"
    assert without_yes(library, beginners, ["K", "Blue", "Nobody"], today=date(2031, 6, 2)) == ("Blue", "Nobody")


def test_a_yes_taken_back_no_longer_holds_and_a_new_one_does(library: Library, beginners: int) -> None:
    red = library.dancers(beginners)[0].id
    add_yes(library, [red], ("adult",), "2031-07-18", today=TODAY)
    take_back(library, red, today=date(2031, 3, 5))
    assert standing(library, beginners, today=date(2031, 3, 6))[0].words == "taken back on 5 Mar 2031: delete what is held"
    with pytest.raises(BadInput, match="Nobody in this class has agreed"):
        class_yes(library, beginners, today=date(2031, 3, 6))
    add_yes(library, [red], ("adult",), "2031-07-18", today=date(2031, 3, 7))
    assert class_yes(library, beginners, today=date(2031, 3, 7)).agreed == ("Red",)


def stands(library: Library, class_id: int, day: int) -> list[str]:
    return [one.words for one in standing(library, class_id, today=date(2031, 3, day))]


NO = "no, since {} Mar 2031: leave them out, delete what is held"


@pytest.mark.parametrize("who", ["guardian", "child"])
def test_one_no_is_enough_and_the_same_persons_later_yes_takes_its_place(library: Library, beginners: int, who: Who) -> None:
    """The other one's yes is neither lost nor enough."""
    other: Who = "child" if who == "guardian" else "guardian"
    red, blue, _ = (one.id for one in library.dancers(beginners))
    add_yes(library, [red, blue], ("guardian", "child"), "2031-07-18", today=TODAY)
    add_no(library, [red], (who,), said_by="aunt", today=date(2031, 3, 5))
    one = standing(library, beginners, today=date(2031, 3, 5))[0]
    assert (one.no, one.until, one.words) == (True, None, NO.format(5))
    assert one.said == f"no from {who} (aunt), 5 Mar 2031: practice clips, seen by the teacher"
    holds = class_yes(library, beginners, today=date(2031, 3, 5))
    assert (holds.agreed, holds.missing) == (("Blue",), ("Red", "K"))
    assert without_yes(library, beginners, ["Red", "Blue"], today=date(2031, 3, 5)) == ("Red",)
    assert [(each.who, each.withdrawn_on) for each in consents(library, dancer_id=red)] == [
        ("guardian", "2031-03-05" if who == "guardian" else None),
        ("child", "2031-03-05" if who == "child" else None),
    ]
    add_yes(library, [red], (other,), "2031-07-18", today=date(2031, 3, 6))
    assert stands(library, beginners, 6)[0] == NO.format(5)
    add_yes(library, [red], (who,), "2031-06-01", today=date(2031, 3, 7))
    assert stands(library, beginners, 7)[0] == "agreed until 1 Jun 2031"
    assert refusals(library)[0].replaced_on == "2031-03-07"
    add_no(library, [red], (who,), today=date(2031, 3, 8))
    assert stands(library, beginners, 8)[0] == NO.format(8)


def test_taking_a_yes_back_does_not_take_a_no_away(library: Library, beginners: int) -> None:
    red = library.dancers(beginners)[0].id
    add_yes(library, [red], ("guardian", "child"), "2031-07-18", today=TODAY)
    add_no(library, [red], ("child",), today=TODAY)
    take_back(library, red, today=date(2031, 3, 5))
    assert stands(library, beginners, 6)[0] == NO.format(1)
    assert [one.withdrawn_on for one in consents(library)] == ["2031-03-05", "2031-03-01"]


def test_answers_of_one_day_hold_in_the_order_in_which_they_were_written_down(library: Library, beginners: int) -> None:
    red = library.dancers(beginners)[0].id
    for yes in (False, True, False, True):
        if yes:
            add_yes(library, [red], ("guardian", "child"), "2031-07-18", today=TODAY)
        else:
            add_no(library, [red], ("guardian", "child"), today=TODAY)
        assert (without_yes(library, beginners, ["Red"], today=TODAY) == ()) == yes


def test_answers_hold_by_the_day_on_which_they_were_said(library: Library, beginners: int) -> None:
    """A slip that is written down late, and was signed before the answer that is there, changes nothing."""
    red, blue, _ = (one.id for one in library.dancers(beginners))
    add_no(library, [red], ("adult",), said_on="2031-03-03", today=date(2031, 3, 9))
    add_yes(library, [red], ("adult",), "2031-07-18", given_on="2031-03-02", today=date(2031, 3, 9))
    assert stands(library, beginners, 9)[0] == NO.format(3)
    assert consents(library, dancer_id=red)[0].withdrawn_on == "2031-03-03"
    add_yes(library, [blue], ("adult",), "2031-07-18", given_on="2031-03-03", today=date(2031, 3, 9))
    add_no(library, [blue], ("adult",), said_on="2031-03-02", today=date(2031, 3, 9))
    assert stands(library, beginners, 9)[1] == "agreed until 18 Jul 2031"
    assert refusals(library, dancer_id=blue)[0].replaced_on == "2031-03-03"


@pytest.mark.parametrize("no", ["guardian", "child", "adult"])
@pytest.mark.parametrize("yes", ["guardian", "child", "adult"])
def test_whose_yes_takes_the_place_of_whose_no(library: Library, beginners: int, no: Who, yes: Who) -> None:
    """A grown-up's own yes stands for a guardian's, whom they no longer have; a guardian's never for the dancer's own no."""
    red, blue, _ = (one.id for one in library.dancers(beginners))
    add_no(library, [red], (no,), today=TODAY)
    add_yes(library, [red], (yes,), "2031-07-18", today=TODAY)
    over = no == yes or {no, yes} == {"child", "adult"} or yes == "adult"
    assert (refusals(library)[0].replaced_on is not None) == over == (yes in ANSWERS[no])
    add_yes(library, [blue], (yes,), "2031-07-18", today=TODAY)
    add_no(library, [blue], (no,), today=TODAY)
    assert (consents(library, dancer_id=blue)[0].withdrawn_on is not None) == over
    assert without_yes(library, beginners, ["Blue"], today=TODAY) == ("Blue",)


def test_bad_noes(library: Library, beginners: int) -> None:
    red = library.dancers(beginners)[0].id
    add_yes(library, [red], ("adult",), "2031-07-18", today=TODAY)
    for ids, who, day, said in (
        ([red], ("adult",), "2031-03-02", "The no is dated 2 Mar 2031, which is yet to come"),
        ([], ("adult",), None, "Nobody is chosen. Choose whose no it is, and who said it"),
        ([red], (), None, "Nobody is chosen"),
        ([red, 99], ("adult",), None, "not in the library"),
    ):
        with pytest.raises(BadInput, match=said):
            add_no(library, ids, who, said_on=day, today=TODAY)
    assert refusals(library) == []  # all or none
    assert class_yes(library, beginners, today=TODAY).agreed == ("Red",)


@pytest.mark.parametrize(
    ("until", "said"),
    [
        ("2031-02-28", "The last day, 28 Feb 2031, has passed"),
        ("2033-01-01", "more than 400 days away"),
        ("soon", "soon is no date"),
        ("2031-02-30", "2031-02-30 is no date"),
    ],
)
def test_bad_last_days(library: Library, beginners: int, until: str, said: str) -> None:
    red = library.dancers(beginners)[0].id
    with pytest.raises(BadInput, match=said):
        add_yes(library, [red], ("adult",), until, today=TODAY)
    with pytest.raises(BadInput, match=said):
        yes_for_one_review(library, "myself", until, today=TODAY)
    assert consents(library) == []


def test_other_bad_agreements(library: Library, beginners: int) -> None:
    red = library.dancers(beginners)[0].id
    with pytest.raises(BadInput, match="is yet to come"):
        add_yes(library, [red], ("adult",), "2031-07-18", given_on="2031-03-02", today=TODAY)
    with pytest.raises(BadInput, match="Nobody is chosen"):
        add_yes(library, [], ("adult",), "2031-07-18", today=TODAY)
    with pytest.raises(BadInput, match="not in the library"):
        add_yes(library, [red, 99], ("adult",), "2031-07-18", today=TODAY)
    assert consents(library) == []  # all or none


def test_the_last_day_that_is_proposed_is_as_long_as_a_review_is_kept() -> None:
    assert (usual_last_day(TODAY) - TODAY).days == SETTINGS.desk.kept_days


# --- written down by mistake


def ends(library: Library, dancer_id: int) -> list[str | None]:
    """The day at which each yes of a dancer ended, and then each no."""
    return [
        *(one.withdrawn_on for one in consents(library, dancer_id=dancer_id)),
        *(one.replaced_on for one in refusals(library, dancer_id=dancer_id)),
    ]


def test_a_no_that_was_never_said_is_out_of_the_book_and_what_it_ended_holds_again(library: Library, beginners: int) -> None:
    red, blue, _ = (one.id for one in library.dancers(beginners))
    add_yes(library, [red, blue], ("guardian", "child"), "2031-07-18", said_by="mother", today=TODAY)
    add_no(library, [blue], ("child",), today=date(2031, 3, 5))
    add_no(library, [red], ("child",), said_by="Verneinung", today=date(2031, 3, 5))
    told = answers_told(library, beginners)
    (mistyped,) = [number for number, words in told.items() if "Verneinung" in words]
    assert told[mistyped] == "Red: no from child (Verneinung), 5 Mar 2031: practice clips, seen by the teacher"
    assert list(told.values())[1:3] == [
        "Red: yes from child, 1 Mar 2031: practice clips, seen by the teacher, until 18 Jul 2031",
        "Red: yes from guardian (mother), 1 Mar 2031: practice clips, seen by the teacher, until 18 Jul 2031",
    ]
    never_said(library, mistyped)
    assert stands(library, beginners, 6)[:2] == ["agreed until 18 Jul 2031", NO.format(5)]  # the other's no stays
    assert ends(library, red) == [None, None]
    assert holding("Verneinung", library_file().parent) == []
    with pytest.raises(BadInput, match=r"This answer is not in the library\. Choose one of those shown"):
        never_said(library, mistyped)


def test_a_yes_that_was_never_said_leaves_the_no_before_it_standing(library: Library, beginners: int) -> None:
    red = library.dancers(beginners)[0].id
    add_no(library, [red], ("adult",), today=TODAY)
    add_yes(library, [red], ("adult",), "2031-07-18", today=TODAY)
    assert stands(library, beginners, 1)[0] == "agreed until 18 Jul 2031"
    never_said(library, consents(library)[0].id)
    assert stands(library, beginners, 1)[0] == NO.format(1)
    assert ends(library, red) == [None]


@pytest.mark.parametrize("order", ["back first", "no first"])
def test_a_yes_that_was_also_taken_back_does_not_come_to_life_with_a_no_taken_out(
    library: Library, beginners: int, order: str
) -> None:
    red = library.dancers(beginners)[0].id
    add_yes(library, [red], ("adult",), "2031-07-18", today=TODAY)
    if order == "back first":
        take_back(library, red, today=date(2031, 3, 5))
        add_no(library, [red], ("adult",), said_on="2031-03-03", today=date(2031, 3, 6))
    else:
        add_no(library, [red], ("adult",), said_on="2031-03-03", today=date(2031, 3, 3))
        take_back(library, red, today=date(2031, 3, 5))
    assert ends(library, red) == ["2031-03-03", None]
    never_said(library, refusals(library)[0].id)
    assert ends(library, red) == ["2031-03-05"]
    assert stands(library, beginners, 6)[0] == "taken back on 5 Mar 2031: delete what is held"


def test_a_yes_that_a_second_no_ended_too_stays_ended(library: Library, beginners: int) -> None:
    red = library.dancers(beginners)[0].id
    add_yes(library, [red], ("adult",), "2031-07-18", today=TODAY)
    for day in (4, 8):
        add_no(library, [red], ("adult",), today=date(2031, 3, day))
    first, second = (one.id for one in refusals(library))
    never_said(library, first)
    assert ends(library, red) == ["2031-03-08", None]
    never_said(library, second)
    assert ends(library, red) == [None]


def test_of_one_day_the_answer_before_comes_back(library: Library, beginners: int) -> None:
    red = library.dancers(beginners)[0].id
    add_no(library, [red], ("adult",), today=TODAY)
    add_yes(library, [red], ("adult",), "2031-07-18", today=TODAY)
    add_no(library, [red], ("adult",), today=TODAY)
    assert ends(library, red) == ["2031-03-01", "2031-03-01", None]
    never_said(library, refusals(library)[1].id)
    assert ends(library, red) == [None, "2031-03-01"]  # and the first no, older than the yes, does not end it
    assert class_yes(library, beginners, today=TODAY).agreed == ("Red",)


def test_a_yes_for_one_review_is_none_of_a_dancers_answers(library: Library, beginners: int) -> None:
    one = yes_for_one_review(library, "myself", "2031-07-18", today=TODAY)
    assert answers_told(library, beginners) == {}
    with pytest.raises(BadInput, match="not in the library"):
        never_said(library, one)
    assert len(consents(library)) == 1
