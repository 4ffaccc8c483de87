"""Where count 1 is: found from the landings alone, whatever the dance, wherever it begins."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from made_steps import Landing, candidates, events, landings, marking_time, sheet_named

from motion.base.types import BeatGrid, Candidates, NotMeasured
from motion.music.counts import at_speed, changed, steady_grid, time_of, with_first_count
from motion.review.settings import SETTINGS
from motion.timing.anchor import anchored, rhythm_of_steps
from motion.timing.grid import Counted, with_dance, without_dance

TIMING = SETTINGS.timing
#: Beats of a clip as heard: none is known to be count 1.
BEATS = BeatGrid("sound", 0.37 + 0.5 * np.arange(110), np.arange(110) % 8 + 1, 120.0, 0.5, 0.9, None)


def danced(name: str, first_s: float, *, until: float = 64.0, gap_s: float = 0.5, seed: int = 3) -> Candidates:
    """Somebody dances a sheet from first_s on and is in sight all the time."""
    sheet = sheet_named(name)
    due = events(sheet, until)
    counts = np.array([d.count for d in due])
    at_s = first_s + (counts - 1) * gap_s
    rows = landings(due, at_s, seed=seed)
    return candidates(rows, seen=((0.0, float(at_s[-1]) + 4.0),))


def counting(name: str, who: list[Candidates], beats: BeatGrid | NotMeasured = BEATS, **asked: Any) -> Counted:
    options: dict[str, Any] = {"first_count_s": None, "speed": "same", "starting_wall": 1} | asked
    return with_dance(beats, [], who, sheet_named(name), TIMING, **options)


@pytest.mark.parametrize("name", ["porchlight", "lantern", "gravel", "shingle", "tin-umbrella"])
@pytest.mark.parametrize("beat", [3, 16, 25])
def test_any_dance_from_any_beat(name: str, beat: int) -> None:
    first_s = float(BEATS.times_s[beat])
    found = counting(name, [danced(name, first_s)])
    assert found.grid.first_count_s == pytest.approx(first_s)
    assert found.untimed is None
    assert time_of(found.grid, 1.0) == pytest.approx(first_s)


@pytest.mark.parametrize("lag_s", [-0.06, 0.0, 0.11])
def test_a_steady_lag_is_not_another_first_count(lag_s: float) -> None:
    first_s = float(BEATS.times_s[16])
    found = counting("lantern", [danced("lantern", first_s + lag_s)])
    assert found.grid.first_count_s == pytest.approx(first_s)


def test_a_mirrored_dancer_anchors_too() -> None:
    first_s = float(BEATS.times_s[16])
    plain = danced("lantern", first_s)
    mirrored = Candidates(
        plain.times_s, plain.sigma_ms, ~plain.right, plain.shift, plain.strength, plain.weight, plain.place, plain.seen
    )
    assert counting("lantern", [mirrored]).grid.first_count_s == pytest.approx(first_s)


def test_landings_before_the_dance_do_not_pull_count_1_forward() -> None:
    """Walking to the place, then four counts of standing."""
    first_s = float(BEATS.times_s[24])
    plain = danced("porchlight", first_s)
    walk = [(float(t), k % 2 == 0, False, 0.9, 0.9) for k, t in enumerate(np.arange(2.0, first_s - 2.5, 0.57))]
    rows: list[Landing] = [
        *walk,
        *((float(t), bool(r), bool(s), float(p), float(w)) for t, r, s, p, w in zip(
            plain.times_s, plain.right, plain.shift, plain.strength, plain.weight, strict=True)),
    ]  # fmt: skip
    found = counting("porchlight", [candidates(rows, seen=plain.seen)])
    assert found.grid.first_count_s == pytest.approx(first_s)


def test_a_dance_of_equal_steps_is_anchored_at_its_beginning() -> None:
    """Marking time fits at every second beat; that nobody lands before it tells where it begins."""
    sheet = marking_time()
    due = events(sheet)
    first_s = float(BEATS.times_s[16])
    who = candidates(landings(due, first_s + np.array([(d.count - 1) * 0.5 for d in due])), seen=((0.0, 45.0),))
    found = with_dance(BEATS, [], [who], sheet, TIMING, first_count_s=None, speed="same", starting_wall=1)
    assert found.grid is not None
    assert found.grid.first_count_s == pytest.approx(first_s)


def test_the_music_decides_between_equals() -> None:
    """Filmed from the middle of marking time: any second beat may be count 1, and the music's own start settles it."""
    sheet = marking_time()
    due = events(sheet, 80.0)
    one_s = float(BEATS.times_s[16])
    at_s = one_s + np.array([(d.count - 1) * 0.5 for d in due])
    who = candidates(landings(due, at_s), seen=((0.0, 60.0),))
    beat = with_dance(BEATS, [(one_s, 1.0)], [who], sheet, TIMING, first_count_s=None, speed="same", starting_wall=1)
    assert beat.grid is not None
    assert beat.grid.first_count_s == pytest.approx(one_s)


