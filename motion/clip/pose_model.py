"""The pose model: fetched and built once, checked, kept in the person's cache folder. The only file that ever causes network use.

`fine` is the makers' heavy network, `fast` their full one; both with the same detector, in one bundle each.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from motion.base.errors import BadInput, ModelMissing
from motion.clip import model_bundle, model_fetch
from motion.clip.settings import CLIP, ClipSettings

Quality = Literal["fine", "fast"]
#: Called with plain words and the share done, 0..1 or None where that is not known.
Progress = Callable[[str, float | None], None]

#: A bundle that the person has, or a folder of them.
MODEL_VARIABLE = "COUNTFALL_MODEL"
#: Another cache folder.
CACHE_VARIABLE = "COUNTFALL_CACHE"


@dataclass(frozen=True)
class PoseModel:
    """A whole bundle at `path`. quality is what it really is (of a given file: what was asked); made_from names the package it was
    built from; fell_back: why it is not what was asked for, one plain sentence, or None."""

    path: Path
    sha256: str
    quality: Quality
    made_from: str
    fell_back: str | None = None


def silent(words: str, share: float | None) -> None:
    """Progress that nobody watches."""


def landmark_network(bundle_path: Path) -> bytes:
    """The landmark network (.tflite bytes, runs bare in ai-edge-litert) of a bundle."""
    return model_bundle.member(bundle_path, model_bundle.LANDMARKS)


def detector_network(bundle_path: Path) -> bytes:
    """The detector network (.tflite bytes) of a bundle."""
    return model_bundle.member(bundle_path, model_bundle.DETECTOR)


def cached_model(quality: Quality, *, cache: Path | None = None) -> PoseModel | None:
    """The model if it is already here and whole; touches no network."""
    path = _cache_folder(cache) / _file_name(quality)
    if not path.is_file() or model_bundle.fault_of(path) is not None:
        return None
    return _as_model(path, quality)


def get_model(
    quality: Quality,
    *,
    model_file: Path | None = None,
    cache: Path | None = None,
    progress: Progress = silent,
    settings: ClipSettings = CLIP,
) -> PoseModel:
    """The pose model: the given file or folder, else COUNTFALL_MODEL, else the cache, else fetched and built into the cache.

    If `fine` cannot be had, `fast` is returned and `fell_back` says why. Raises BadInput if a given file is no pose model,
    ModelMissing if there is none and none can be fetched.
    """
    given = model_file or (Path(os.environ[MODEL_VARIABLE]) if os.environ.get(MODEL_VARIABLE) else None)
    return _given(given, quality) if given is not None else _from_cache(quality, cache, progress, settings)


def prepare(
    to: Path | None = None, *, cache: Path | None = None, progress: Progress = silent, settings: ClipSettings = CLIP
) -> list[PoseModel]:
    """Fetch and check both models ahead of the lesson; with `to`, also write them there, for a machine without network.

    That folder serves as --model, COUNTFALL_MODEL or COUNTFALL_CACHE. Each model once; the first one's `fell_back` says if `fine`
    could not be had. Raises ModelMissing, or BadInput if the folder cannot be written.
    """
    fine = _from_cache("fine", cache, progress, settings)
    models = [fine] if fine.fell_back else [fine, _from_cache("fast", cache, progress, settings)]
    if to is None:
        return models
    copies = []
    for model in models:
        target = to / _file_name(model.quality)
        try:
            to.mkdir(parents=True, exist_ok=True)
            _write_whole(target, model.path.read_bytes())
        except OSError as error:
            raise BadInput(
                f"The folder '{to}' cannot be written ({error.strerror})", "Name a folder of your own with 80 MB free"
            ) from error
        copies.append(PoseModel(target, model.sha256, model.quality, model.made_from, model.fell_back))
    return copies


def _from_cache(quality: Quality, cache: Path | None, progress: Progress, settings: ClipSettings) -> PoseModel:
    """The cached model; fetched and built first if it is not there or not whole. Raises ModelMissing."""
    there = cached_model(quality, cache=cache)
    if there is not None:
        return there
    folder = _cache_folder(cache)
    with _alone(folder, progress):
        there = cached_model(quality, cache=cache)  # another start may have built it meanwhile
        if there is not None:
            return there
        reasons: list[str] = []
        if quality == "fine":
            if (built := _built("fine", folder, progress, settings, reasons)) is not None:
                return built
            there = cached_model("fast", cache=cache)
        there = there or _built("fast", folder, progress, settings, reasons)
    if there is None:
        raise ModelMissing(
            f"The pose model is not on this computer and could not be fetched: {'; '.join(dict.fromkeys(reasons))}",
            "Run 'countfall prepare' once with a network (and npm), or give a model file with --model",
        )
    if quality == "fine":
        why = (
            f"The fine pose model could not be fetched ({reasons[0]}), so the fast one is used: seen from the side it is less sure"
        )
        return PoseModel(there.path, there.sha256, "fast", there.made_from, why + ".")
    return there


def _built(quality: Quality, folder: Path, progress: Progress, settings: ClipSettings, reasons: list[str]) -> PoseModel | None:
    """Fetch, check and build one model into the folder; None, and why in `reasons`, if neither package can be had."""
    network: model_fetch.Part = "heavy" if quality == "fine" else "full"
    ways = [(model_fetch.NPM_PACKAGE, model_fetch.from_npm)]
    if quality == "fast":
        ways.insert(0, (model_fetch.PIP_PACKAGE, model_fetch.from_wheel))
    for package, bring in ways:
        progress(f"Fetching the {quality} pose model (about 40 MB, only this once)", None)
        try:
            parts = bring(("detector", network), timeout_s=settings.fetch_s)
        except model_fetch.NotFetched as error:
            reasons.append(str(error))
            continue
        progress(f"Building the {quality} pose model", 0.9)
        path = folder / _file_name(quality)
        try:
            _write_whole(path, model_bundle.packed(parts["detector"], parts[network], package))
        except OSError as error:
            raise ModelMissing(
                f"The pose model cannot be stored in '{folder}' ({error.strerror})",
                f"Free 80 MB there, or name a folder in {CACHE_VARIABLE}",
            ) from error
        progress(f"The {quality} pose model is ready", 1.0)
        return _as_model(path, quality)
    return None


def _given(given: Path, quality: Quality) -> PoseModel:
    """The person's own bundle, or the one for this quality out of a folder. Raises BadInput."""
    remedy = "Give a bundle (.task) or a folder that 'countfall prepare --to FOLDER' wrote"
    why = None
    if given.is_dir():
        folder, given = given, given / _file_name(quality)
        if not given.is_file() and quality == "fine":
            quality, given = "fast", folder / _file_name("fast")
            why = f"The folder '{folder}' holds no fine pose model, so the fast one is used: seen from the side it is less sure."
        if not given.is_file():
            raise BadInput(f"The folder '{folder}' holds no {quality} pose model", remedy)
    if not given.is_file():
        raise BadInput(f"There is no pose model file '{given}'", remedy)
    fault = model_bundle.fault_of(given)
    if fault is not None:
        raise BadInput(f"The file '{given}' cannot be used as a pose model: {fault}", remedy)
    model = _as_model(given, quality)
    return PoseModel(model.path, model.sha256, quality, model.made_from, why)


