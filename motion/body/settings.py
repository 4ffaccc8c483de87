"""Thresholds of the body package, each with its unit and its reason: finding, following, landings, places, angles."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class BodySettings:
    """Finding and following dancers, landings, angles."""

    keep_every: int = 600  # pictures between two notes of how far a review is: ten to thirty seconds of work are lost at most
    most_dancers: int = 60  # more do not fit a picture at a height that can be timed
    most_threads: int = 4  # more do not make one small network faster
    # finding
    tile_shares: tuple[float, ...] = (0.62, 0.36)  # tile side over picture height: the detector sees 224 px and loses a person
    # smaller than about a third of its view, so 0.36 reaches dancers of an eighth of the picture's height
    tile_step: float = 1 / 3  # of a tile's side: a person cut by one tile is whole in the next
    persons_a_tile: int = 4  # more than stand whole in a tile
    same_person_torsos: float = 0.7  # two sightings whose torso centres lie nearer, in torso lengths, are one person
    find_dense_s: tuple[float, ...] = (0.0, 0.8, 1.6)  # all tiles at these times: seconds apart they complete each other
    find_again_s: float = 1.0  # the whole picture is searched this often for newcomers: one look, and cheap
    find_doubt_s: float = 0.5  # and around a place where somebody was sighted but could not be read
    find_group_s: float = 3.0  # all tiles again this often with several dancers: some stand hidden at first
    find_alone_s: float = 10.0  # and with one, whom nobody hides
    least_presence: float = 0.5  # the model's own word that there is a body in the region
    least_height_px: float = 60.0  # below it the feet are blobs of 2-3 px and no landing can be timed
    # left and right leg
    swap_price_a_s: float = 1.5  # leg lengths a second for going against the model's own labels: it is right far more often
    swap_change: float = 0.25  # leg lengths for a change of labels: legs swap for stretches, not in single pictures
    swap_memory_s: float = (
        0.06  # s in which all but 1/e of a movement is over: a foot slows down and lands; at 0.04 s one exchange of
    )
    # a second in three stays at 15 frames a second, from 0.06 to 0.1 s one in thirty
    # following
    region_bodies: float = 1.3  # side of the region in body heights: arms up and a wide step still fit
    region_memory_s: float = 0.5  # s of sight whose median height sizes the region
    jump_bodies: float = 0.22  # a body centre that moves further between two looks is somebody else
    size_change: float = 1.4  # a body that grows or shrinks more between two looks is somebody else
    lost_after_s: float = 3.0  # a hidden dancer is expected where the line takes them for so long: a wall's turn takes less
    colour_memory_s: float = 3.0  # s of sight whose median is a dancer's usual colours: light changes
    colour_alike: float = 0.15  # of the full scale 0..1: shading of one cloth stays below it
    near_bodies: float = 0.6  # body heights: further away nobody can be taken for another from one picture to the next
    row_bodies: float = 0.04  # body heights that a row in front stands lower in the picture
    behind_bodies: float = 0.75  # body heights around a dancer's hips in which somebody behind them is looked for
    hidden_price: float = 0.15  # body heights: whoever was in sight a picture ago has the better claim to a body
    part_height: float = 0.7  # of a body's height: what is smaller and stands on its feet is that body's own legs
    part_feet_bodies: float = 0.12  # body heights between the two pairs of ankles; rows of dancers stand further apart
    feet_visible: float = (
        0.42  # mean of the feet's visibility, as the model says it: covered legs read 0.2 to 0.4, open ones 0.5 to 0.95
    )
    least_trail_s: float = 0.25  # s of sight: shorter sights are slips
    join_limit: float = 1.0  # cost above which two trails are not one person
    edge_gap: float = 0.3  # body heights, most that place counts for whoever left or came at the picture's edge
    size_worth: float = 0.7  # body heights for a size that grows e-fold: dancers come nearer and go
    colour_worth: float = 2.5  # body heights for colours that differ over the whole scale: clothes tell more than place
    # across a cut
    cut_look_s: float = 0.5  # either side of it that place, size and view are read over
    cut_clothes_alike: float = 0.08  # of the full scale, tint above all: one cloth in another light differs by 0.05
    cut_clothes_apart: float = 0.14  # whoever differs by less may be meant as well: black and grey trousers differ by 0.08
    cut_place_bodies: float = 0.35  # body heights: dancers of one line stand further apart
    cut_size: float = 1.15  # as large as before: another framing seldom leaves both place and size
    cut_view_deg: float = 30.0  # the camera looks from the same side: what is told of facing compares before and after
    cut_blank_s: float = (
        0.1  # either side of it nobody who is in both pieces is measured: longer together than gaps that are bridged
    )
    touching_bodies: float = 0.13  # two dancers whose hips come nearer, in body heights, may be taken for each other
    least_share_seen: float = 0.25  # a person seen in less of the clip is a passer-by
    least_whole: float = 0.3  # share of pictures in which head and feet must be inside the picture
    # hidden feet
    limb_bodies: float = 0.07  # body heights around a limb's line that its flesh and cloth may cover
    feet_seen_s: float = 0.367  # s over which that visibility is averaged: it flickers, and a skirt hides for longer
    hidden_margin_s: float = 0.15  # around a hidden picture: a landing takes about so long to be read
    least_sight_s: float = 0.5  # shorter glimpses between two hidden stretches show no whole step
    # the floor
    usual_focal: float = 0.72  # of the picture's longer side: a phone's main camera, 26 mm on full frame
    level_worth: float = 0.05  # misfit, in body heights, that a horizon a whole picture off the level is taken to cost
    rest_look_s: float = 0.12  # after a landing, over which the foot's place is read
    watcher_share: float = 0.2  # of the busiest dancer's landings: whoever has fewer stands by or passes through
    through_bodies: float = 2.0  # body heights from first to last sight: no dance of the line takes anyone so far
    through_straight: float = 0.6  # of the whole path: whoever dances goes to and fro
    some_landings: int = 8  # landings from which on somebody dances at all
    # landings
    bridge_s: float = 0.15  # a gap of a few pictures; a swing of the foot takes longer
    least_run_s: float = 1.0  # the network looks half a second both ways
    least_landing: float = 0.08  # curve height: faint ones are kept for the dance sheet to choose from
    landing_apart_s: float = 0.12  # one foot cannot land twice in less: the quickest trade step takes two hundred ms a foot
    least_shift: float = 0.15  # curve height, as for landings
    least_apart_legs: float = 0.2  # feet that appear nearer do not tell whose side the hips are on; standing feet are farther
    shift_reach_s: float = 0.2  # weight goes over in about so long
    shift_still_s: float = 0.1  # both feet stand for so long while weight goes over between them
    shift_fastest: float = 1.2  # leg lengths a second, faster feet step: a swing has four and more, a standing foot's reading 0.3
    shift_least_far: float = 0.1  # of the feet's distance: hips of somebody who stands on both sway less
    shift_plain_far: float = 0.2  # and hips that plainly go over, more
    shift_strength: tuple[float, float] = (0.3, 0.45)  # of hips alone, faint and plain: below what is written down unasked
    shift_one_s: float = 0.2  # nearer readings of hips and network are one shift
    crossing_sigma_ms: float = 25.0  # spread of the hips' passing about drawn dancers' shifts is 15; bodies are softer
    # how probably a landing is there by the height of its peak: people and dances held out of the network's making, see its table
    landing_strength: tuple[tuple[float, float], ...] = (
        (0.08, 0.02), (0.25, 0.07), (0.35, 0.12), (0.45, 0.22), (0.55, 0.44), (0.65, 0.75), (0.75, 0.94), (0.85, 0.985), (1.0, 0.99),
    )  # fmt: skip
    # sigma of a time, by the spread that the network tells. Reasoned from the 95th percentiles of held-out people, whose truth may
    # err by 15 ms, and not measured as a share; drawn feet lie within two of 7 ms, so of them too much is said
    spread_sigmas: float = 1.35
    landing_floor_ms: float = 12.0  # of every time, however plain the landing
    # when a foot that has touched can bear the weight
    settle_speed: float = 0.7  # leg lengths a second; of .35 to .9 the one without bias on captured people; a swing has four
    settle_for_s: float = 0.05  # at rest for so long; twice that loses one in ten
    settle_most_s: float = 0.5  # after the first touch: who has not come to rest by then has gone on
    settle_reach_s: float = 0.05  # either way, over which a speed is taken: three pictures at 30 a second
    settle_step_s: float = 1 / 60  # grid of times that are looked at
    outside_s: float = 0.1  # around a picture in which a foot is outside: its landing there was not seen whole
    shift_sigma_ms: float = 40.0  # weight arrives over a tenth of a second and more


@dataclass(frozen=True)
class AngleSettings:
    """View of the dancer, joint angles and ranges."""

    # view: size of each cue at its largest and its standard deviation, in torso lengths (mid-shoulder to mid-hip) as they appear
    shoulders_torsos: float = 0.70  # shoulder joints apart, front view: drawn bodies of seven sizes, adults and children
    shoulders_sd: float = 0.07  # a tenth of it: people differ, and leaning shortens the torso
    hips_torsos: float = 0.40  # hip points apart, as the model places them
    hips_sd: float = 0.06  # a seventh of it: people differ, and hips sway
    ears_torsos: float = 0.21  # ears apart, front view
    ears_sd: float = 0.09  # heads turn by themselves: 25 degrees of it
    nose_torsos: float = 0.17  # nose before the ears, side view
    nose_sd: float = 0.07  # as for the ears
    foot_torsos: float = 0.40  # toe before heel, side view
    foot_sd: float = 0.10  # feet turn out 15 degrees and are lifted
    limbs_visibility: float = 0.70  # 0..1, how much better the model sees the nearer arm and knee, side view
    limbs_sd: float = 0.30  # nearly half of it: clothes and light move visibility as much
    cue_tail: float = 4.0  # degrees of freedom of the cues' errors (Student): a cue five sd off is wrong, not proof
    cue_memory_s: float = 0.08  # s over which errors of a cue stay alike
    turn_deg_per_root_s: float = 60.0  # degrees after 1 s if unwatched: wide enough for half a turn in half a second
    view_floor_deg: float = 3.0  # degrees, what cues common to all pictures cannot tell (breadth, toes turned out)
    frontal_cos: float = 0.8  # |cos| of the view from which breadth can be read
    frontal_s: float = 1.0  # s of it, below which it may be one odd pose
    width_limits: tuple[float, float] = (0.8, 1.25)  # breadth of a dancer over the usual
    # readings
    least_s: float = 0.33  # s with a torso, below which there is nothing to say
    fill_s: float = 0.12  # s, longest gap bridged by a line: three pictures at 25 a second (Stenum et al. 2021)
    cutoff_hz: float = 6.0  # Hz: what legs do lies below it (Winter); 4 to 10 Hz gave the same mean error on clips with truth
    cutoff_rate_share: float = (
        0.32  # of the pictures a second, most that the cutoff may be: below 19 a second, room is left beyond it
    )
    error_memory_s: float = (
        0.15  # s in which the model's errors lose all but 1/e of their likeness: 0.1 to 0.2 for drawn dancers' legs
    )
    usual_error_torsos: float = 0.04  # of one point, where a clip shows none: the middle of drawn dancers' legs
    nearby_s: float = 0.15  # s about a picture over which its points' restlessness is judged; errors nearer than that are alike
    most_hidden: float = 0.5  # share of pictures with hidden legs, above which what is glimpsed of them fits no zero either
    widest_off_deg: float = 60.0  # degrees from the side view: beyond it the stretch doubles, and nothing was calibrated there
    # quiet standing
    standing_off_deg: float = 55.0  # degrees from the side view
    standing_speed: float = (
        1.5  # leg lengths a second of the fastest heel or toe: a swinging foot does 3 and more, and points drift
    )
    standing_apart: float = 0.15  # leg lengths between the ankles along the picture: half a foot
    standing_level: float = 0.15  # leg lengths between the soles' heights: a hip-high camera sees the far foot that much higher
    standing_alike_deg: float = 15.0  # degrees between the sides' knees, and hips: more is a step, not standing
    standing_straight_deg: float = 12.0  # degrees above the straightest tenth of the quiet pictures: more is a knee bend
    standing_s: float = 0.25  # s of it in all, and s that are worth one independent look
    standing_sd_deg: tuple[float, float, float] = (4.0, 7.0, 5.0)  # hip, knee, ankle: of one look; people pass through standing
    anatomical_sd_deg: tuple[float, float, float] = (10.0, 15.0, 15.0)  # hip, knee, ankle: how far people's standing lies off
    stored_sd_deg: float = 3.0  # degrees between two sessions of one person (Kanko et al. 2021; other shoes, another camera)
    stance_speed: float = 1.0  # leg lengths a second of heel or toe: below it a foot is planted
    stance_s: float = 2.0  # s of planted foot in all, below which it may be one odd pose
    stance_times: int = 4  # times that a foot is planted
    stance_sd_deg: tuple[float, float, float] = (3.5, 5.5, 6.5)  # hip, knee, ankle: stance against quiet standing, clips with truth
    flat_foot_deg: float = 10.0  # degrees that an ankle reads in quiet standing: the heel's landmark lies above the sole
    flat_foot_sd_deg: float = 6.0  # 3.5 between drawn dancers of seven sizes, more for shoes
    sides_sd_deg: float = 4.0  # degrees between left and right standing of one person, as the picture shows them
    least_visibility: float = 0.01  # 0..1, what the model's word for a hidden leg is not believed below
    # sigma of a reading (hip, knee, ankle), degrees; fitted to eight drawn dancers as the pose model reads them and ten captured motions
    # seen from five sides with the model's errors, at 15, 24, 30 and 60 pictures a second, so that 95 % of errors lie within 2 sigma;
    # measured on others (tests/bench/angle_sigma.py). Off the side an ankle errs more as feet turn out (tests/bench/view_error.py)
    sigma_base_deg: tuple[float, float, float] = (1.8, 2.1, 3.5)
    sigma_error_deg: tuple[float, float, float] = (
        0.7,
        0.67,
        0.41,
    )  # per degree by which what is left of the points' errors turns limbs
    sigma_speed_deg: tuple[float, float, float] = (2.0, 1.8, 2.5)  # per torso length a second against the hips
    sigma_hidden_deg: tuple[float, float, float] = (0.0, 1.6, 0.0)  # when the model's visibility is 1/e: the far leg
    sigma_near_hidden_deg: tuple[float, float, float] = (4.7, 11.2, 0.0)  # when that of the nearer leg is 0 instead of 1, on top
    sigma_off_deg: tuple[float, float, float] = (8.6, 5.5, 9.2)  # per unit of the tangent of the way off the side view
    sigma_foot_deg: tuple[float, float, float] = (12.5, 16.3, 51.2)  # for a foot without length, in proportion
    sigma_far_deg: tuple[float, float, float] = (2.4, 0.0, 0.0)  # of the leg behind the other
    sigma_limb_deg: tuple[float, float, float] = (27.6, 14.1, 29.9)  # for thigh or shank without length, in proportion
    limb_off_deg: float = (
        45.0  # degrees from the side view in which a limb's whole length is looked for: beyond, it is stretched by half
    )
    limb_share: float = 0.9  # of the pictures in which a limb looks no longer than its whole length: the rest is noise
    foot_length_torsos: float = 0.42  # heel to toe as the model places them, over the torso
    point_px: float = 0.5  # px, what a point cannot be placed better than
    segment_torsos: float = 0.8  # thigh or shank over the torso
    # withheld beyond: mean errors of what is shown stay below 6, ankle 8, on motion kept back; below what an anatomical zero alone costs
    sigma_limit_deg: tuple[float, float, float] = (10.0, 10.0, 12.5)
    # what joints of living legs can do, with 15 to 20 degrees to spare (Soucie et al. 2011, largest group means and extremes of dancers)
    possible_deg: tuple[tuple[float, float], ...] = ((-50.0, 155.0), (-30.0, 170.0), (-85.0, 55.0))  # hip, knee, ankle
    # ranges
    range_s: float = 2.0  # s that could be trusted, below which percentiles are single pictures
    range_share: float = 0.1  # of the pictures with this dancer: one wall of eight; less is a glimpse, not a range
    range_unseen_deg: tuple[float, float, float] = (20.0, 20.0, 20.0)  # sd of what a joint never seen does more
    # share of the pictures with this dancer from which on a range is the whole one: what the rest may hold (2 degrees of
    # `range_unseen_deg`) is less than any angle is read to; seen in less, a joint moved "at least" so far
    whole_share: float = 0.9
    alike_share: float = 0.2  # of those pictures by which left and right may differ to stand beside each other: 4 degrees of it
    alike_near: float = 0.3  # of the pictures used, in which each is the nearer leg: the far one's angles err half as much again
    use_share: float = 0.6  # of a count's pictures that must be trusted before its bend is told
    small_range_deg: float = 10.0  # degrees: a change below it cannot be told from noise with one camera
    small_range_counts: int = 4  # counts seen on both walls
    fact_front_deg: float = 30.0  # degrees from front or back within which what goes sideways is seen (cosine 0.87 and more)
    fact_side_deg: float = 30.0  # and from the side for what goes forward
    fact_swing_speed: float = 0.5  # leg lengths a second from which on a foot has left the floor: a small lift in place does more
    fact_swing_s: float = 0.6  # before a landing in which the foot's way through the air lies
    # body facts: sd that every reading of one fact shares; points lie 3 to 4 % of a body height off, on the same side all along
    fact_place_sd: float = 0.05  # leg lengths, places on the floor
    fact_point_sd: float = 0.03  # leg lengths, one point against another in the picture
    fact_lean_sd_deg: float = 2.0  # degrees, a camera that is not level and shoulder points that sit high or low
    fact_step_least: float = 0.35  # leg lengths between the feet: standing side by side they are a quarter apart
    fact_steps: int = 8  # landings: fewer make no habit
    swing_deg: float = 12.0  # degrees that a repetition stands out: more than twice the usual sigma
    swing_apart_s: float = 0.6  # s between repetitions: slower than anyone bends and stretches in a guided check
    swing_share: float = 0.67  # of a task's largest swing: what is smaller goes with another movement
    near_swings: int = 2  # repetitions seen of the nearer leg, from which on those of the farther are left aside
    together_share: float = 0.5  # of a side's swing that the other must show at the same time to be one movement of both
    together_s: float = 0.5  # s between the two sides' peaks that are one movement


@dataclass(frozen=True)
class RangeCheckSettings:
    """The guided range check, read for people."""

    # sd between two sessions in which nothing changed, degrees, of a median of three (hip, knee, ankle): re-encoded clips strayed by 1,
    # another day adds where the phone stands and what is worn (eight cameras: below 3, Kanko et al. 2021)
    session_sem_deg: tuple[float, float, float] = (2.0, 2.0, 3.0)
    chart_gap_s: float = 0.25  # s between two pictures, above which a chart's line breaks off, as the cleaning does
    chart_marks: int = 24  # marks along a chart that can be read beside each other
    own_repeats: int = 3  # earlier checks of one person from which on their own spread is looked at
