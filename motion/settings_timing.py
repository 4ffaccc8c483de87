"""Thresholds of the timing room: matching, verdicts, the class. See settings.py."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class TimingSettings:
    """Verdicts: bands from trade practice and from what the measurement can prove."""

    # matching, in nats (natural log of odds) unless said
    match_scale_ms: float = 70.0  # a quarter of the fastest usual half count: the width of "this count" against its neighbours
    match_reach_ms: float = 420.0  # beyond it a landing belongs to another count
    miss_cost: float = 2.2  # a due landing without one: the network passes over about one in ten of the faintest
    shift_miss_cost: float = 0.6  # weight shifts are often not seen
    foot_cost: float = 4.0  # the other foot than the sheet says
    kind_cost: float = 2.5  # most that a touch for a step, or the reverse, may cost
    mode_cost: float = 3.5  # the dance goes on in mirror image, or a count behind or ahead, from here on
    extra_strength: float = 0.6  # a landing plainer than this that the sheet does not ask for is extra
    most_odds: float = 3.5  # the network's own word is never worth more
    one_event_s: float = 0.15  # a landing and a weight shift of one foot that lie nearer are one event, read twice
    plain_landing: float = 0.5  # without a sheet, landings plainer than this are written down
    # verdicts
    least_pairs: int = 6  # landings: fewer say nothing about a habit
    band_ms: float = 80.0  # "with the beat" of the dancer's own median; more than two standard deviations of a careful dancer
    band_share: float = 0.12  # of a count, where that is more: a slow count leaves more room
    proof: float = 2.6  # standard deviations of landing and beat together: about one in a hundred by chance
    beat_sigma_ms: float = 6.0  # spread of the beats about the music's own
    half_count_extra_ms: float = 40.0  # beside an & the next landing is near, and a single one proves less
    still_steps: int = 3  # landings missing in a row
    missed_sure: float = 0.85  # the network passes over few plain landings
    sight_s: float = 0.35  # the feet must be followed this long before and after
    plain_touch: float = 0.12  # of the weight curve: below it is plainly a touch, above its complement plainly a step
    # places of the feet, in leg lengths; our bands, from the words' plain meaning
    place_slack: float = 0.25  # outside the word's place: the 95th percentile of the reading's error is 0.2 on drawn dancers
    place_least: float = 0.2  # a step forward or back puts the foot at least so far before or behind the other
    place_side: float = 0.32  # a step to the side: wider than standing, which is about 0.22
    place_close: float = 0.25  # "together": level with the other foot within this
    place_together: float = 0.45  # and no wider
    place_crossed: float = 0.08  # "cross" and "behind": at or past the other foot
    place_walls: int = 2  # other walls that must agree before one differs
    place_spread: float = 0.2  # how closely they must agree
    place_apart: float = 0.5  # and how far this one must lie from them: twice the slack
    extra_apart_s: float = 0.22  # from the same foot's other landings
    extra_flag_strength: float = 0.75  # plainer than for a mere entry in the list of steps
    named_sure: float = 0.8  # surer than this may be put to a person
    # the class, and wall against wall
    lost_share: float = 0.4  # of the dancers who could be judged: from here on a count is the class's, not one dancer's
    class_sure: float = 0.6  # a finding this sure counts for the class; a name needs more
    spread_dancers: int = 3  # landings from which on "how far apart" says anything
    watch_moments: int = 3  # a teacher watches three before the next class
    watch_apart_s: float = 4.0  # nearer moments are one
    wall_time_ms: float = 90.0  # as for late and early, a little wider: two landings are compared
    # where is count 1
    anchor_width_ms: float = 90.0  # how near a landing must be to speak for a first count
    anchor_miss: float = 0.4  # of a landing, against a first count that asks for one where none is
    anchor_lags_ms: tuple[float, ...] = (-60.0, 0.0, 60.0, 120.0)  # steady leads and lags that are no other count
    anchor_before_counts: float = 8.0  # landings in this stretch before count 1 speak against it
    anchor_early: float = 0.5  # of a landing, for each in the counts before
    anchor_sure: float = 0.15  # below it the person is asked to check count 1
    least_anchor: float = 3.0  # landings explained: fewer may be chance
    intro_worth: float = 2.0  # landings that a plain musical beginning counts for
    opening_counts: float = 40.0  # over which a wrong tempo by 0.4 % stays within the width above
    speed_margin: float = 1.15  # twice or half as many counts as beats must fit this much better
    steps_lowest_bpm: float = 60.0  # tempi tried where only the steps tell
    steps_highest_bpm: float = 200.0  # two-step, the fastest rhythm in use