def _as_model(path: Path, quality: Quality) -> PoseModel:
    with path.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    return PoseModel(path, digest, quality, model_bundle.made_from(path) or f"the given file {path.name}")


def _file_name(quality: Quality) -> str:
    return f"countfall-pose-{quality}.task"


def _cache_folder(cache: Path | None) -> Path:
    if cache is not None:
        return cache
    if os.environ.get(CACHE_VARIABLE):
        return Path(os.environ[CACHE_VARIABLE])
    from platformdirs import user_cache_dir

    return Path(user_cache_dir("countfall", appauthor=False))


def _write_whole(path: Path, data: bytes) -> None:
    """The file whole or not at all, also when two write at once."""
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=path.name, suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(0o644)
        os.replace(name, path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


@contextlib.contextmanager
def _alone(folder: Path, progress: Progress) -> Iterator[None]:
    """One process at a time, so that two starts do not fetch twice. The system drops the lock with its process, even a crashed one.

    Where the system has no such lock nothing is lost: files are replaced whole, and the work is done twice.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        file = (folder / "countfall-pose.lock").open("a")
    except OSError as error:
        raise ModelMissing(
            f"The pose model cannot be stored in '{folder}' ({error.strerror})", f"Name a folder of your own in {CACHE_VARIABLE}"
        ) from error
    with file:
        with contextlib.suppress(ImportError):
            import fcntl

            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError:
                progress("Another start is fetching the pose model; waiting for it", None)
                fcntl.flock(file, fcntl.LOCK_EX)
        yield
