"""Findings: one for every fault, none without one, and in words that say where."""

from __future__ import annotations

import re

import numpy as np
import pytest
from made_steps import Landing, flags, judged, marking_time, sheet_named, told

from motion.base.types import Due, Floats
from motion.review.settings import SETTINGS
from motion.timing.flags import where

DANCES = ["porchlight", "lantern", "gravel", "shingle", "millpond", "hedgerow", "tin-umbrella", "wet-paint", "late-ferry"]
JARGON = re.compile(r"candidate|match|index|offset|sigma|nan|None|\bevent\b", re.IGNORECASE)


def at_count(due: tuple[Due, ...], count: float) -> int:
    return next(i for i, d in enumerate(due) if abs(d.count - count) < 1e-6)


@pytest.mark.parametrize("name", DANCES)
@pytest.mark.parametrize("seed", [1, 2])
def test_a_clean_dance_has_no_findings(name: str, seed: int) -> None:
    verdict, _, _ = judged(sheet_named(name), seed=seed)
    assert told(verdict) == []


@pytest.mark.parametrize("lag_ms", [-80.0, 110.0])
def test_a_steady_lead_or_lag_is_no_fault_and_is_told_once(lag_ms: float) -> None:
    verdict, _, _ = judged(sheet_named("lantern"), lambda rows, due, at: [(t + lag_ms / 1000, *r) for t, *r in rows])  # type: ignore[misc]
    assert told(verdict) == []
    assert verdict.timing
    assert verdict.timing.bias_ms == pytest.approx(lag_ms, abs=8)  # type: ignore[union-attr]
    low, high = verdict.timing.bias_interval_ms  # type: ignore[union-attr]
    assert low < verdict.timing.bias_ms < high  # type: ignore[union-attr]


@pytest.mark.parametrize(("by_ms", "kind"), [(200.0, "late"), (-190.0, "early")])
def test_one_landing_off_its_beat_is_one_finding(by_ms: float, kind: str) -> None:
    def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        i = at_count(due, 18.0)
        return [(t + by_ms / 1000 * (k == i), *r) for k, (t, *r) in enumerate(rows)]  # type: ignore[misc]

    verdict, due, at_s = judged(sheet_named("porchlight"), spoil)
    assert told(verdict) == [(kind, 18.0)]
    flag = flags(verdict, kind)[0]
    assert flag.unit == "ms"
    assert flag.size == pytest.approx(by_ms, abs=40)
    assert flag.time_s == pytest.approx(at_s[at_count(due, 18.0)] + by_ms / 1000, abs=0.05)
    assert "count 18 of wall 1" in flag.words
    assert f"clearly {'after' if by_ms > 0 else 'before'} this dancer's usual time" in flag.words
    assert " ms" not in flag.words  # figures are size and unit
    assert 0 < flag.sure <= 1


def test_late_is_against_the_dancers_own_time() -> None:
    """110 ms late all the way, and on one count on the beat: that count is early for this dancer."""

    def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        return [(t + (0.11 if k != 25 else -0.08), *r) for k, (t, *r) in enumerate(rows)]  # type: ignore[misc]

    verdict, due, _ = judged(sheet_named("porchlight"), spoil)
    assert told(verdict) == [("early", due[25].count)]


def test_little_is_not_told() -> None:
    """40 ms off are within what a landing can prove."""
    verdict, _, _ = judged(
        sheet_named("porchlight"),
        lambda rows, due, at: [(t + 0.04 * (k % 5 == 0), *r) for k, (t, *r) in enumerate(rows)],  # type: ignore[misc]
    )
    assert told(verdict) == []


def test_a_half_count_gets_more_room_than_a_whole_one() -> None:
    """The same lateness that is told of a whole count is not told of an &, where the next landing is near."""
    sheet = sheet_named("lantern")

    def late_at(count: float, by_s: float) -> list[tuple[str, float | None]]:
        def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
            i = at_count(due, count)
            return [(float(at_s[k]) + by_s * (k == i), *r) for k, (t, *r) in enumerate(rows)]

        return told(judged(sheet, spoil)[0])

    told_at = {by: (late_at(13.0, by), late_at(3.5, by)) for by in np.arange(0.06, 0.16, 0.01)}
    whole = [by for by, (w, _) in told_at.items() if w == [("late", 13.0)]]
    half = [by for by, (_, h) in told_at.items() if h == [("late", 3.5)]]
    assert whole
    assert min(half, default=1.0) > min(whole) + 0.02


