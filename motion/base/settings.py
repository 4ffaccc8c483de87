"""Thresholds of everything above the measuring, each with its unit and its reason. They stand here together, far below, because every
review records them too."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class DeskSettings:
    """Review folders, the report and the drawn-over clip."""

    least_free_bytes: int = 10_000_000  # a review of one dancer and one minute takes about 3 MB; less room than this is a full disk
    beat_clear: float = 0.8  # confidence 0..1 from which the report calls the beat clear
    beat_fair: float = 0.5  # and from which it calls it fairly clear; below, the reader is asked to check it by ear
    flag_sure: float = 0.9  # sureness 0..1 from which a finding reads "quite sure" instead of "fairly sure"
    told_offset_ms: float = 25.0  # no steady lead or lag below it is told: listeners notice shifts from 12-22 ms at 120 BPM
    mark_fade_s: float = 0.45  # s that a landing's mark stays in the drawn-over clip: about one count, so that marks do not pile up
    head_cover_share: float = 0.1  # of body height, radius of the disc over a head: half a head is 0.065, and a hat is wider
    taught_steps: int = 8  # steps named of what to teach again: a stretch with more than a section of the dance goes by its counts
    told_unsure_s: float = 0.2  # shorter doubts about who is who are a picture or two, and change nothing that is told
    unfinished_days: int = 2  # a review that was broken off can go on so long; then what it had seen is deleted
    kept_days: int = 120  # a review asks to be deleted after about a school term
    head_hold_s: float = 1.0  # s that a head stays covered where it was before the first and after the last sight of it
    label_letters: int = 16  # letters of a dancer's label: a nickname or a colour fits, and a chart's edge holds it
    point_reach: float = 0.4  # body heights from a correction's point to the hips of whom it means: about an arm's length
    point_gap_s: float = 0.5  # s from a correction's moment to the next sight of whom it means
    mask_margin: float = 0.15  # body heights around the outermost points: hair and hats end 0.1 above them, skirts swing out as far
    mask_grid_px: int = (
        16  # px to which the boxes of covered people are rounded outwards: enough to cover, too coarse to tell a body by
    )
    mask_hold_s: float = 2.0  # s that a box stays at the picture's side after its person has left there
    same_box: float = 0.6  # overlap over union from which two boxes are one person's: neighbours in a line share less than half


@dataclass(frozen=True)
class PageSettings:
    """The page in the browser: jobs in the background and the short cuts of film that it plays."""

    silent_s: float = 15.0  # without a sign of life (there is one every second) a job was broken off; a busy disk stalls less
    stop_s: float = 4.0  # given to a review to clear up after itself before it is ended without asking
    tell_every_s: float = 0.3  # between two lines of progress with the same words: a page redraws once a second
    least_share: float = 0.03  # of the work done before a time left is told: earlier the pace is only warming up
    least_pace_s: float = 2.0  # of work seen before a time left is told
    longest_judge_s: float = 120.0  # judging again takes seconds; past it something hangs
    upload_kept_s: float = 86_400.0  # an upload that was never reviewed goes after a day: clips show people
    drop_still_s: float = (
        3.0  # a clip in the drop folder that changed since is still being copied: a slow stick writes every second
    )
    counts_before: int = 2  # counts of run-up before a moment: the ear needs two to find the beat
    counts_after: int = 2  # and so many after it
    breath_s: float = 0.05  # before the first and after the last of them: a beat cut at its very beginning is not heard
    around_s: float = 1.2  # run-up without a known beat: two counts at 100 BPM
    longest_cut_s: float = 12.0  # of one cut: longer findings are shown from their beginning
    little_ms: float = 60.0  # a steady lead or lag up to this or to little_share of a count is "a little": two sigma of a landing
    little_share: float = 0.12  # of a count: the band that teachers call "with the beat"
    phone_ms: float = 45.0  # the sound's way to the phone: 2.9 ms a metre, a hall's 15 m
    ready_s: float = 10.0  # of a review before and after the pictures: opening, finding the dancers, sound, judging
    picture_ms: float = 10.0  # to decode one picture of 1080p, on two cores
    fine_ms: float = 35.0  # to read one dancer in one picture carefully, on two cores
    fast_ms: float = 14.0  # and quickly
    cut_height_px: int = 720  # of the picture in a cut: feet are still plain, and a tablet plays it
    map_width_px: int = 800  # of the map of the class: numbers in the back row are still plain in half a page's width
    apart_heights: float = 1.5  # body heights from everybody else: dancers that far apart are not taken for each other
    beside_exchange_s: tuple[float, float] = (1.0, 4.0)  # s before an exchange (nearer they may be mixed up already), and around it


@dataclass(frozen=True)
class LibrarySettings:
    """What is kept of a class, and for how long."""

    name_letters: int = 40  # of a class's or lesson's name: one line of the page
    longest_yes_days: int = 400  # an agreement holds for a school year at most; then it is asked for anew
    records_kept_days: int = 400  # lessons with their judgements, ended agreements, the list of what was handed out: a school year
    warn_days: int = 14  # what goes within so many days is told first: two lessons' time to take along what is needed
    busy_s: float = 5.0  # s to wait for another window that is writing to the library
    named_letters: int = 3  # of a label that is looked for in files after its dancer was deleted: shorter ones stand in any word


@dataclass(frozen=True)
class HandoutSettings:
    """The student's view and the film that a student takes along."""

    run_counts: int = 8  # in a row with the beat before that is told as having gone well: a whole eight
    run_share: float = 0.75  # of the counts in that run that landings were seen on: holds and touches leave some out
    even_share: float = (
        0.06  # of a count: spread at which landings are called even; half the band that teachers call "with the beat"
    )
    even_landings: int = 16  # before that is told: two eights, from which a spread is known to a fifth
    sheer_sigmas: float = 2.0  # standard deviations by which a change must exceed its noise: chance alone does so once in twenty
    same_tempo: float = 0.03  # share by which two takes' tempi may differ and still be the same: a player's pitch control
    held_share: float = 0.8  # of landings with the beat from which a tempo held: of the four steps of half an eight one may miss
    tempo_step_bpm: float = 2.0  # takes nearer than that are one rung of the ladder
    most_bytes: int = 15_000_000  # of a film: mail and messengers take 16 to 25 MB
    width_px: int = 480  # of the film, upright as a phone is held
    height_px: int = 640  # and high: 3 to 4
    reach: float = 1.45  # height of the cut-out in body heights: lifted arms and a jump stay inside
    smooth_s: float = 0.6  # s over which the cut-out's path is smoothed: it follows the dancer and not the step
    show_margin: float = 0.16  # body heights of floor and air around the dancer's body that stay visible
    card_s: float = 6.0  # s that the opening card stays at least
    read_words_s: float = 2.5  # words a second that are read of it: children of ten read about 150 a minute to themselves
    title_s: float = 1.5  # s of the card before each speed
    lead_counts: int = 4  # counts before count 1 that the film begins with
    most_bits_s: int = 900_000  # bits a second of film: more is not seen at that size
    least_bits_s: int = 90_000  # and fewer make feet a smear
    speeds: tuple[float, ...] = (1.0, 0.75, 0.5)  # as danced, and two that learners ask for


