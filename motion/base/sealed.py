"""What all types that pass between the packages are built on: sealed arrays, and the value for what could not be measured."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class Sealed:
    """Base of the types: copies its arrays, makes them read-only, and is rebuilt through the constructor when pickled.

    Equality is identity (the default comparison of arrays raises).
    """

    def __post_init__(self) -> None:
        for f in fields(self):  # type: ignore[arg-type]
            value = getattr(self, f.name)
            if isinstance(value, np.ndarray):
                value = value.copy()
                value.flags.writeable = False
                object.__setattr__(self, f.name, value)
        self._check()

    def _check(self) -> None:
        """Raise ValueError when the parts do not fit together."""

    def __reduce__(self) -> tuple[Any, ...]:
        names = [f.name for f in fields(self) if f.init]  # type: ignore[arg-type]
        return (_rebuild, (type(self), {n: getattr(self, n) for n in names}))


def _rebuild(kind: type, parts: dict[str, Any]) -> Any:
    return kind(**parts)


@dataclass(frozen=True, eq=False)
class NotMeasured:
    """A part that could not be measured, and why in plain words. False in an `if`."""

    what: str
    why: str

    def __bool__(self) -> bool:
        return False