def test_an_uncertain_landing_proves_less() -> None:
    sheet = marking_time()

    def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        return [(t + 0.13 * (k == 20), *r) for k, (t, *r) in enumerate(rows)]  # type: ignore[misc]

    from made_steps import candidates, events, grid_of, landings

    from motion.music.counts import time_of
    from motion.timing.verdict import against_dance

    due = events(sheet)
    grid = grid_of(due)
    at_s = time_of(grid, np.array([d.count for d in due]))
    for sigma_ms, kinds in ((10.0, ["late"]), (70.0, [])):
        found = candidates(spoil(landings(due, at_s), due, at_s), sigma_ms=sigma_ms)
        verdict = against_dance(found, due, grid, (float(at_s[0]), float(at_s[-1])), SETTINGS.timing, untimed=None)
        assert [k for k, _ in told(verdict)] == kinds


def test_a_missing_landing_is_one_finding() -> None:
    verdict, due, at_s = judged(sheet_named("porchlight"), lambda rows, due, at: [r for k, r in enumerate(rows) if k != 38])
    assert told(verdict) == [("missed", due[38].count)]
    flag = flags(verdict, "missed")[0]
    assert flag.time_s == pytest.approx(at_s[38], abs=0.03)
    assert f"{due[38].foot} foot" in flag.words
    assert "count 7 of wall 2" in flag.words  # running count 39 of a dance of 32


