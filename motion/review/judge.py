"""The fast part of a review: everything that is said of a clip, from what was watched. Sees no pictures; data in, data out."""

from __future__ import annotations

from dataclasses import asdict, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

from motion.base.errors import BadInput, ClipMissing
from motion.base.options import JudgeOptions
from motion.base.types import (  # fmt: skip
    Angles,
    BeatGrid,
    Candidates,
    Clip,
    DanceSheet,
    Interval,
    Measurement,
    NotMeasured,
    Review,
    Track,
)
from motion.body.contact_network import Weights as Weights
from motion.body.contact_network import load_weights
from motion.body.dancers import bodies_of
from motion.body.flexion_by_count import bends_of_dance, smaller_walls
from motion.body.joints import Flexed, joints_of
from motion.body.shots import shots_of
from motion.body.tracks import tracks_of
from motion.clip.sound import read_song
from motion.dance.check import require_danceable
from motion.dance.easier import mirrored
from motion.dance.sheet import read_sheet
from motion.music.counts import changed, first_count_candidates, steady_grid
from motion.music.onset_strength import OnsetCurve, onset_curve
from motion.music.pitch import tones_of
from motion.music.song_alignment import Heard
from motion.music.taps import read_beats
from motion.review.settings import SETTINGS, Settings
from motion.review.watch import Watched
from motion.timing.beat_source import Song, Synced, beat_notes, heard_beats, on_picture_clock, synced
from motion.timing.class_summary import class_of
from motion.timing.consistency import wall_by_wall
from motion.timing.dancers import easier_of, matches_of, pieces_of, stretches_of, verdict_of
from motion.timing.grid import Counted, with_dance, without_dance
from motion.timing.habits import habits_with_beats, habits_with_dance
from motion.timing.phrase import phrase_fit, wall_firsts
from motion.timing.questions import mirror_question, settled
from motion.timing.sheet_agreement import against_sheet
from motion.timing.verdict import Verdict


def read_dance(path: Path | None) -> DanceSheet | None:
    """The dance sheet, if one is given and it can be danced; SheetError tells what stands against it."""
    if path is None:
        return None
    sheet = read_sheet(path)
    require_danceable(sheet)
    return sheet


def check_asked(options: JudgeOptions) -> None:
    """Raise what is wrong with the sheet, the given beats or the song now, before any slow work: SheetError, BadInput, ClipMissing."""
    read_dance(options.dance)
    if options.beats is not None:
        read_beats(_beats_text(options.beats))
    if options.song is not None:
        _song_beats(options.song, None)
        read_song(options.song, settings=SETTINGS.clip)
    if options.bpm is not None and options.first_count_s is None:
        raise BadInput("A tempo alone does not say where count 1 is", "Give --first-count in seconds beside --bpm")


