"""The slow part of a review: open a clip, hear its sound, find and follow its dancers. Sees pictures."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from motion import __version__
from motion.base.camera import CameraPath
from motion.base.errors import BadStore, NobodySeen
from motion.base.options import WatchOptions
from motion.base.progress import Progress, quiet
from motion.base.types import (  # fmt: skip
    Clip,
    Floats,
    Landmarks,
    NotMeasured,
)
from motion.body.bystanders import only_those, who_dances
from motion.body.contact_network import load_weights
from motion.body.pose import LandmarkNetwork, PersonFinder
from motion.body.shots import join_shots, known_again, seen_again
from motion.clip.pose_model import PoseModel, get_model, landmark_network
from motion.clip.shot_boundaries import with_cuts
from motion.clip.sound import read_sound
from motion.clip.video import open_clip, pictures
from motion.music.onset_strength import OnsetCurve, onset_curve
from motion.music.pitch import Tones, tones_of
from motion.review.camera import camera_arrays, camera_notes, joined_cameras, stored_camera
from motion.review.checkpoint import Checkpoint
from motion.review.forecast import seconds_needed, seconds_words
from motion.review.settings import SETTINGS, Settings
from motion.review.shot import Shot

_CURVE = "onset_"  # prefix of the onset curve's arrays in a stored review
_TONES = "tones_"  # and of the tones'
BYSTANDERS = "bystanders_px"  # the name of the left out people's faces there


@dataclass(frozen=True, eq=False)
class Watched:
    """What the slow part leaves: landmarks as the model gave them, the onset curve or why there is none, how they were made, and the
    tones of the sound (None without sound, and in reviews stored before tones were kept). bystanders_px (F, M, 11, 2): faces of people
    who were left out, at the landmarks' pictures. camera: how it moved at those pictures, None where it stood still and in reviews stored
    before that was looked at."""

    clip: Clip
    landmarks: Landmarks
    curve: OnsetCurve | NotMeasured
    made_by: dict[str, Any]
    tones: Tones | None = None
    bystanders_px: Floats | None = None
    camera: CameraPath | None = None

    def arrays(self) -> dict[str, NDArray[Any]]:
        """Onset curve, tones, bystanders and the camera's movement as plain arrays, to be stored beside the landmarks."""
        kept: dict[str, NDArray[Any]] = {} if self.bystanders_px is None else {BYSTANDERS: self.bystanders_px}
        kept |= camera_arrays(self.camera)
        if not isinstance(self.curve, OnsetCurve):
            return kept
        kept |= {_CURVE + name: np.asarray(getattr(self.curve, name)) for name in self.curve.__dataclass_fields__}
        if self.tones is not None:
            kept |= {_TONES + "levels": self.tones.levels, _TONES + "start_s": np.asarray(self.tones.start_s)}
        return kept


def stored_watch(clip: Clip, landmarks: Landmarks, arrays: Mapping[str, NDArray[Any]], made_by: dict[str, Any]) -> Watched:
    """What was watched earlier, from the parts of a stored review."""
    parts: dict[str, Any] = {name: arrays[_CURVE + name] for name in OnsetCurve.__dataclass_fields__ if _CURVE + name in arrays}
    curve: OnsetCurve | NotMeasured
    if parts:
        try:
            if not all(np.isfinite(v).all() for v in parts.values()):
                raise ValueError("what was heard is stored as numbers throughout")
            curve = OnsetCurve(**{n: v.item() if v.ndim == 0 else v for n, v in parts.items()})
        except (TypeError, ValueError) as error:
            what = "What was heard in the clip is not whole in landmarks.npz: it is damaged, or an older version of the program wrote it"
            raise BadStore(what, "Review the clip again") from error
    else:
        curve = NotMeasured("the beat", "no beat could be heard in the sound" if clip.has_sound else "the clip has no sound")
    tones = None
    if _TONES + "levels" in arrays:
        tones = Tones(arrays[_TONES + "levels"], float(arrays[_TONES + "start_s"]))
    return Watched(clip, landmarks, curve, made_by, tones, arrays.get(BYSTANDERS), stored_camera(landmarks.times_s, arrays))


def watch(path: Path, options: WatchOptions, *, progress: Progress = quiet, settings: Settings = SETTINGS) -> Watched:
    """Open a clip, hear its sound, find and follow its dancers. Slow: tens of milliseconds a picture and dancer.

    Raises the errors of the clip package, ModelMissing, and NobodySeen when no dancer is ever wholly in the picture.
    """
    clip = open_clip(path, settings=settings.clip)
    model = get_model(options.quality, model_file=options.model, progress=progress, settings=settings.clip)
    progress(f"This takes {seconds_words(seconds_needed(clip, options))} on an ordinary computer", None)
    progress("Listening to the sound", None)
    sound = read_sound(path, clip, settings=settings.clip)
    curve = onset_curve(sound, settings=settings.music) if not isinstance(sound, NotMeasured) else sound
    tones = None if isinstance(sound, NotMeasured) else tones_of(sound)
    clip, landmarks, bystanders_px, camera = _followed(path, clip, model, options, progress, settings)
    made_by = {
        "countfall": __version__,
        "model": {"quality": model.quality, "made_from": model.made_from, "sha256": model.sha256},
        "asked": {"quality": options.quality, "dancers": options.dancers, "from_s": options.from_s, "to_s": options.to_s},
        "settings": settings.as_dict(),
        "clip_notes": [
            *_clip_notes(clip, model, bystanders_px.shape[1], landmarks), *camera_notes(camera, clip, settings.camera)
        ],
    }  # fmt: skip
    return Watched(clip, landmarks, curve, made_by, tones, bystanders_px, camera)


