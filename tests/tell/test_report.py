"""The report: self-contained, in plain words, honest about what was not measured."""

from __future__ import annotations

import dataclasses
import itertools
import json
import re
from datetime import date
from html import unescape

import pytest
from made import made_review
from made_report import changed, read

from motion.base.types import JointRange, NotMeasured, Review
from motion.store.serialize import review_json
from motion.tell.report import report_html
from motion.tell.words import clock, count_name, letter, place_words, share_words, signed_ms, told_day, view_words


def seen(review: Review) -> str:
    """What a reader sees before opening any "Show the figures"."""
    return " ".join(" ".join(read(report_html(review_json(review))).text).split())


def test_nothing_is_loaded_from_outside() -> None:
    html = report_html(review_json(made_review(3, 48)))
    reader = read(html)
    links = [(tag, name, value) for tag, name, value in reader.attributes if name in ("href", "src", "action", "xlink:href")]
    assert {tag for tag, _, _ in links} == {"a"}
    assert all(value.startswith("#") and value[1:] in reader.ids for _, _, value in links)
    assert not re.search(r"https?:|url\(|@import|<script|<link|<img|<iframe", html)


def test_a_report_for_one_dancer_holds_nothing_of_the_others() -> None:
    review = review_json(made_review(3, 48, labels=("Zinnober", "Blue", "Red")))
    review["notes"] = ["Dancer 3 was hidden for long.", "The room was dark."]
    alone = [{"dancer": 3, "count": 6.0, "until_count": None, "kind": "early", "time_s": 7.8}]
    review["class"] = {"dancers": 3, "together_ms": None, "counts": [], "lost": [], "alone": alone, "watch": []}
    html = report_html(review, only=1)
    words = " ".join(" ".join(read(html).text).split())
    assert "Dancer 1 · Zinnober" in words
    assert "Nobody else is on this page." in words
    assert "The room was dark." in words
    assert "Moments to look at" in words
    for other in ("Blue", "Red", "ancer 2", "ancer 3", "The class", "hidden for long", "One dancer was followed"):
        assert other not in html, other
    assert "dancer 3 · Red" in report_html(review)


def test_nor_a_note_that_names_another_second_nor_how_another_was_judged() -> None:
    review = review_json(made_review(3, 16))
    review["notes"] = [
        "Put right by hand, but nobody was found there now, so it was not done: dancers 1 and 3 exchanged from 4.0 s on.",
        "Dancers 3, 2 and 1 were hidden.",
        "Dancer 1 was hidden for 3 s.",
    ]
    review["made_by"]["judged"] = {"own_version": [1, 3], "mirror": "no"}
    html = report_html(review, only=1)
    assert [note for note in review["notes"] if note in html] == review["notes"][2:]
    made = json.loads(unescape(html.partition("<pre>")[2].partition("</pre>")[0]))
    assert made["judged"] == {"own_version": [1], "mirror": "no"}
    assert review["made_by"]["judged"]["own_version"] == [1, 3]


def test_ids_are_unique_and_every_label_points_to_one() -> None:
    reader = read(report_html(review_json(made_review(3, 96))))
    assert len(reader.ids) == len(set(reader.ids))
    for _, name, value in reader.attributes:
        if name == "aria-labelledby":
            assert set(value.split()) <= set(reader.ids)


def test_headings_go_down_one_step_at_a_time() -> None:
    levels = [int(n) for n in re.findall(r"<h(\d)", report_html(review_json(made_review(2))))]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in itertools.pairwise(levels))


def test_what_people_typed_is_never_markup() -> None:
    nasty = '<img src=x onerror="a()">&'
    review = made_review(1, 32, labels=(nasty,), name=nasty, expires=nasty)
    flags = tuple(dataclasses.replace(f, words=nasty, kind=nasty, unit=nasty) for f in review.dancers[0].flags or ())
    assert flags
    assert review.dance is not None
    review = dataclasses.replace(
        changed(review, flags=flags), notes=(nasty,), dance=dataclasses.replace(review.dance, title=nasty), made_by={nasty: nasty}
    )
    html = report_html(review_json(review))
    assert "<img" not in html
    assert html.count("&lt;img src=x onerror=") >= 8
    read(html)


def test_first_reading_is_free_of_jargon_marks_and_ranking() -> None:
    text = seen(made_review(3, 64, lag_ms=-45)).lower()
    for word in (
        "bias",
        "sigma",
        "landmark",
        "track",
        "confidence",
        "vector",
        "percentile",
        "standard deviation",
        "nan",
        "null",
        "none",
    ):
        assert not re.search(rf"\b{word}\b", text), word
    for word in ("score", "perfect", "great", "good job", "rank", "best", "worst", "excellent", "medal", "combo", "streak"):
        assert not re.search(rf"\b{word}\b", text), word


def test_the_limits_and_cautions_are_said() -> None:
    text = seen(made_review())
    for words in (
        "not medical advice",
        "Pain is never a target",
        "Arms, hands",
        "what a dance is worth",
        "not compared",
        "rules of your school",
    ):
        assert words in text, words


