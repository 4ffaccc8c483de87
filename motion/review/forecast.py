"""How long a review will take, said before it starts."""

from __future__ import annotations

from motion.base.options import WatchOptions
from motion.base.settings import PageSettings
from motion.base.types import Clip
from motion.review.settings import SETTINGS


def seconds_needed(clip: Clip, watch: WatchOptions, *, settings: PageSettings = SETTINGS.page) -> float:
    """Rough seconds for reviewing a clip on an ordinary two-core computer; without a number of dancers, for one.

    Example: 1800 pictures of one dancer, careful: 1800 * 45 ms + 10 s, about a minute and a half.
    """
    from_s, to_s = watch.from_s or 0.0, clip.duration_s if watch.to_s is None else watch.to_s
    share = max(0.0, min(1.0, (to_s - from_s) / clip.duration_s))
    each_ms = settings.fine_ms if watch.quality == "fine" else settings.fast_ms
    return settings.ready_s + share * len(clip.times_s) * (settings.picture_ms + each_ms * (watch.dancers or 1)) / 1000.0


def seconds_words(seconds: float) -> str:
    """A time to wait: "about 40 seconds", "about 3 minutes"."""
    if seconds < 90:
        return f"about {max(5, 5 * round(seconds / 5))} seconds"
    return f"about {round(seconds / 60)} minutes"
