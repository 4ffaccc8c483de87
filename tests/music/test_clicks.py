"""Made sounds begin exactly when they are told to."""

import numpy as np
import pytest

from motion.music.clicks import TIMBRES, click_track, place, sound_of

RATE_HZ = 44100


@pytest.mark.parametrize("timbre", TIMBRES)
def test_first_sound_lies_at_its_time(timbre):
    track = click_track(np.array([0.25]), timbre, RATE_HZ, 1.0)
    loud = np.flatnonzero(np.abs(track) > 0.01 * np.abs(track).max())
    assert 0.25 <= loud[0] / RATE_HZ < 0.25 + 0.003
    assert np.all(track[: int(0.25 * RATE_HZ)] == 0)
    assert np.abs(track).max() <= 1


@pytest.mark.parametrize("timbre", TIMBRES)
def test_same_seed_same_sound(timbre):
    a, b = (sound_of(timbre, RATE_HZ, np.random.default_rng(3)) for _ in range(2))
    assert np.array_equal(a, b)
    assert np.max(np.abs(a)) == pytest.approx(1)


def test_sounds_between_samples_are_moved_not_rounded():
    bump = np.hanning(101)
    track = place(np.array([0.1, 0.2505]), [bump, bump], np.ones(2), 1000, 0.4)
    centre = [np.sum(np.arange(len(p)) * p) / p.sum() for p in (track[90:220], track[230:370])]
    assert centre[0] + 90 == pytest.approx(150, abs=0.01)
    assert centre[1] + 230 == pytest.approx(300.5, abs=0.01)


def test_what_lies_outside_the_track_is_cut_off():
    track = place(np.array([-0.05, 0.35]), [np.ones(100), np.ones(100)], np.ones(2), 1000, 0.4)
    assert len(track) == 400
    assert track[:50].sum() == pytest.approx(50, abs=1)
    assert track[350:].sum() == pytest.approx(50, abs=1)
    assert track[60:340].sum() == 0