def test_several_dancers_count_together() -> None:
    """One dances, one joins late, one dances in mirror image: the class has one count 1."""
    first_s = float(BEATS.times_s[16])
    good, late, other = (danced("lantern", first_s, seed=s) for s in (1, 2, 3))
    joins = late.times_s > first_s + 6
    late = Candidates(
        late.times_s[joins], late.sigma_ms[joins], late.right[joins], late.shift[joins], late.strength[joins], late.weight[joins],
        late.place[joins], late.seen,
    )  # fmt: skip
    other = Candidates(
        other.times_s, other.sigma_ms, ~other.right, other.shift, other.strength, other.weight, other.place, other.seen
    )
    found = counting("lantern", [good, late, other])
    assert found.grid.first_count_s == pytest.approx(first_s)


@pytest.mark.parametrize(("heard", "factor"), [(1.0, 2.0), (0.25, 0.5)])
def test_beats_heard_at_half_or_double_speed_are_put_right(heard: float, factor: float) -> None:
    """The music was heard at half or twice the speed that the dance is counted at: steps a count long tell."""
    beats = BeatGrid(
        "sound", 0.37 + heard * np.arange(int(55 / heard)), np.arange(int(55 / heard)) % 8 + 1, 60 / heard, 0.5, 0.9, None
    )
    first_s = 0.37 + 16 * 0.5
    found = counting("lantern", [danced("lantern", first_s)], beats)
    assert found.grid.first_count_s == pytest.approx(first_s)
    assert found.grid.tempo_bpm == pytest.approx(60 / heard * factor)


def test_the_persons_first_count_wins() -> None:
    said_s = float(BEATS.times_s[9])
    found = counting("lantern", [danced("lantern", float(BEATS.times_s[16]))], first_count_s=said_s + 0.1)
    assert found.grid.first_count_s == pytest.approx(said_s)


def test_given_beats_with_a_first_count_are_taken_at_their_word() -> None:
    given = with_first_count(changed(BEATS, source="given"), float(BEATS.times_s[10]))
    found = counting("lantern", [danced("lantern", float(BEATS.times_s[16]))], given)
    assert found.grid.first_count_s == pytest.approx(BEATS.times_s[10])


def test_the_persons_speed_wins() -> None:
    found = counting("lantern", [danced("lantern", float(BEATS.times_s[16]))], speed="half")
    assert found.grid.tempo_bpm == pytest.approx(60.0)


def test_events_end_with_the_landings() -> None:
    found = counting("porchlight", [danced("porchlight", float(BEATS.times_s[16]), until=32.0)])
    last = max(d.count for d in found.due)
    assert 32 <= last <= 36


def test_a_starting_wall_is_counted_from() -> None:
    found = counting("porchlight", [danced("porchlight", float(BEATS.times_s[16]))], starting_wall=3)
    assert found.due[0].wall == 3
    assert found.due[0].count == 1.0


def test_nobody_dancing_leaves_count_1_to_the_music() -> None:
    chance = np.random.default_rng(4)
    rows = [(float(t), True, False, 0.3, 0.5) for t in np.sort(chance.uniform(5, 9, 3))]
    found = counting("lantern", [candidates(rows, seen=((0.0, 50.0),))])
    assert found.grid is not None
    assert any("count 1" in doubt for doubt in found.grid.doubts)


def test_nothing_to_anchor() -> None:
    one = danced("lantern", 4.0)
    line = lambda first, counts: first + (counts - 1) * 0.5  # noqa: E731
    assert anchored([one], [], np.array([1.0]), line, TIMING) is None
    assert anchored([one], events(sheet_named("lantern")), np.zeros(0), line, TIMING) is None


