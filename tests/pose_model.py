"""The pose model for tests that need the real one: from the cache, else fetched once, else the test is skipped by name."""

from __future__ import annotations

import subprocess
import sys
from functools import cache

import pytest

from motion.base.child import child_environment
from motion.base.errors import ModelMissing
from motion.clip.pose_model import PoseModel, Quality, cached_model, get_model


def pose_model(quality: Quality) -> PoseModel:
    """The model of exactly this quality."""
    model = _fetched(quality)
    if isinstance(model, str):
        pytest.skip(f"the {quality} pose model cannot be had: {model}")
    if model.quality != quality:
        pytest.skip(f"the {quality} pose model cannot be had: {model.fell_back}")
    return model


@cache
def _fetched(quality: Quality) -> PoseModel | str:
    if cached_model(quality) is None:  # by a process of its own, which no test's stand-ins reach
        words = [sys.executable, "-P", "-m", "motion", "prepare"]
        subprocess.run(words, env=child_environment(), stdin=subprocess.DEVNULL, capture_output=True, timeout=900, check=False)
    try:
        return get_model(quality)
    except ModelMissing as error:
        return str(error)
