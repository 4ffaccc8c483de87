"""Thresholds of the body room: finding, following, landings, places, angles. See settings.py."""

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
    swap_price: float = 0.05  # leg lengths a picture for going against the model's own labels: it is right far more often
    swap_change: float = 0.25  # leg lengths for a change of labels: legs swap for stretches, not in single pictures
    swap_velocity: float = 0.4  # of the last movement that is expected to go on: a foot slows down and lands
    # following
    region_bodies: float = 1.3  # side of the region in body heights: arms up and a wide step still fit
    region_memory: int = 15  # pictures whose median height sizes the region: half a second
    jump_bodies: float = 0.22  # a body centre that moves further between two looks is somebody else
    size_change: float = 1.4  # a body that grows or shrinks more between two looks is somebody else
    lost_after_s: float = 3.0  # a hidden dancer is expected where the line takes them for so long: a wall's turn takes less
    colour_memory: int = 90  # pictures whose median is a dancer's usual colours: three seconds of changing light
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
    least_trail: int = 8  # pictures: a quarter of a second; shorter sights are slips
    join_limit: float = 1.0  # cost above which two trails are not one person
    edge_gap: float = 0.3  # body heights, most that place counts for whoever left or came at the picture's edge
    size_worth: float = 0.7  # body heights for a size that grows e-fold: dancers come nearer and go
    colour_worth: float = 2.5  # body heights for colours that differ over the whole scale: clothes tell more than place
    touching_bodies: float = 0.13  # two dancers whose hips come nearer, in body heights, may be taken for each other
    least_share_seen: float = 0.25  # a person seen in less of the clip is a passer-by
    least_whole: float = 0.3  # share of pictures in which head and feet must be inside the picture
    # hidden feet
    limb_bodies: float = 0.07  # body heights around a limb's line that its flesh and cloth may cover
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
    landing_late_ms: float = 5.0  # what the network adds to a landing's time: the median over held-out dances, taken off again
    landing_apart_s: float = 0.12  # one foot cannot land twice in less: the quickest trade step takes two hundred ms a foot
    least_shift: float = 0.15  # curve height, as for landings
    plain_sigma_ms: float = 10.0  # spread of the times of the plainest landings, held-out dances
    faint_sigma_ms: float = 25.0  # more for the faintest
    usual_unrest: float = (
        0.016  # leg lengths, feet's landmarks in clear clips: sigma above is stated for it, and grows in proportion
    )
    unrest_reach: tuple[float, float] = (0.75, 4.0)  # least and most that sigma is multiplied by
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
    frontal_pictures: int = 30  # pictures of it: a second
    width_limits: tuple[float, float] = (0.8, 1.25)  # breadth of a dancer over the usual
    # readings
    least_pictures: int = 10  # pictures with a torso, below which there is nothing to say
    fill_s: float = 0.12  # s, longest gap bridged by a line: three pictures at 25 a second (Stenum et al. 2021)
    cutoff_hz: float = 6.0  # Hz: what legs do lies below it (Winter); 4 to 10 Hz gave the same mean error on clips with truth
    nearby_s: float = 0.15  # s about a picture over which its points' restlessness is judged; errors nearer than that are alike
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
    # sigma of a reading (hip, knee, ankle), degrees; fitted over all clips with truth so that 95 % of errors lie within 2 sigma
    sigma_base_deg: tuple[float, float, float] = (1.9, 2.7, 2.9)
    sigma_rough_deg: tuple[float, float, float] = (225.0, 304.0, 266.0)  # per torso length that points jump about the cleaned path
    sigma_speed_deg: tuple[float, float, float] = (1.2, 0.4, 1.9)  # per torso length a second against the hips
    sigma_hidden_deg: tuple[float, float, float] = (3.0, 4.4, 0.2)  # when the model's visibility is 0 instead of 1: the far leg
    sigma_off_deg: tuple[float, float, float] = (6.1, 3.1, 8.0)  # per unit of the tangent of the way off the side view
    sigma_foot_deg: tuple[float, float, float] = (2.3, 6.1, 35.0)  # for a foot without length, in proportion
    foot_length_torsos: float = 0.42  # heel to toe as the model places them, over the torso
    point_px: float = 0.5  # px, what a point cannot be placed better than
    segment_torsos: float = 0.8  # thigh or shank over the torso
    sigma_limit_deg: tuple[float, float, float] = (
        9.0,
        8.0,
        12.0,
    )  # withheld beyond: the mean error of what is shown stays below 6 (ankle 8)
    # ranges
    range_pictures: int = 60  # trusted pictures: two seconds, below which percentiles are single pictures
    swing_deg: float = 12.0  # degrees that a repetition stands out: more than twice the usual sigma
    swing_apart_s: float = 0.6  # s between repetitions: slower than anyone bends and stretches in a guided check
    swing_share: float = 0.67  # of a task's largest swing: what is smaller goes with another movement
    together_s: float = 0.5  # s between the two sides' peaks that are one movement