def test_what_speaks_for_and_against_a_first_count() -> None:
    sheet = marking_time()
    due = events(sheet, 32.0)
    rows = landings(due, 6.0 + np.array([(d.count - 1) * 0.5 for d in due]))
    line = lambda first, counts: first + (counts - 1) * 0.5  # noqa: E731
    seen = ((0.0, 30.0),)
    firsts = np.array([6.0, 8.0, 10.0])
    plain = anchored([candidates(rows, seen=seen)], due, firsts, line, TIMING)
    assert plain is not None
    assert plain.first == 6.0
    assert plain.score > plain.second
    # somebody already landing before count 1 speaks against it
    walking = [(float(t), False, False, 0.9, 0.9) for t in np.arange(2.3, 5.5, 0.5)]
    before = anchored([candidates([*walking, *rows], seen=seen)], due, firsts[:1], line, TIMING)
    assert before is not None
    assert before.score < plain.score - 0.5
    # what is known otherwise is added, in landings
    told = anchored([candidates(rows, seen=seen)], due, firsts, line, TIMING, prior=np.array([0.0, 20.0, 0.0]))
    assert told is not None
    assert told.first == 8.0
    # counts out of sight speak neither for nor against
    hidden = anchored([candidates(rows[8:], seen=((10.0, 30.0),))], due, firsts[:1], line, TIMING)
    watched = anchored([candidates(rows[8:], seen=seen)], due, firsts[:1], line, TIMING)
    assert hidden is not None
    assert watched is not None
    assert hidden.score > watched.score + 1


@pytest.mark.parametrize(("name", "bpm"), [("lantern", 104.0), ("porchlight", 126.0), ("gravel", 92.0), ("shingle", 112.0)])
def test_the_rhythm_of_steps_without_any_beat(name: str, bpm: float) -> None:
    due = events(sheet_named(name), 80.0)
    who = danced(name, 5.3, gap_s=60 / bpm, until=64.0)
    found = rhythm_of_steps([who], due, TIMING)
    assert found is not None
    assert found[0] == pytest.approx(5.3, abs=0.05)
    assert 60 / found[1] == pytest.approx(bpm, rel=0.004)


def test_too_few_steps_have_no_rhythm() -> None:
    due = events(sheet_named("lantern"))
    assert rhythm_of_steps([candidates([(float(t), True, False, 0.9, 0.9) for t in range(1, 6)])], due, TIMING) is None


def test_without_a_beat_counts_come_from_the_steps_and_nobody_is_timed() -> None:
    mute = NotMeasured("the beat", "the clip has no sound")
    found = counting("lantern", [danced("lantern", 5.3)], mute)
    assert found.beats is mute
    assert found.untimed.why == "the clip has no sound"
    assert time_of(found.grid, 1.0)[0] == pytest.approx(5.3, abs=0.05)


def test_without_a_dance() -> None:
    mute = NotMeasured("the beat", "the clip has no sound")
    counted = without_dance(mute, [], None, "same")
    assert counted.grid is None
    assert counted.untimed is not None
    assert counted.untimed.why == mute.why
    heard = without_dance(BEATS, [(float(BEATS.times_s[4]), 0.9)], None, "same")
    assert heard.grid is not None
    assert heard.grid.first_count_s == pytest.approx(BEATS.times_s[4])
    double = without_dance(BEATS, [], float(BEATS.times_s[4]), "double")
    assert double.grid is not None
    assert double.grid.tempo_bpm == 240.0


def test_shifting_the_clip_shifts_count_1() -> None:
    first_s = float(BEATS.times_s[16])
    who = danced("gravel", first_s)
    moved = Candidates(
        who.times_s + 3.21, who.sigma_ms, who.right, who.shift, who.strength, who.weight, who.place,
        tuple((a + 3.21, b + 3.21) for a, b in who.seen),
    )  # fmt: skip
    found = counting("gravel", [moved], changed(BEATS, times_s=BEATS.times_s + 3.21))
    assert found.grid.first_count_s == pytest.approx(first_s + 3.21)


def test_half_the_speed_keeps_the_times_of_counts() -> None:
    """A count of the slower counting lies where every second count of the faster one does."""
    grid = with_first_count(BEATS, float(BEATS.times_s[16]))
    slow = at_speed(grid, "half")
    np.testing.assert_allclose(time_of(slow, np.arange(1.0, 9)), time_of(grid, np.arange(1.0, 17, 2)))


def test_a_waltz_is_counted_in_sixes() -> None:
    beats = steady_grid(96.0, 4.0, 0.0, 60.0, 3)
    beats = BeatGrid("sound", beats.times_s, beats.counts, 96.0, 0.5, 0.9, None)
    first_s = float(beats.times_s[12])
    found = counting("millpond", [danced("millpond", first_s, gap_s=60 / 96, until=48.0)], beats)
    assert found.grid.first_count_s == pytest.approx(first_s)
    assert set(found.grid.counts) == {1, 2, 3, 4, 5, 6}
