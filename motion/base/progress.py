"""How a long job tells how far it is."""

from __future__ import annotations

from collections.abc import Callable

#: Called with a few plain words and the share done 0..1, or None where no share is known.
Progress = Callable[[str, float | None], None]


def quiet(words: str, share: float | None) -> None:
    """A progress that tells nobody."""
