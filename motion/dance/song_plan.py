"""The whole dance on paper: when every wall, tag and restart comes in a song of known length and tempo, and where it faces.

The arithmetic is the trade's own: count n of the dance falls (intro + n - 1) * 60 / BPM seconds after the music's first beat.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from motion.base.checks import number_between
from motion.base.errors import BadInput
from motion.base.types import DanceSheet, Foot, SheetRow
from motion.dance.figures import other_foot
from motion.dance.joins import danced_once
from motion.dance.rows import rows_end
from motion.dance.settings import DANCE
from motion.dance.unroll import Stretch, clock, intro_counts, stretches
from motion.dance.weight import course, first_foot, joins

What = Literal["wall", "on", "tag", "ending"]


@dataclass(frozen=True)
class Line:
    """One stretch of the dance in the song.

    what: a wall begins, it goes on after a tag, a tag, the ending; wall from 1; part of a phrased dance, "" otherwise; count: the
    running count on which it begins, from 1; counts: how many; time_s from the music's first beat; facing_deg, clockwise from the
    front, where it begins; phrase, into: the music's phrase that it begins in and how many counts of it have gone by; note: what is
    special.
    """

    what: What
    wall: int
    part: str
    count: int
    counts: int
    time_s: float
    facing_deg: float
    phrase: int
    into: int
    note: str = ""

    @property
    def clock(self) -> str:
        """The facing as dancers say it."""
        return clock(self.facing_deg)

    @property
    def name(self) -> str:
        """What a wall-by-wall plan calls it."""
        wall = f"Part {self.part}" if self.part else f"Wall {self.wall}"
        names = {"wall": wall, "on": f"{wall} on", "tag": "Tag", "ending": "Ending"}
        return names[self.what]


@dataclass(frozen=True)
class Paper:
    """The dance in its song. intro_counts: None if the sheet names none, times then count from count 1; song_s: None if not given;
    phrase_counts: counts of a phrase of eight bars, the first beginning with count 1; ending_after: the running count after which the
    ending comes, None without one or without a song; spare_counts: counts of music left over, None without a song; ends_facing_deg:
    where the dancer faces at the end; notes: plain sentences."""

    lines: tuple[Line, ...]
    bpm: float
    intro_counts: int | None
    song_s: float | None
    phrase_counts: int
    ending_after: int | None
    spare_counts: int | None
    ends_facing_deg: float
    notes: tuple[str, ...]


def on_paper(sheet: DanceSheet, *, bpm: float | None = None, song_s: float | None = None, intro: int | None = None) -> Paper:
    """Lay the dance out in its song. bpm, intro: those of the sheet if None; song_s: the music's length in seconds, None for once
    through all walls, tags and restarts.

    The ending is danced after the last section (or wall) from which it still fits into the music and whose weight it can go on from.
    Raises BadInput if no tempo is known or a number cannot be used.
    Example: 32 counts with 1/4 L in the last eight, 120 BPM, intro 16, restart in wall 3 after 16: walls begin at 8, 24, 40 and 48 s,
    facing 12:00, 9:00, 6:00 and 6:00.
    """
    limits = DANCE
    tempo = bpm if bpm is not None else sheet.bpm
    if tempo is None:
        raise BadInput(
            f"The sheet of {sheet.title} does not say how fast the music is",
            "Give the beats a minute, or write a line '# bpm: ...' into the sheet",
        )
    number_between(tempo, limits.slowest_bpm, limits.fastest_bpm, "The tempo", "BPM")
    waits = intro if intro is not None else intro_counts(sheet)
    number_between(waits or 0, 0, limits.longest_intro, "The intro", "counts")
    last_count = None
    if song_s is not None:
        number_between(song_s, limits.shortest_song_s, limits.longest_song_s, "The music's length", "seconds")
        last_count = int(song_s * tempo / 60 + 1e-6) - (waits or 0)
        if last_count < 1:
            raise BadInput("The music ends before the dance begins", "Check the music's length, its tempo and the intro")
    danced = _danced(sheet, last_count)
    ending_after, notes = _ending_after(sheet, danced, last_count)
    lines, facing_deg = _lines(sheet, danced, ending_after if ending_after is not None else last_count, tempo, waits or 0)
    if ending_after is not None:
        ending = _line(
            sheet,
            "ending",
            lines[-1].wall if lines else 1,
            "",
            ending_after + 1,
            rows_end(sheet.ending),
            facing_deg,
            tempo,
            waits or 0,
        )
        lines.append(ending)
        facing_deg += sum(row.turn_deg for row in sheet.ending)
    end = lines[-1].count + lines[-1].counts - 1
    spare = None if last_count is None else max(0, last_count - end)
    if waits is None:
        said = f"The sheet says “{sheet.intro}”" if sheet.intro else "The sheet names no intro"
        notes.append(f"{said}: times begin with count 1.")
    return Paper(
        tuple(lines), tempo, waits, song_s, phrase_of(sheet), ending_after, spare, facing_deg % 360, tuple(notes)
    )  # fmt: skip


def phrase_of(sheet: DanceSheet) -> int:
    """Counts of a phrase of eight bars: 32, or 24 in waltz. Four sections either way."""
    return 4 * sheet.section


def _danced(sheet: DanceSheet, last_count: int | None) -> list[tuple[int, Stretch]]:
    """The stretches with the counts before each, as far as the music goes."""
    out: list[tuple[int, Stretch]] = []
    base = 0
    for stretch in danced_once(sheet) if last_count is None else stretches(sheet):
        if last_count is not None and base >= last_count:
            break
        out.append((base, stretch))
        base += stretch.counts
    return out


def _lines(
    sheet: DanceSheet, danced: Sequence[tuple[int, Stretch]], until: int | None, bpm: float, waits: int
) -> tuple[list[Line], float]:
    """The lines up to the running count `until`, and the facing after them."""
    lines: list[Line] = []
    facing_deg = 0.0
    for base, stretch in danced:
        if until is not None and base >= until:
            break
        counts = stretch.counts if until is None else min(stretch.counts, until - base)
        what: What = "tag" if stretch.tag else "wall" if stretch.starts_wall else "on"
        line = _line(sheet, what, stretch.wall, stretch.part, base + 1, counts, facing_deg, bpm, waits)
        lines.append(replace(line, note=_note(sheet, stretch, counts)))
        reached = stretch.skipped + counts + 1
        facing_deg += sum(row.turn_deg for row in stretch.rows if row.count < reached)
    return lines, facing_deg


def _line(
    sheet: DanceSheet, what: What, wall: int, part: str, count: int, counts: int, facing_deg: float, bpm: float, waits: int
) -> Line:  # fmt: skip
    phrase, into = divmod(count - 1, phrase_of(sheet))
    return Line(what, wall, part, count, counts, (waits + count - 1) * 60 / bpm, facing_deg % 360, phrase + 1, into)


def _note(sheet: DanceSheet, stretch: Stretch, counts: int) -> str:
    """What is special about a stretch: it is cut short, or the music ends in it."""
    if counts < stretch.counts:
        return f"left after its count {stretch.skipped + counts}"
    restart = next((r for r in sheet.restarts if r.wall == stretch.wall), None)
    if restart and not stretch.tag and stretch.skipped + stretch.counts == restart.after:
        full = next((p.counts for p in sheet.parts if p.name == stretch.part), sheet.counts)
        if restart.after < full:
            changed = ", with its last counts changed" if restart.rows else ""
            return f"restart after {restart.after} of {full}{changed}"
    return ""


def _ending_after(sheet: DanceSheet, danced: Sequence[tuple[int, Stretch]], last_count: int | None) -> tuple[int | None, list[str]]:
    """The running count after which the ending is danced, and what is to be said about it."""
    if not sheet.ending or last_count is None:
        return None, []
    latest = last_count - rows_end(sheet.ending)
    free = first_foot(sheet.ending)
    states = _weights(danced)
    places = [base + at for base, s in danced for at in _breaks(s, sheet.section) if base + at <= latest]
    fits_weight = [at for at in places if free is None or joins(states.get(at), other_foot(free))]
    if not places:
        return None, ["The music is too short for the ending."]
    if not fits_weight:
        return places[-1], ["The ending begins with the foot that bears the weight wherever a section ends."]
    return fits_weight[-1], []


def _breaks(stretch: Stretch, section: int) -> list[int]:
    """Counts of the stretch after which it may be left: where its sections end, and at its own end."""
    return [n for n in range(1, stretch.counts + 1) if n == stretch.counts or (stretch.skipped + n) % section == 0]


def _weights(danced: Sequence[tuple[int, Stretch]]) -> dict[int, Foot | None]:
    """The foot that bears the body after each whole running count."""
    rows: list[SheetRow] = [row for _, s in danced for row in s.rows]
    first = first_foot(rows)
    weight = course(rows, other_foot(first) if first else None)
    counts = [int(base + row.count - s.skipped) for base, s in danced for row in s.rows]
    states: dict[int, Foot | None] = {}
    state, k = weight.begins, 0
    for count in range(1, (danced[-1][0] + danced[-1][1].counts + 1) if danced else 1):
        while k < len(counts) and counts[k] <= count:
            state, k = weight.after[k], k + 1
        states[count] = state
    return states
