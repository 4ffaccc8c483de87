"""All thresholds of the tool together: every package has its own frozen group, and every review says which settings made it (`as_dict`)."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any

from motion.base.settings import DeskSettings, FilmingSettings, HandoutSettings, LibrarySettings, PageSettings, ReleaseSettings
from motion.body.settings import AngleSettings, BodySettings, RangeCheckSettings
from motion.clip.settings import CameraSettings, ClipSettings
from motion.dance.settings import DanceSettings, DraftSettings
from motion.lesson.settings import LessonSettings
from motion.music.settings import MusicSettings, PracticeSettings
from motion.timing.settings import TimingSettings


@dataclass(frozen=True)
class Settings:
    """All groups together."""

    clip: ClipSettings = field(default_factory=ClipSettings)
    camera: CameraSettings = field(default_factory=CameraSettings)
    music: MusicSettings = field(default_factory=MusicSettings)
    body: BodySettings = field(default_factory=BodySettings)
    angles: AngleSettings = field(default_factory=AngleSettings)
    range_check: RangeCheckSettings = field(default_factory=RangeCheckSettings)
    timing: TimingSettings = field(default_factory=TimingSettings)
    dance: DanceSettings = field(default_factory=DanceSettings)
    draft: DraftSettings = field(default_factory=DraftSettings)
    desk: DeskSettings = field(default_factory=DeskSettings)
    page: PageSettings = field(default_factory=PageSettings)
    practice: PracticeSettings = field(default_factory=PracticeSettings)
    library: LibrarySettings = field(default_factory=LibrarySettings)
    lesson: LessonSettings = field(default_factory=LessonSettings)
    handout: HandoutSettings = field(default_factory=HandoutSettings)
    release: ReleaseSettings = field(default_factory=ReleaseSettings)
    filming: FilmingSettings = field(default_factory=FilmingSettings)

    def as_dict(self) -> dict[str, Any]:
        """Plain nested dictionary, for the review's `made_by`."""
        return asdict(self)


SETTINGS = Settings()