def judge(
    watched: Watched,
    options: JudgeOptions,
    *,
    labels: tuple[str | None, ...] | None = None,
    own_version: tuple[int, ...] = (),
    earlier_sheet: DanceSheet | None = None,
    earlier_beats: BeatGrid | None = None,
    expires: str | None = None,
    stored_standing: tuple[str | None, dict[str, Any]] | None = None,
    settings: Settings = SETTINGS,
    weights: Weights | None = None,
) -> Review:
    """Everything that is said of a clip, from what was watched; no video, so a changed sheet or first count answers at once.

    labels: what a person calls the dancers. own_version: who was marked by hand, beside those of the options.
    earlier_sheet, earlier_beats: what a stored review was judged with, used where the
    options name no other. stored_standing: label and quiet standing (as a review keeps it) of the dancer of an earlier range check,
    who is meant when this clip shows one dancer, or several of whom one bears that label. weights: of the contact network, in place of
    those that come with the program.
    """
    check_asked(options)
    sheet = read_dance(options.dance) or earlier_sheet
    danced_sheet = mirrored(sheet) if sheet is not None and options.mirror == "yes" else sheet
    clip, size = watched.clip, (watched.clip.width_px, watched.clip.height_px)
    pieces = shots_of(clip.cuts_s, clip.duration_s)
    cut = pieces if len(pieces) > 1 else ()
    bodies = _bodies(watched.landmarks, size, weights or load_weights(), settings.body, settings.angles, watched.camera, cut)
    marks, found = bodies.marks, bodies.found
    heard = _synced(watched.curve, watched.tones, marks, options.distance_m, settings)
    beats = _within(_beats(watched, heard, options, sheet, earlier_beats, settings), clip)
    counted = _counted(heard, options, danced_sheet, beats, [f for f in found if isinstance(f, Candidates)], settings)
    easier = easier_of(danced_sheet, counted, options.starting_wall)
    matches = matches_of(found, counted, settings.timing)
    stretches = stretches_of(found, pieces, counted, matches, settings.timing)
    danced_s = tuple(stretches.values()) or ((0.0, clip.duration_s),)
    dance_s = danced_s[0][0], danced_s[-1][1]
    dancers, danced = [], []
    for p, track in enumerate(tracks_of(marks, labels)):
        own = track.id in (*options.own_version, *own_version)
        own_s = [stretches[piece] for piece in pieces_of(f, pieces)] if isinstance(f := found[p], Candidates) else [dance_s]
        one_s = own_s[0][0], own_s[-1][1]
        said = verdict_of(f, counted, one_s, easier, clip.times_s, own_version=own, settings=settings.timing, matched=matches[p])
        meant = stored_standing is not None and (len(found) == 1 or track.label == stored_standing[0])
        standing = stored_standing[1] if stored_standing is not None and meant else None
        one = _measured(track, bodies.joints[p], said, standing, options, settings)
        phrased = tuple(asdict(phrase) for phrase in said.phrased)
        one = replace(one, phrased=phrased, easier=said.easier, own_version=own)
        dancers.append(replace(one, **_habits(said, counted, danced_sheet, settings)))
        if said.danced is not None and isinstance(said.flags, tuple):
            danced.append((track.id, said.danced, said.flags))
    made_by = watched.made_by | {"settings": settings.as_dict(), "judged": _plain(options)}
    kept, questions = settled(danced, settings.timing)
    asked, kept = mirror_question(danced, kept, settings.timing) if options.mirror == "ask" else (None, kept)
    dancers = [replace(one, flags=kept.get(one.track.id, one.flags)) for one in dancers]
    danced = [(number, one, kept[number]) for number, one, _ in danced]
    notes = (*watched.made_by.get("clip_notes", ()), *beat_notes(counted.beats, settings, heard.unsure))
    notes = (*notes, *([asked] if asked else [q.words for q in questions]))
    return Review(
        clip, danced_s, watched.landmarks, counted.beats, sheet, tuple(dancers), made_by, notes, expires, options.starting_wall,
        class_of(danced, settings.timing), _phrase(counted, heard, sheet, dance_s, settings),
    )  # fmt: skip


#: The slow half of judging depends on neither the dance nor its first count: the outcome for the last clip is kept in memory, so that a
#: clip judged anew with the very same landmarks and sound is not read and heard anew.
_bodies = lru_cache(maxsize=1)(bodies_of)
_synced = lru_cache(maxsize=1)(synced)
_heard = lru_cache(maxsize=1)(heard_beats)


def let_go() -> None:
    """Drop the outcome for the last clip from memory."""
    for one in (_bodies, _synced, _heard):
        one.cache_clear()


def _habits(said: Verdict, counted: Counted, sheet: DanceSheet | None, settings: Settings) -> dict[str, Any]:
    """What is told of one dancer's habits and of the clip against the sheet, as parts of a Measurement."""
    if said.danced is None:
        grid = counted.grid
        beats = None if grid is None else habits_with_beats(said.steps, said.pairing, said.timing, grid, settings.timing)
        return {"habits": beats}
    written = against_sheet(said.danced, said.flags, sheet, settings.timing) if sheet and isinstance(said.flags, tuple) else None
    return {"habits": habits_with_dance(said.danced, said.flags, said.timing, settings.timing), "written": written}


def _phrase(
    counted: Counted, heard: Synced, sheet: DanceSheet | None, dance_s: Interval, settings: Settings
) -> dict[str, Any] | NotMeasured | None:
    if sheet is None or counted.grid is None or counted.untimed is not None or not counted.due:
        return None
    curve = heard.curve if isinstance(heard.curve, OnsetCurve) else None
    entry = first_count_candidates(counted.grid, curve, settings=settings.music) if curve is not None else []
    walls = wall_firsts(counted.due, counted.grid, dance_s[1])
    return phrase_fit(counted.grid, curve, entry, walls, settings.music, settings.timing)


def _plain(options: JudgeOptions) -> dict[str, Any]:
    return {k: v.name if isinstance(v, Path) else v for k, v in asdict(options).items()}


