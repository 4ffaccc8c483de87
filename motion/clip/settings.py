"""Thresholds of the clip package, each with its unit and its reason: limits at the door."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ClipSettings:
    """Limits at the door."""

    endings: tuple[str, ...] = (".mp4", ".mov", ".m4v", ".mkv", ".webm", ".avi")  # what a batch takes for clips in a folder
    longest_s: float = 1200.0  # 20 min: a lesson's practice, not a feature film; past it the review would take hours
    shortest_s: float = 3.0  # below it not even two counts of eight at a slow tempo fit
    largest_bytes: int = 2_000_000_000  # a phone's longest single file
    most_pictures: int = 72_000  # 20 min at 60 pictures a second
    largest_side_px: int = 8192  # no phone films larger; a header that claims more would ask for gigabytes
    hang_s: float = 60.0  # a decoder silent for so long is stuck; a slow card reads a whole second of film in far less
    memory_mb: int = 4096  # address space of the decoder; the largest pictures of phones (8K, 16 kept back) need about 1 GB
    cut_change: float = 0.4  # 0..1, one minus correlation: lamps and flashes reach 0.25, a jump that fills 40 % of the width 0.12,
    # another angle of the same hall 0.65 and another place 0.75
    cut_fields: float = (
        0.35  # share of fields that may stay alike across a cut: a body that fills the picture moves in most of the rest
    )
    cut_times: float = 2.0  # as much as pictures lately change from one to the next: a moving camera makes no cuts
    cut_texture: float = 2.0  # levels of 255, spread in a field: below it a bare wall shows nothing but the film's own noise
    cut_blank_levels: tuple[float, float] = (
        8.0,
        247.0,
    )  # mean of 255: clips of dim and bright rooms have 65 to 160
    cut_shift: float = 0.25  # of the picture's side: a knock or a swing moves it by less from one picture to the next
    cut_memory: int = 30  # pictures that "lately" are: one second
    cut_held: int = 4  # pictures by which a cut must outlast a flash
    cut_short_s: float = 0.5  # a file that ends so much before it says it would was cut off; headers round to less
    uneven_ms: float = 2.0  # files that round times to milliseconds or to 1/600 s jitter by less
    uneven_share: float = 0.02  # share of intervals off the usual one from which picture times count as uneven
    sound_rate_hz: int = 44_100  # what the music package expects; most phones record 44.1 or 48 kHz
    sound_gap_s: float = 0.010  # jitter of phones' sound time stamps is less; a jump past it is a real gap (or overlap)
    fetch_s: float = 900.0  # 40 MB over a slow line (0.4 Mbit/s) take a quarter of an hour


@dataclass(frozen=True)
class CameraSettings:
    """How the camera moves: what is looked at, and when it can be told. Small px are those of the small grey picture."""

    look_px: int = 480  # longer side of the small picture: flow is good to a tenth of its pixels, a third of a pixel of full HD
    most_points: int = 200  # corners a key picture: 300 tell no better, and cost half as much again
    corner_quality: float = (
        0.002  # of the strongest corner's, 0.045 of its contrast: bare halls have a few strong corners and many faint ones
    )
    corner_levels: float = 3.0  # of 255, spread around a corner: what is fainter, strong compression freezes or smears
    corner_both_ways: float = 0.1  # change across the weaker of two directions over the stronger: along a floor board flow slides
    corner_apart_px: float = 8.0  # small px: spread over the hall, not all on one poster
    flow_least: float = 1e-4  # OpenCV's measure of what flow can hold on to, levels: film noise, once blurred, lies below
    window_px: int = 15  # small px, side of the window that is followed: smaller ones slip along edges
    levels: int = 3  # of the pyramid: a knock of 60 small px is still followed
    fit_px: float = 0.75  # small px: what lies nearer to the common movement takes part in it
    sound_share: float = 0.9  # of the corners that fit: with fewer, each is followed back as well
    back_px: float = 1.0  # small px, by which a corner may miss where it came from
    least_points: int = 15  # still corners from which on a picture is told: a dozen may lie on one curtain
    least_hints: int = 4  # fewer do not even hint at a movement
    stray_px: float = 3.0  # small px from one picture to the next: what strays by more is no corner, or walks
    plain_share: float = 0.7  # of the corners followed that move alike: nothing else is asked
    least_share: float = 0.5  # of the corners followed: with fewer, something else may be what moves
    least_share_as_before: float = 0.3  # the same for what held in the picture before: a crowd crosses in front
    least_share_still: float = 0.2  # the same for no movement at all since the key: a phone that moves leaves nothing where it was
    least_share_hint: float = 0.15  # the same where too few were followed to tell more than a hint
    most_unsure_px: float = 1.0  # small px, standard error at the farthest corner: past it corners lie too close together
    alike_points: float = 4.0  # corners close together err alike: so many tell as much as one
    key_share: float = 0.45  # of a key's corners still fitted: with fewer a new key is taken
    key_again_share: float = 0.6  # of an older key's corners from which on it is taken up again
    key_shift: float = 0.2  # of the picture's width: past it too little of the key is in sight
    key_zoom: float = 1.06  # nearer or further by more, flow reads a few corners wrong: 1.15 doubled the error at 95 in 100
    key_turn_deg: float = 8.0  # turned by more, likewise
    most_keys: int = 30  # small pictures kept in memory, 4 MB in all
    lost_s: float = 0.5  # unknown for longer, the key is given up: it may have left the picture for good
    step_share: float = 0.01  # of the picture's width from one picture to the next: less, whoever follows people allows for anyway
    body_margin: float = (
        0.15  # of a body's height around its landmarks: cloth, hair, shadow, and what it moves until the next picture
    )
    # what is taken off
    still_share: float = (
        0.001  # of the picture's width, 2 px of full HD: clips on a tripod stay below 0.0002, landmarks shake by more
    )
    hint_times: float = 3.0  # times that: a few points hint less surely
    moment_s: float = 0.1  # either side: a movement lasts longer than a bad reading
    least_moved: int = 5  # pictures: fewer are no movement that could spoil a landing
    fill_s: float = 0.15  # a gap so short is bridged: as long as landings allow for a gap in the landmarks
    most_lost: float = 0.5  # of the pictures: with more of them unknown, landings do not tell who dances
    apart_s: float = 2.0  # still for so long between two movements, they are told apart
    most_stretches: int = 3  # told one by one; more are told from the first to the last
    most_apart_share: float = 0.006  # of the picture's height, 6 px of full HD: past it a foot that stands seems to step


CLIP = ClipSettings()
