"""A made class as its review tells it, a finding to put into it, and the words that have no place before a class."""

from __future__ import annotations

from typing import Any

from made import made_review

from motion.store.serialize import review_json

#: Words that rank, grade or judge people: they have no place before a class.
RANKING = ("best", "worst", "score", "wrong", "rank", "points", "perfect", "great", "good job", "%")


def review(dancers: int = 3, **kwargs: Any) -> dict[str, Any]:
    """Dancer 1 misses count 7 and is late on 13; the others dance every count."""
    return review_json(made_review(dancers, 32, **kwargs))


def flag(kind: str, count: float, until: float | None = None, **more: Any) -> dict[str, Any]:
    return {
        "kind": kind, "count": count, "until_count": until, "time_s": 6.0, "size": None, "unit": None, "sure": 0.9, "named": True,
        "words": f"{kind} at {count:g}.", **more,
    }  # fmt: skip
