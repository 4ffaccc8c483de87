"""Thresholds of the lesson package, each with its unit and its reason: space, times, pulse, practice music.

Published numbers (formulas, zones, centiles) are no thresholds of ours: they stand with their sources in `lesson/pulse.py`.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class LessonSettings:
    """The lesson around the clip."""

    # who may be asked about
    youngest_age: int = 4  # years; younger ones do not dance in lines, and no table here reaches below 6
    oldest_age: int = 110  # years; the oldest people alive are hardly older
    adult_age: int = 18  # years from which somebody counts as grown up here: below it nothing is told of a single person
    # space
    height_children_m: float = 1.40  # body height of ten-year-olds, the middle of a primary school's upper years
    height_adults_m: float = 1.75  # a tall half of the grown-ups: space for the mean is too little for half of them
    span_share: float = 1.0  # of body height from fingertip to fingertip: within a few per cent in people of all ages
    pace_share: float = 0.41  # of body height, an ordinary walking step; small dance steps are shorter, so this is on the safe side
    wall_gap_m: float = 0.5  # free to walls, chairs and bags: room to put a foot out after a stumble
    plain_travel_m: float = 2.0  # each way, when no sheet says: a vine of four steps there and back
    walls_walked: int = 8  # walls over which a dance's path is followed: every one- to four-wall dance has come round by then
    most_dancers: int = 300  # in one hall: a large festival floor; more is a slip of the finger
    most_rows: int = 30  # of dancers, one behind the other: nobody in the thirtieth sees a teacher
    least_room_m: float = 2.0  # side of a room: one dancer with arms out
    most_room_m: float = 100.0  # side of a room: longer than any hall
    body_width_m: float = 0.5  # shoulders and arms of somebody who dances: what hides a person behind
    camera_view_deg: float = 60.0  # across a phone's picture held lengthwise: main cameras film 60 to 70
    camera_extra_m: float = 0.5  # of floor left free in view beyond the outermost dancer on each side
    # the plan
    shortest_min: float = 10.0  # minutes: below it no warm-up of five minutes, dance and cool-down fit together
    longest_min: float = 180.0  # minutes: a long workshop; longer days are several lessons
    step_s: int = 30  # s to which the parts of a lesson are cut: a teacher's watch
    warm_game_s: int = 30  # s of one game at least: six to eight easy repeats
    warm_usual_s: int = 40  # s of a game when choosing how many: what is over goes to the joints that the dance asks most of
    # practice music
    plain_bpm: float = 100.0  # beats a minute where nobody says: beginners' dances lie between 90 and 120
    ladder_from: float = 0.7  # of the full tempo, where the tempo ladder begins: slower, steps become poses
    ladder_rungs: int = 4  # tempos: steps of a tenth each, below what learners call a jump
    most_rungs: int = 8  # tempos: more are steps that nobody hears
    fast_bpm: float = 150.0  # from which the count-in is called twice as long ("5, 6, 5-6-7-8"): four counts last 1.6 s there
    tap_fewest: int = 4  # taps: with three gaps a slip is seen
    tap_longest_s: float = 2.5  # s between taps after which a new tempo begins: 24 beats a minute
    tune_silence_s: float = 0.3  # s before the first click: players swallow the very beginning of a file
    tune_tail_s: float = 0.8  # s after the last count: its note dies away
    rung_pause_s: float = 2.0  # s between two tempos of the ladder: a breath, and time to find the feet
    longest_tune_s: float = 1200.0  # s of practice music, as long as the longest clip
    # pulse and breath
    lowest_rate: int = 30  # a minute: below it a miscount, also in athletes at rest
    highest_rate: int = 230  # a minute: above every age's maximum and its spread
    lowest_breaths: int = 4  # a minute: slower than the slowest paced breathing
    highest_breaths: int = 80  # a minute: faster than panting is counted
    lightest_kg: float = 30.0  # of a grown-up: below it a slip of the finger
    heaviest_kg: float = 250.0  # above it a slip of the finger
    youngest_energy_age: int = 19  # years: the adult Compendium is for 19 to 59
    oldest_energy_age: int = 59  # years: older bodies use less at rest, and its values do not hold
    # the record
    note_letters: int = 500  # letters of a free note: a few sentences, not a file on somebody
    label_letters: int = 16  # letters of the label under which a grown-up keeps a pulse: as a dancer's label
