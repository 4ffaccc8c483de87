"""The error family: what cannot go on, told as one or two plain sentences.

    MotionError            anything the person can mend; the command prints it and exits 1
    ├── ClipMissing        there is no such file, or it is a folder
    ├── ClipUnreadable     the file is no video, is damaged from the start, or holds no pictures
    ├── ClipTooShort       too little time to judge anything
    ├── ClipTooLong        past the limits in settings
    ├── NoTimeStamps       the pictures carry no usable times
    ├── NobodySeen         no dancer is ever wholly in the picture
    ├── ModelMissing       the pose model is not there and cannot be fetched
    ├── SheetError         the dance sheet cannot be read; carries the row
    ├── BadInput           an option or value that cannot be used
    └── BadStore           a review folder cannot be read or written

A part that could not be measured is not an error: see NotMeasured in sealed.py.
"""

from __future__ import annotations


class MotionError(Exception):
    """What happened, where, and what to do about it, in a teacher's words.

    Parameters: what, one sentence without a full stop; remedy, one sentence on what to do, or "".
    `str(error)` gives "What. Remedy."
    """

    def __init__(self, what: str, remedy: str = "") -> None:
        self.what = what.rstrip(".")
        self.remedy = remedy.rstrip(".")
        super().__init__(what, remedy)

    def __str__(self) -> str:
        return ". ".join(part for part in (self.what, self.remedy) if part) + "."


class ClipMissing(MotionError):
    """There is no such file, or it is a folder."""


class ClipUnreadable(MotionError):
    """The file is not a video that can be read."""


class ClipTooShort(MotionError):
    """Too little time to judge anything."""


class ClipTooLong(MotionError):
    """Longer, larger or with more pictures than the limits in settings."""


class NoTimeStamps(MotionError):
    """The pictures carry no usable times."""


class NobodySeen(MotionError):
    """No dancer is ever wholly in the picture."""


class ModelMissing(MotionError):
    """The pose model is not there and cannot be fetched."""


class SheetError(MotionError):
    """The dance sheet cannot be read."""


class BadInput(MotionError):
    """An option or a value that cannot be used."""


class BadStore(MotionError):
    """A review folder that cannot be read or written."""
