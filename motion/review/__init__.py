"""One clip reviewed: `watch` is slow and sees pictures, `judge` is fast and pure; and what a person corrected.

Comes in: a clip, or what was watched earlier, and options. Goes out: `Watched` and `Review`. Imports every measuring package, and is the
only one that knows their order.
"""
