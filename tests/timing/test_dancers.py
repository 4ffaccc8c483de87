"""Every dancer of a clip: pieces of an edited film, and versions of one's own."""

from __future__ import annotations

from dataclasses import asdict

import numpy as np
from made_steps import candidates, events, grid_of, landings, sheet_named

from motion.base.types import NotMeasured
from motion.music.counts import time_of
from motion.review.settings import SETTINGS
from motion.timing.dancers import matches_of, pieces_of, stretches_of, verdict_of
from motion.timing.grid import Counted
from motion.timing.verdict import danced_stretch

TIMING = SETTINGS.timing
DUE = events(sheet_named("porchlight"), 64.0)
GRID = grid_of(DUE)
AT_S = time_of(GRID, np.array([d.count for d in DUE]))
COUNTED = Counted(GRID, GRID, DUE, None)


def test_each_piece_has_its_own_stretch_and_a_title_card_none() -> None:
    rows = landings(DUE, AT_S)
    first, second = candidates(rows[:20]), candidates(rows[30:])
    pieces = ((0.0, 14.0), (14.0, 16.0), (16.0, 40.0))
    assert pieces_of(first, pieces) == (pieces[0],)
    assert pieces_of(second, pieces) == (pieces[2],)
    followed = [first, second, NotMeasured("steps", "not seen")]
    found = stretches_of(followed, pieces, COUNTED, matches_of(followed, COUNTED, TIMING), TIMING)
    assert list(found) == [pieces[0], pieces[2]]
    np.testing.assert_allclose(found[pieces[0]], (AT_S[0], AT_S[19]), atol=0.05)
    np.testing.assert_allclose(found[pieces[2]], (AT_S[30], AT_S[-1]), atol=0.05)
    # and nobody is said to have stood still while another piece was shown
    said = verdict_of(second, COUNTED, found[pieces[2]], (), np.arange(0, 40, 1 / 30), own_version=False, settings=TIMING)
    assert said.flags == ()


def test_a_version_of_ones_own_is_beside_the_beat_and_never_missed_or_other() -> None:
    """Every third step left out, every fifth with the other foot, one late."""
    rows = [(t, right ^ (k % 5 == 0), *rest) for k, (t, right, *rest) in enumerate(landings(DUE, AT_S)) if k % 3]
    rows[20] = (rows[20][0] + 0.16, *rows[20][1:])
    found = candidates(rows)  # type: ignore[arg-type]
    dance_s, times_s = (float(AT_S[0]), float(AT_S[-1])), np.arange(0, 40, 1 / 30)
    own = verdict_of(found, COUNTED, dance_s, (), times_s, own_version=True, settings=TIMING)
    assert isinstance(own.flags, tuple)
    assert [f.kind for f in own.flags] == ["late"]
    assert own.timing
    as_written = verdict_of(found, COUNTED, dance_s, (), times_s, own_version=False, settings=TIMING)
    assert isinstance(as_written.flags, tuple)
    assert len(as_written.flags) > 10


def test_a_match_at_hand_gives_what_matching_anew_gives() -> None:
    rows = [(t + 0.03, right ^ (k % 7 == 0), *rest) for k, (t, right, *rest) in enumerate(landings(DUE, AT_S)) if k % 5]
    found = candidates(rows)  # type: ignore[arg-type]
    (matched,) = matches_of([found], COUNTED, TIMING)
    assert matched is not None
    assert danced_stretch(found, DUE, GRID, TIMING, matched=matched) == danced_stretch(found, DUE, GRID, TIMING)
    dance_s, times_s = (float(AT_S[0]), float(AT_S[-1])), np.arange(0, 40, 1 / 30)
    kept, anew = (
        verdict_of(found, COUNTED, dance_s, (), times_s, own_version=False, settings=TIMING, matched=at_hand)
        for at_hand in (matched, None)
    )
    assert isinstance(kept.flags, tuple)
    assert isinstance(anew.flags, tuple)
    assert [asdict(flag) for flag in kept.flags] == [asdict(flag) for flag in anew.flags]
    assert kept.flags
    # where no dance is known, and for whoever was not seen, there is nothing to match
    assert matches_of([found], Counted(GRID, GRID, (), None), TIMING) == (None,)
    assert matches_of([NotMeasured("steps", "not seen")], COUNTED, TIMING) == (None,)