def _counted(
    heard: Synced, options: JudgeOptions, sheet: DanceSheet | None, beats: BeatGrid | NotMeasured, found: list[Candidates],
    settings: Settings,
) -> Counted:  # fmt: skip
    usable = heard.curve if isinstance(heard.curve, OnsetCurve) else None
    intro: list[tuple[float, float]] = []
    if isinstance(beats, BeatGrid) and beats.source == "sound":
        intro = first_count_candidates(beats, usable, settings=settings.music)
    if sheet is None or not found:
        return without_dance(beats, intro, options.first_count_s, options.count_speed)
    return with_dance(
        beats, intro, found, sheet, settings.timing,
        first_count_s=options.first_count_s, speed=options.count_speed, starting_wall=options.starting_wall,
    )  # fmt: skip


def _beats(
    watched: Watched, clip: Synced, options: JudgeOptions, sheet: DanceSheet | None, earlier: BeatGrid | None, settings: Settings
) -> BeatGrid | NotMeasured:
    metre, hint = (sheet.beats_per_bar, sheet.bpm) if sheet else (None, None)
    if options.beats is not None:
        grid = read_beats(_beats_text(options.beats), beats_per_bar=metre or 4)
        return on_picture_clock(grid, clip.offset) if grid.source == "taps" else grid
    if options.bpm is not None and options.first_count_s is not None:
        return steady_grid(options.bpm, options.first_count_s, 0.0, watched.clip.duration_s, metre or 4)
    if options.song is not None:
        return heard_beats(clip, metre, hint, _song(options.song, metre, settings), settings)
    if earlier is not None:
        return earlier if earlier.source == "given" else on_picture_clock(earlier, clip.offset)
    return _heard(clip, metre, hint, None, settings)


def _song(path: Path, metre: int | None, settings: Settings) -> Song:
    """The person's own song, heard, with the beats file beside it. Raises as `read_song`, BadInput when the song is silent."""
    sound = read_song(path, settings=settings.clip)
    curve = onset_curve(sound, settings=settings.music)
    if isinstance(curve, NotMeasured):
        raise BadInput(f"The song '{path.name}' cannot be used: {curve.why}", "Give another file")
    return Song(path.name, Heard(curve, tones_of(sound)), _song_beats(path, metre))


def _song_beats(path: Path, metre: int | None) -> BeatGrid | None:
    """The beats of NAME.beats.csv beside a song NAME.ext, None if there is no such file. Raises ClipMissing without the song."""
    if not path.is_file():
        raise ClipMissing(f"There is no song file '{path}'", "Check its name and folder")
    beside = path.with_name(f"{path.stem}.beats.csv")
    return read_beats(_beats_text(beside), beats_per_bar=metre or 4) if beside.is_file() else None


def _within(beats: BeatGrid | NotMeasured, clip: Clip) -> BeatGrid | NotMeasured:
    """Beats heard after the last picture left out: nobody can be seen dancing to them."""
    if isinstance(beats, NotMeasured) or beats.source == "given":
        return beats
    kept = beats.times_s <= clip.times_s[-1]
    return changed(beats, times_s=beats.times_s[kept], counts=beats.counts[kept]) if kept.sum() >= 2 else beats


def _beats_text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise BadInput(
            f"The beats file '{path}' cannot be read ({error.strerror})", "Check its name and that you may open it"
        ) from error
    except UnicodeDecodeError as error:
        raise BadInput(f"The beats file '{path}' is not plain text in UTF-8", "Save it as CSV, UTF-8") from error


def _measured(
    track: Track, own: Flexed | NotMeasured, said: Verdict, standing: dict[str, Any] | None, options: JudgeOptions, settings: Settings
) -> Measurement:  # fmt: skip
    check, facts = options.range_check, options.body_facts
    body = joints_of(own, said.steps, standing, check=check, facts=facts, settings=settings.angles)
    walls = None if said.danced is None else tuple(wall_by_wall(said.danced, body.angles, settings.timing))
    bends = None
    if isinstance(body.angles, Angles) and (d := said.danced) is not None:
        bends = bends_of_dance(body.angles, d.due, d.at_s, float(np.median(d.gap_s)), settings=settings.angles)
    smaller = None if bends is None else tuple(smaller_walls(bends, settings=settings.angles))
    return Measurement(
        track, said.steps, said.pairing, said.timing, said.flags, body.angles, body.ranges, body.range_check, walls, bends, smaller,
        body.facts, body.standing,
    )  # fmt: skip
