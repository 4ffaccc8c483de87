"""Thresholds of the timing package, each with its unit and its reason: matching, verdicts, the class."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class TimingSettings:
    """Verdicts: bands from trade practice and from what the measurement can prove."""

    # matching, in nats (natural log of odds) unless said
    match_scale_ms: float = 80.0  # a third of a usual half count: the width of "this count" against its neighbours
    guess_scale_ms: float = 35.0  # the same where the feet are hidden: only what falls near its count
    match_reach_ms: float = 420.0  # beyond it a landing belongs to another count
    miss_cost: float = 2.6  # a due landing without one: one plain landing in a dozen, being late is commoner
    shift_miss_cost: float = 1.5  # weight shifts are less plain than landings
    foot_cost: float = 4.0  # the other foot than the sheet says
    kind_cost: float = (
        1.2  # most that a touch for a step, or the reverse, may cost: of a dance it never saw, the network confuses some
    )
    mode_cost: float = 3.5  # the dance goes on in mirror image, or a count behind or ahead, from here on
    place_worth: float = 0.4  # a foot that went where the word puts it, as most places do by chance as well
    place_cost: float = 4.0  # for each leg length outside of it: the reading strays by 0.2
    place_most_cost: float = 1.5  # a step to the wrong place is still that step
    extra_strength: float = 0.5  # a landing plainer than this that the sheet does not ask for is extra
    most_odds: float = 3.5  # the network's own word is never worth more
    skip_odds: float = 1.5  # and a landing passed over costs no more than this: feet do come down once more than the dance has it
    one_event_s: float = 0.15  # a landing and a weight shift of one foot that lie nearer are one event, read twice
    plain_landing: float = 0.5  # without a sheet, landings plainer than this are written down
    halves_share: float = 0.15  # of landings between beats: a dancer with fewer steps on beats, and one between is late or early
    half_near: float = 0.38  # of a beat from the beat: nearer to the half than to a late landing
    unnamed_sure: float = 0.7  # without a sheet nobody knows what was meant
    # verdicts
    least_pairs: int = 6  # landings: fewer say nothing about a habit
    band_ms: float = 80.0  # "with the beat" of the dancer's own median; more than two standard deviations of a careful dancer
    band_share: float = 0.12  # of a count, where that is more: a slow count leaves more room
    proof: float = 2.6  # standard deviations of landing and beat together: about one in a hundred by chance
    beat_sigma_ms: float = 6.0  # spread of the beats about the music's own
    half_count_extra_ms: float = 40.0  # beside an & the next landing is near, and a single one proves less
    slow_pictures_hz: float = 35.0  # at 30 pictures a second and what phones make of it, an & alone is within the noise
    phrase_share: float = 0.6  # of the walls that show a count: from here on its offset is phrasing, and a difference the sheet's
    drift_least: int = 24  # landings: over fewer a few late ones look like a drift
    drift_proof: float = 4.0  # standard errors of the slope: landings after one another are alike, so more than two
    drift_ms: float = 100.0  # over the dance: more than the band of one landing
    option_margin: float = 2.0  # nats by which an easier way must explain the landings better than what is written
    stray_ms: float = 120.0  # off its count by this a landing says nothing for or against the dance being on
    stray_gap: float = 0.7  # of a landing: a count without one, against the dance being on
    mirror_share: float = 0.75  # of a dancer's landings, and of the dancers, in mirror image before it is asked about for all
    still_steps: int = 3  # landings missing in a row
    missed_sure: float = 0.85  # the network passes over few plain landings
    missed_near_s: float = 0.12  # anything that landed so near may be what was due
    missed_faint: float = 0.15  # however faint: the network reads less than this where nothing moves
    restless_ms: float = 30.0  # usual sigma of a landing above which light touches go unread; good clips of people have 20 to 28
    turn_extra_ms: float = 40.0  # beside a quarter turn and more, where legs cross in the picture and are read for each other
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
    place_most: float = 1.3  # no dance step puts the feet further apart: read through somebody else
    extra_apart_s: float = 0.22  # from the same foot's other landings
    extra_other_s: float = 0.16  # and from the other foot's: nearer, two feet that land are a jump, or one foot read as both
    extra_flag_strength: float = 0.5  # a light tap that stands alone is read so; fainter ones are mostly none
    named_sure: float = 0.8  # surer than this may be put to a person
    # the class, and wall against wall
    lost_share: float = 0.4  # of the dancers who could be judged: from here on a count is the class's, not one dancer's
    class_sure: float = 0.6  # a finding this sure counts for the class; a name needs more
    spread_dancers: int = 3  # landings from which on "how far apart" says anything
    watch_moments: int = 3  # a teacher watches three before the next class
    watch_apart_s: float = 4.0  # nearer moments are one
    wall_time_ms: float = 90.0  # as for late and early, a little wider: two landings are compared
    wall_turn_deg: float = 45.0  # the least turn that a sheet writes; views are read to about 15 degrees from wall to wall
    wall_bend_deg: float = 20.0  # between walls seen from the same side: twice what a joint is usually read to
    bend_proof: float = 4.0  # standard deviations: some hundreds of bends are compared in a clip, and none may differ by chance
    same_view_deg: float = 30.0  # views nearer than this show a joint alike: a bend of 60 degrees is seen within 4
    bend_s: float = 0.05  # s either way of a landing over which a bend is taken: the pictures about it
    # one dancer's habits
    told_count_ms: float = 25.0  # a habit on one count smaller than this is nobody's to notice (Friberg & Sundberg 1995, doubled)
    right_on_ms: float = 40.0  # a count is right on when its usual place is surely within this: half of the band
    habit_walls: int = 2  # walls on which a count must have been seen before anything is said of it
    habit_chance: float = 0.05  # over all counts of the dance together, of a hard count that is none
    told_counts: int = 3  # best and hardest counts named at most: a dancer takes one or two things home
    chance_draws: int = 99  # dancers by chance, for probabilities to a hundredth: a few ms a dancer
    rayleigh_chance: float = 0.05  # probability from which on landings are told to follow the beat no more than chance would
    # the music's phrases
    phrase_bars: int = 8  # bars in a phrase of most dance music
    phrase_near: int = 8  # counts before and after a place that are compared: two bars, so that a fill does not count as a change
    phrase_least: int = 3  # changes at the same place of the phrase: two may be one change and one chance
    phrase_proof: float = 3.5  # standard deviations: about one in a hundred by chance, with 32 places to choose from
    phrase_lead: float = 1.0  # standard deviations by which the place must stand out from every other, or nothing is told
    phrase_entry: float = 0.5  # how plainly the music comes in, 0 to 1, from which phrases are counted from there
    # clip against sheet
    restart_counts: float = 8.0  # counts after a restart or tag in which it shows whether it was caught: one section
    restart_least: int = 4  # landings seen there: fewer say nothing
    restart_share: float = 0.75  # of them danced as written
    restart_proof: float = 2.8  # standard deviations by which counts speak for an unwritten restart: eight of eight at least
    restart_near_counts: float = 0.3  # a landing belongs to a count no farther away: halves of a count stay apart, also swung ones
    restart_facing_deg: float = 45.0  # from where the dance faces: half of the quarter turn in which dances face
    # a word, and where it puts the foot in an even step, leg lengths: to its own side of the other one, and forward; beside it is 0.2
    restart_places: tuple[tuple[str, float, float], ...] = (
        ("side", 0.5, 0.0),
        ("together", 0.2, 0.0),
        ("forward", 0.2, 0.5),
        ("back", 0.2, -0.5),
    )
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