def test_clip_beat_and_expiry_are_told() -> None:
    text = seen(made_review(1, 32, expires="2027-01-31"))
    assert "The clip lasts 0:23.7" in text
    assert "from 0:04.8 to 0:22.6" in text
    assert "108 beats a minute" in text
    assert "one count lasts 556 ms" in text
    assert "Count 1 of the dance falls at 0:04.8" in text
    assert "by 31 Jan 2027" in text
    assert "No date is set" in seen(made_review())


@pytest.mark.parametrize(("confidence", "words"), [(0.93, "It is clear"), (0.6, "fairly clear"), (0.2, "hard to hear")])
def test_how_sure_the_beat_is(confidence: float, words: str) -> None:
    review = made_review()
    assert words in seen(dataclasses.replace(review, beats=dataclasses.replace(review.beats, confidence=confidence)))  # type: ignore[type-var]


@pytest.mark.parametrize(
    ("lag_ms", "words"),
    [(60.0, r"lands \d+ ms after the beat"), (-60.0, r"lands \d+ ms before the beat"), (0.0, "lands with the beat")],
)
def test_steady_lead_or_lag_comes_with_its_interval(lag_ms: float, words: str) -> None:
    text = seen(made_review(2, 64, lag_ms=lag_ms, seed=4))
    assert re.search(words, text)
    assert re.search(r"\d+ landings put it between .* and .*, 19 times in 20", text)
    assert re.search(r"within \d+ ms of their mean, give or take \d+ ms", text)
    assert ("no fault" in text) == (lag_ms < 0)


def test_findings_that_are_not_sure_stay_in_the_figures() -> None:
    html = report_html(review_json(made_review()))
    text = seen(made_review())
    assert "No landing was seen on count 7." in text
    assert "190 ± 38 ms" not in text  # folded away
    assert "<li>b: 190 ± 38 ms after this dancer&#x27;s usual time, about a third of a count.</li>" in html
    assert "extra" not in text
    assert "extra" in html
    assert "Nothing that is sure enough" in seen(changed(made_review(), flags=()))


def test_phrasing_and_a_version_of_ones_own_are_told_as_no_fault() -> None:
    phrase = {"count": 5.0, "foot": "left", "offset_ms": 90.0, "interval_ms": 12.0, "walls": 3, "off": 3}
    text = seen(changed(made_review(), flags=(), phrased=(phrase,), own_version=True))
    assert "That is how this dancer phrases it, and no fault." in text
    assert "Dances a version of their own, on purpose" in text
    assert "Nothing that is sure enough" not in text


def test_ranges_come_with_view_and_samples_or_the_reason() -> None:
    review = made_review(1, 32, start_view_deg=-90)
    knee = JointRange("knee", "left", -3.6, 48.4, 5.0, 710, -88.0)
    text = seen(changed(review, ranges=(knee,)))
    assert "Left knee 52° (from −4° to 48°) ± 10° from the dancer's left side 710" in text
    assert re.search(r"Left ankle not measured: too few pictures", text)
    wild = JointRange("knee", "left", -22.0, 17.0, 20.5, 710, -88.0)
    text = seen(changed(review, ranges=(wild,)))
    assert "Left knee too uncertain to tell in this clip: about 39°, give or take 41° – from the dancer's left side 710" in text
    assert "(from −22° to 17°)" not in text
    assert "the dancer was never seen from the side" in seen(made_review(1, 32))


def test_every_reason_is_passed_on() -> None:
    why = NotMeasured("x", "the feet were out of the picture")
    parts = dict.fromkeys(("steps", "pairing", "timing", "flags", "angles", "ranges"), why)
    text = seen(changed(made_review(), **parts))
    assert text.count("Not measured: the feet were out of the picture.") == 3
    quiet = seen(made_review(1, 32, sound=False, sheet=False))
    assert "The beat was not measured: the clip has no sound." in quiet
    assert "No dance sheet was given" in quiet


def test_range_check_is_shown_when_there_is_one() -> None:
    row = {"task": "squat", "side": "left", "repetitions": 3, "range_deg": 81.0, "interval_deg": [75.0, 87.0]}
    assert "squat left 3 81° 75° to 87°" in re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", report_html(
        review_json(changed(made_review(), range_check=(row, {**row, "range_deg": None, "interval_deg": None})))
    )))  # fmt: skip


