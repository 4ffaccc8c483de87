"""Guards at the door: say the value, the rule and the remedy."""

from __future__ import annotations

import math

from motion.base.errors import BadInput


def need(holds: bool, rule: str, value: object) -> None:
    """Raise ValueError "rule; got value" unless `holds`: for data that a package built wrongly (our bug, not the person's)."""
    if not holds:
        raise ValueError(f"{rule}; got {value}")


def number_between(value: float, low: float, high: float, what: str, unit: str) -> float:
    """The value, if it is finite and low <= value <= high; else BadInput that names what, the value and what is allowed."""
    if not math.isfinite(value) or not low <= value <= high:
        allowed = f"{low:g} to {high:g} {unit}".rstrip()
        raise BadInput(f"{what} is {value:g}, but must lie in {allowed}", f"Give a value in {allowed}")
    return value
