"""Thresholds of the dance package, each with its unit and its reason: limits of a dance sheet, and a draft from landings."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class DanceSettings:
    """Limits of a dance sheet."""

    largest_bytes: int = 2_000_000  # a sheet of 10,000 rows with notes is below 1 MB; more is another kind of file
    most_rows: int = 20_000  # rows; the longest dances have a few hundred
    most_counts: int = 20_000  # counts in one wall or part: as many as rows, so that one step a count can always be written
    slowest_bpm: float = 30.0  # below it a count is two seconds long, which nobody steps to
    fastest_bpm: float = 300.0  # above it nobody steps every count; two-step, the fastest rhythm in use, ends near 200
    earliest_half: float = 0.4  # share of a count: a half count that comes sooner is another rhythm
    latest_half: float = 0.8  # share of a count: hard swing ends near 0.75
    longest_intro: int = 512  # counts before count 1: sixteen phrases, longer than any song's beginning
    shortest_song_s: float = 10.0  # s of music: less is a wrong unit
    longest_song_s: float = 1_800.0  # s of music: the longest mixes danced to take a quarter of an hour
    most_walls_ahead: int = 2_000  # walls written out at once: hours of music, so that a mistyped number does not fill the memory


@dataclass(frozen=True)
class DraftSettings:
    """A draft of a dance sheet from landings. Places are in leg lengths, as in timing/settings.py."""

    half_off: float = (
        0.12  # counts off its half count from which a landing may be a late or early whole one: three times its spread
    )
    facing_counts: float = 0.5  # counts after a landing in which the body is looked at: a turn is over, the next step not begun
    turn_from_deg: float = 60.0  # degrees off the facing held so far from which a quarter was turned: nearer to it than to none
    turn_follow: float = 0.3  # share by which the facing held follows what is seen: the view from one camera drifts with the place
    stays: float = 0.22  # apart from where it stood: less is a foot set down on the spot, by the reading's error of 0.2
    crossed: float = 0.08  # to its own side: less has reached or passed the other foot, as in timing/settings.py
    close: float = 0.12  # forward or back: a crossed foot that is less than this away is beside the other, not across it
    turning_slack: float = (
        0.15  # more is asked of a step forward or back while the body turns: its own forward is then less certain
    )
    side: float = 0.38  # to its own side: wider than standing by more than the reading's error
    ahead: float = 0.22  # forward or back: a step, not a foot closed
    heel_ahead: float = 0.38  # in front: a heel is set out at arm's length of a foot, a touch beside


DANCE = DanceSettings()
DRAFT = DraftSettings()