def test_habits_walls_sheet_and_phrases_are_told_words_first() -> None:
    on = {"n": 28, "of": 32, "share": 0.875, "interval": [0.719, 0.95], "within_ms": 80.0, "about_ms": -4.0}
    rows = [
        {
            "count": c,
            "walls": 3,
            "lost_on": [],
            "landings": 3,
            "usual_ms": ms,
            "give_ms": 16.0,
            "least_ms": ms,
            "most_ms": abs(ms) + 9,
        }
        for c, ms in ((3.0, 2.0), (5.0, -60.0))
    ]
    walls = [
        {"wall": w, "n": 16, "bias_ms": ms, "bias_interval_ms": [ms - 9, ms + 9], "steadiness_ms": 21.0} for w, ms in ((1, -4.0), (2, 52.0))
    ]  # fmt: skip
    rayleigh = {"n": 32, "vector_length": 0.95, "z": 28.9, "p": 0.01, "draws": 99}
    habits = {"rayleigh": rayleigh, "on_beat": on, "walls": walls, "counts": rows, "right_on": 1, "best": [3.0], "hardest": [5.0]}
    written = {
        "judged": 32, "as_written": 31, "restarts": [],
        "differs": [{"count": 9.0, "foot": "left", "move": "side", "walls": [2], "of": 2, "what": ["missed"], "always": False}],
    }  # fmt: skip
    phrase = {"basis": "changes", "phrase_counts": 32, "heard": 3, "walls": [{"wall": 1, "time_s": 4.8, "after": 0}]}
    review = dataclasses.replace(changed(made_review(), habits=habits, written=written), phrase=phrase)
    text = seen(review)
    for words in (
        "28 of the 32 counts that could be judged were on the beat.",
        "Surest is count 3: right on, wall after wall.",
        "Count 5 comes early wall after wall, by about a tenth of a count. It may be meant so; if not, let the beat come to the foot.",
        "Wall 2 came later against the beat than wall 1, by about a tenth of a count.",
        "31 of the 32 landings that could be judged were danced as the sheet writes them.",
        "The only wall in this clip begins with a phrase of the music.",
        "Phrases were heard in the sound, which changes at the same place 3 times.",
    ):
        assert words in text, words
    everything = re.sub(r"\s+", " ", re.sub("<[^>]+>", " ", report_html(review_json(review))))
    for words in (
        "On the beat: 88 of 100 counts (72 to 95, 19 times in 20; 32 counts), within 80 ms of this dancer&#x27;s usual place.",
        "put anywhere in their counts by chance, and matched again, gather as closely in fewer than 2 of 100 cases",
        "Count 5, against the usual place (+ is late): −60 ± 16 ms; 3 walls.",
        "Wall 2: usual place 52 ms late (43 ms late to 61 ms late, 19 times in 20), spread 21 ms, 16 landings.",
        "Count 9 (left side): no landing, on 1 of 2 walls (2).",
    ):
        assert words in everything, words
        assert words not in text


# Words


@pytest.mark.parametrize(
    ("time_s", "text"),
    [(0.0, "0:00.0"), (59.94, "0:59.9"), (59.96, "1:00.0"), (83.25, "1:23.2"), (754.0, "12:34.0"), (-0.5, "−0:00.5")],
)
def test_clock(time_s: float, text: str) -> None:
    assert clock(time_s) == text


@pytest.mark.parametrize(
    ("day", "text"),
    [
        (date(2031, 7, 18), "18 Jul 2031"),
        ("2026-03-05", "5 Mar 2026"),
        ("2024-02-29", "29 Feb 2024"),
        ("2031-02-30", "2031-02-30"),
        ("", ""),
    ],
)
def test_a_day_as_people_read_it(day: date | str, text: str) -> None:
    assert told_day(day) == text


def test_months_are_called_as_in_english_whatever_the_system_speaks() -> None:
    english = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
    assert [told_day(date(2031, month, 1)) for month in range(1, 13)] == [f"1 {name} 2031" for name in english]


@pytest.mark.parametrize(("count", "text"), [(3.0, "3"), (3.5, "3&"), (3.667, "3a"), (3.98, "4"), (3.58, "3&")])
def test_count_name(count: float, text: str) -> None:
    assert count_name(count) == text


@pytest.mark.parametrize(
    ("count", "until", "starts", "text"),
    [
        (7.0, 7.0, [1, 33], "wall 1, count 7"),
        (45.0, None, [1, 33], "wall 2, count 13 (5 in the 2nd eight)"),
        (33.0, 36.0, [1, 33], "wall 2, counts 1 to 4"),
        (31.0, 34.0, [1, 33], "wall 1, count 31 to wall 2, count 2"),
        (98.5, None, [], "count 98& (2& in the 13th eight)"),
        (None, None, [1], ""),
    ],
)
def test_place(count: float | None, until: float | None, starts: list[int], text: str) -> None:
    assert place_words(count, until, starts, 8) == text


def test_small_words() -> None:
    assert [letter(i) for i in (0, 25, 26, 27, 701, 702)] == ["a", "z", "aa", "ab", "zz", "aaa"]
    assert [signed_ms(v) for v in (0.4, 30.2, -30.2)] == ["on the beat", "30 ms late", "30 ms early"]
    # At 120 beats a minute a count lasts 500 ms.
    assert share_words(50, 120) == "about a tenth of a count"
    assert share_words(-250, 120) == "about half of a count"
    assert share_words(10, 120) == "less than a twentieth of a count"
    assert share_words(1000, 120) == "about 2.0 counts"
    assert [view_words(v) for v in (0, 90, -90, 180, -45, 135)] == [
        "from the front", "from the dancer's right side", "from the dancer's left side", "from behind",
        "half from the front, left side nearer", "half from behind, right side nearer",
    ]  # fmt: skip