@dataclass(frozen=True)
class FilmingSettings:
    """What is looked at before filming. Grey values go from 0 black to 255 white, as the file has them."""

    longest_s: float = 15.0  # s of a clip that are looked at: ten are asked for
    moments: int = 6  # pictures of a test clip that are searched for people: each costs about a second
    burst: int = 8  # pictures in a row after each of them in which shaking is measured
    edge_share: float = 0.02  # of the picture's height: floor that must be left below the lowest foot
    dark_grey: float = (
        90.0  # of dancers or of what is beside them, whichever is lighter: a lit room lies above 120; below, feet blur
    )
    glare_grey: float = 245.0  # of a pixel that a phone can make no lighter: a window or lamp
    glare_share: float = 0.25  # of what is beside the dancers that glares so before the light is said to come from behind
    behind_grey: float = 95.0  # dancers lighter than that can be read whatever is behind them
    least_timing_px: float = 150.0  # height of a dancer: then a shoe is 20 px long, and a landing is read to a picture
    least_bending_px: float = (
        200.0  # and for bending: the model sees a dancer on 256 points a side, a quarter of them margin; more adds little
    )
    most_share: float = 0.8  # of the picture's height: larger, a step towards the phone cuts feet or head
    shake_heights: float = 0.006  # body heights from picture to picture, typically: a foot on the floor then seems to move 0.3 m/s
    covered_share: float = 0.5  # of a dancer's lower leg points that lie on somebody nearer: the feet are hidden then
    side_torsos: float = 0.42  # shoulders' width in torso lengths below which a dancer is seen from the side: 55 degrees and more
    some_share: float = 1 / 3  # of the moments looked at in which something must be wrong before it is told of the whole
    largest_picture_bytes: int = 60_000_000  # of a still picture's file: no phone writes a larger one


@dataclass(frozen=True)
class ReleaseSettings:
    """The page before release: from when on clip and sheet differ."""

    tempo_bpm: float = 1.0  # beats a minute: what a sheet rounds away; a measured tempo is surer than that over a whole dance
    hidden_share: float = 0.1  # of the counts: a demonstration whose feet are hidden more often cannot be learned from
    as_written_share: float = 0.5  # of the landings judged: with fewer as written, is it this dance's sheet at all?
    most_told: int = 6  # differences told in words on the page: more would not fit its one sheet of paper, nor be read