def test_nothing_is_missed_where_the_feet_were_out_of_sight() -> None:
    def leaves(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        return [r for r, t in zip(rows, at_s, strict=True) if not 14.0 <= t <= 20.0]

    verdict, _, _ = judged(sheet_named("porchlight"), leaves, seen=((0.0, 13.9), (20.0, 60.0)))
    assert told(verdict) == []
    assert isinstance(verdict.pairing.missed, tuple)  # type: ignore[union-attr]
    seen, _, _ = judged(sheet_named("porchlight"), leaves)
    assert [k for k, _ in told(seen)] == ["stood still"]


def test_an_extra_landing_is_one_finding() -> None:
    def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        i = at_count(due, 21.0)
        return [*rows, (float(at_s[i]) + 0.25, due[i].foot == "right", False, 0.97, 0.9)]

    verdict, _, _ = judged(sheet_named("porchlight"), spoil)
    assert told(verdict) == [("extra", 21.5)]
    assert "right foot" in flags(verdict, "extra")[0].words


def test_a_landing_while_standing_still_is_not_told_twice() -> None:
    """Heels of the right foot are due; one landing of the left among what is missing is part of the same finding."""

    def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        kept = [r for k, r in enumerate(rows) if not 7 <= k < 13]
        return [*kept, (float(at_s[8]) + 0.25, False, False, 0.85, 0.5)]

    verdict, _, _ = judged(sheet_named("porchlight"), spoil)
    assert [k for k, _ in told(verdict)] == ["stood still"]


def test_two_feet_that_land_together_are_no_extra_landing() -> None:
    """One foot read as both, as when legs cross in the picture."""

    def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        i = at_count(due, 21.0)
        return [*rows, (float(at_s[i]) + 0.08, due[i].foot != "right", False, 0.97, 0.9)]

    assert told(judged(sheet_named("porchlight"), spoil)[0]) == []


def test_what_is_read_of_the_other_foot_is_not_missed() -> None:
    """Something came down just then: of which foot is doubtful, that it came is not."""

    def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        kept = [r for k, r in enumerate(rows) if k != 38]
        return [*kept, (float(at_s[38]) - 0.05, due[38].foot != "right", False, 0.2, 0.5)]

    assert told(judged(sheet_named("porchlight"), spoil)[0]) == []


def test_a_faint_extra_landing_is_not_told() -> None:
    def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        return [*rows, *[(float(t) + 0.25, True, False, 0.3, 0.5) for t in at_s[8:40:3]]]

    assert told(judged(sheet_named("porchlight"), spoil)[0]) == []


def test_nothing_is_extra_before_and_after_the_dance() -> None:
    def waits(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        walk = [(float(t), k % 2 == 0, False, 0.95, 0.9) for k, t in enumerate(np.arange(0.3, 3.4, 0.6))]
        return [*walk, *rows, *[(float(at_s[-1]) + 1 + 0.6 * k, k % 2 == 0, False, 0.95, 0.9) for k in range(5)]]

    assert told(judged(sheet_named("porchlight"), waits)[0]) == []


def test_the_other_foot_is_one_finding() -> None:
    def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        return [(t, right ^ (k == 24), *r) for k, (t, right, *r) in enumerate(rows)]  # type: ignore[misc]

    verdict, due, _ = judged(sheet_named("porchlight"), spoil)
    assert told(verdict) == [("other foot", due[24].count)]
    said = flags(verdict, "other foot")[0].words
    assert said.index("left foot stepped") < said.index("right foot there")  # count 25 is the right foot's


@pytest.mark.parametrize(("count", "weight", "said"), [(4.0, 0.99, "took the weight"), (3.0, 0.01, "without taking the weight")])
def test_a_step_for_a_touch_shows_in_the_foot_that_goes_on(count: float, weight: float, said: str) -> None:
    """Weight on the wrong foot frees the wrong foot: with the next landing gone or on the other foot it is told, not when the dance goes
    on as written, which only a foot that is free can do."""

    def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats, *, goes_on: bool) -> list[Landing]:
        i = at_count(due, count)
        out = [(*r[:4], weight if k == i else r[4]) for k, r in enumerate(rows)]
        return [r for k, r in enumerate(out) if goes_on or k != i + 1]

    verdict, _, _ = judged(sheet_named("porchlight"), lambda *x: spoil(*x, goes_on=False))
    assert told(verdict) == [("other step", count), ("missed", count + 1)]
    assert said in flags(verdict, "other step")[0].words
    assert told(judged(sheet_named("porchlight"), lambda *x: spoil(*x, goes_on=True))[0]) == []


def test_a_stretch_in_mirror_image_is_one_finding() -> None:
    def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        return [(t, right ^ (16 <= k < 32), *r) for k, (t, right, *r) in enumerate(rows)]  # type: ignore[misc]

    verdict, _, _ = judged(sheet_named("porchlight"), spoil)
    assert [k for k, _ in told(verdict)] == ["danced in mirror"]
    flag = flags(verdict, "danced in mirror")[0]
    assert flag.count == pytest.approx(17, abs=2)
    assert flag.until_count == pytest.approx(32, abs=2)
    assert "of wall 1" in flag.words


def test_a_whole_dance_in_mirror_image_is_one_finding() -> None:
    verdict, due, _ = judged(sheet_named("lantern"), lambda rows, due, at: [(t, not right, *r) for t, right, *r in rows])  # type: ignore[misc]
    assert told(verdict) == [("danced in mirror", 1.0)]
    assert flags(verdict, "danced in mirror")[0].until_count == due[-1].count


def test_a_stretch_a_count_behind_is_one_finding() -> None:
    def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        out = [(t + 0.5 * (20 <= k < 44), *r) for k, (t, *r) in enumerate(rows)]
        return [r for k, r in enumerate(out) if k not in (44, 45)]  # type: ignore[misc]

    verdict, _, _ = judged(sheet_named("lantern"), spoil)
    kinds = [k for k, _ in told(verdict)]
    assert kinds.count("count behind") == 1
    # catching up leaves counts out: at most those are told besides
    assert set(kinds) <= {"count behind", "missed", "stood still"}
    assert len(kinds) <= 3


def test_standing_still_is_one_finding() -> None:
    verdict, due, _ = judged(sheet_named("porchlight"), lambda rows, due, at: [r for k, r in enumerate(rows) if not 20 <= k < 28])
    assert told(verdict) == [("stood still", due[20].count)]
    flag = flags(verdict, "stood still")[0]
    assert flag.until_count == due[27].count
    assert flag.size == 8.0
    assert "From count 21 to count 28 of wall 1" in flag.words
    assert "count 28 of wall 1" in flag.words


def test_joining_late_is_no_heap_of_misses() -> None:
    """The others danced from count 1; this one stood and joined at count 17."""
    verdict, _, _ = judged(sheet_named("porchlight"), lambda rows, due, at: rows[16:], seen=((0.0, 60.0),))
    assert told(verdict) == [("stood still", 1.0)]
    assert flags(verdict, "stood still")[0].until_count == 16.0


def test_a_restart_is_danced_as_the_sheet_says() -> None:
    """late-ferry: four sways after wall 2, and wall 4 ends after its 16th count: nobody is told off for either."""
    verdict, due, _ = judged(sheet_named("late-ferry"), until=160.0)
    assert {d.wall for d in due} >= {1, 2, 3, 4, 5}
    assert told(verdict) == []


def test_missing_a_restart_is_told() -> None:
    """Going on with count 17 of wall 4 where wall 5 begins."""
    from motion.base.types import DanceSheet

    sheet = sheet_named("late-ferry")
    straight = DanceSheet(**{**{n: getattr(sheet, n) for n in sheet.__dataclass_fields__}, "restarts": ()})
    from made_steps import candidates, events, grid_of, landings

    from motion.music.counts import time_of
    from motion.timing.verdict import against_dance

    due, wrong = events(sheet, 148.0), events(straight, 148.0)
    grid = grid_of(due)
    at_s, wrong_s = (time_of(grid, np.array([d.count for d in e])) for e in (due, wrong))
    verdict = against_dance(
        candidates(landings(wrong, wrong_s)), due, grid, (float(at_s[0]), float(at_s[-1])), SETTINGS.timing, untimed=None
    )
    after = [f for f in flags(verdict, *{k for k, _ in told(verdict)}) if f.count and f.count > 116]
    assert after
    assert not [f for f in flags(verdict, *{k for k, _ in told(verdict)}) if (f.count or 0) < 114]


def test_every_finding_is_one_plain_sentence_with_wall_and_count() -> None:
    def spoil(rows: list[Landing], due: tuple[Due, ...], at_s: Floats) -> list[Landing]:
        out = [(t + 0.2 * (k == 10), right ^ (k == 14), *r) for k, (t, right, *r) in enumerate(rows)]
        out = [r for k, r in enumerate(out) if k != 18 and not 40 <= k < 46]
        return [*out, (float(at_s[24]) + 0.25, due[24].foot == "right", False, 0.97, 0.9)]  # type: ignore[misc]

    verdict, _, _ = judged(sheet_named("porchlight"), spoil)
    assert isinstance(verdict.flags, tuple)
    assert sorted(k for k, _ in told(verdict)) == ["extra", "late", "missed", "other foot", "stood still"]
    for flag in verdict.flags:
        assert re.search(r"count \d+[&a]? of wall \d+", flag.words), flag.words
        assert flag.words.endswith(".")
        assert flag.words.count(". ") == 0
        assert not JARGON.search(flag.words), flag.words
        assert flag.named == (flag.sure >= SETTINGS.timing.named_sure)
        assert 0.0 < flag.sure <= 1.0
    assert [f.time_s for f in verdict.flags] == sorted(f.time_s for f in verdict.flags)


@pytest.mark.parametrize(("count_in_wall", "said"), [(3.0, "count 3"), (3.5, "count 3&"), (3 + 2 / 3, "count 3a")])
def test_counts_are_said_as_teachers_say_them(count_in_wall: float, said: str) -> None:
    due = Due(35.0, 2, count_in_wall, "left", "together", True, True, 0.0)
    assert where(due) == f"{said} of wall 2"


def test_without_a_beat_nobody_is_late() -> None:
    from made_steps import candidates, events, grid_of, landings

    from motion.base.types import NotMeasured
    from motion.music.counts import time_of
    from motion.timing.verdict import against_dance

    due = events(sheet_named("porchlight"))
    grid = grid_of(due)
    at_s = time_of(grid, np.array([d.count for d in due]))
    rows = landings(due, at_s)
    rows[12] = (rows[12][0] + 0.2, *rows[12][1:])
    del rows[30]
    why = NotMeasured("timing", "the clip has no sound")
    verdict = against_dance(candidates(rows), due, grid, (float(at_s[0]), float(at_s[-1])), SETTINGS.timing, untimed=why)
    assert told(verdict) == [("missed", due[30].count)]
    assert verdict.timing is why
    assert np.isnan(verdict.pairing.offset_ms).all()  # type: ignore[union-attr]
    assert np.isfinite(verdict.pairing.counts).all()  # type: ignore[union-attr]