def _followed(
    path: Path, clip: Clip, model: PoseModel, options: WatchOptions, progress: Progress, settings: Settings
) -> tuple[Clip, Landmarks, Floats, CameraPath | None]:
    threads = min(settings.body.most_threads, os.cpu_count() or 1)
    network = LandmarkNetwork(landmark_network(model.path), threads)
    finder = PersonFinder(str(model.path), settings.body.persons_a_tile)
    shot, earlier, cuts_s = Shot(finder.persons, network.look, settings), list[Shot](), list[float]()
    begin, end = options.from_s or 0.0, clip.duration_s if options.to_s is None else min(options.to_s, clip.duration_s)
    notes = Checkpoint(clip.sha256, model.sha256, options.from_s, options.to_s, settings.body)
    from_s = _resumed(notes, shot, options.from_s, progress)
    try:
        with pictures(path, clip, settings=settings.clip, from_s=from_s, to_s=options.to_s) as shown:
            for n, (picture, cut) in enumerate(with_cuts(shown, settings.clip), 1):
                if cut:
                    cuts_s.append(picture.time_s)
                    earlier.append(shot)
                    shot = Shot(finder.persons, network.look, settings)
                shot.feed(picture.time_s, picture.rgb)
                if n % settings.body.keep_every == 0 and not earlier:  # broken off later, it goes on from before the first cut
                    notes.save(shot.packed())
                progress("Following the dancers", min(1.0, (picture.time_s - begin) / max(end - begin, 1e-6)))
            seen = shown.as_seen()
    finally:
        finder.close()
    notes.forget()
    size_px = (clip.width_px, clip.height_px)
    pieces = [one.finish(size_px) for one in (*earlier, shot)]
    seen = replace(seen, cuts_s=np.array(cuts_s))
    # pieces without people, such as title cards, are left out
    followed = [(marks, camera, clothes) for marks, camera, clothes in pieces if isinstance(marks, Landmarks)]
    if not followed:
        why = next(marks.why for marks, _, _ in pieces if isinstance(marks, NotMeasured))
        raise NobodySeen(
            f"No dancer is ever wholly in the picture of '{path.name}': {why}",
            "Film from further away, so that head and feet stay in the picture",
        )
    only, worn = [], []
    for marks, camera, clothes in followed:
        kept = who_dances(marks, size_px, load_weights(), settings.body, options.dancers, camera)
        only.append(only_those(marks, kept))
        worn.append(clothes[kept])
    known = known_again([marks for marks, _ in only], worn, settings.body, settings.angles)
    return seen, *join_shots(only, known), joined_cameras([(marks.times_s, camera) for marks, camera, _ in followed])


def _resumed(notes: Checkpoint, shot: Shot, from_s: float | None, progress: Progress) -> float | None:
    """Where to go on: from the last picture that an earlier, broken-off review of the same clip has looked at."""
    earlier = notes.load()
    if earlier is None:
        return from_s
    progress("Going on where an earlier review of this clip was broken off", None)
    return shot.resume(earlier)


def _clip_notes(clip: Clip, model: PoseModel, left_out: int, landmarks: Landmarks | None = None) -> tuple[str, ...]:
    notes = []
    if model.fell_back:
        notes.append(model.fell_back)
    if clip.cut_short:
        notes.append(f"The clip breaks off after {clip.duration_s:.1f} seconds; it was reviewed as far as it goes.")
    if clip.damaged_pictures:
        some = "1 picture of the clip was" if clip.damaged_pictures == 1 else f"{clip.damaged_pictures} pictures of the clip were"
        notes.append(f"{some} damaged and left out.")
    if len(clip.cuts_s):
        cuts = "1 cut" if len(clip.cuts_s) == 1 else f"{len(clip.cuts_s)} cuts"
        again = 0 if landmarks is None else seen_again(landmarks, clip.cuts_s)
        who = "1 dancer keeps the" if again == 1 else f"{again} dancers keep their"
        number = "number" if again == 1 else "numbers"
        notes.append(
            f"The film has {cuts}: its pieces are reviewed apart, and dancers are numbered anew after each."
            if again == 0
            else f"The film has {cuts}: {who} {number} across them, told by clothes and place; others are numbered anew after each cut."
        )
    if left_out:
        people = (
            "1 person who stood by or passed through was"
            if left_out == 1
            else f"{left_out} people who stood by or passed through were"
        )
        notes.append(f"{people} left out.")
    return tuple(notes)
