"""Every threshold of the tool, with its unit and its reason.

Each room has its own frozen group (body, timing and lesson in files of their own, for their length); `Settings` bundles them, and every
review says which settings made it (`as_dict`).
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import Any

from motion.settings_body import AngleSettings as AngleSettings
from motion.settings_body import BodySettings as BodySettings
from motion.settings_body import RangeCheckSettings as RangeCheckSettings
from motion.settings_lesson import LessonSettings as LessonSettings
from motion.settings_timing import TimingSettings as TimingSettings


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
    cut_levels: float = (
        6.0  # of 255, mean over the fields: dancers moving within one framing change it by 1 to 3, another place by 20
    )
    cut_times: float = 6.0  # as much as pictures lately change from one to the next: a moving camera makes no cuts
    cut_memory: int = 30  # pictures that "lately" are: one second
    cut_held: int = 4  # pictures by which a cut must outlast a flash
    cut_short_s: float = 0.5  # a file that ends so much before it says it would was cut off; headers round to less
    uneven_ms: float = 2.0  # files that round times to milliseconds or to 1/600 s jitter by less
    uneven_share: float = 0.02  # share of intervals off the usual one from which picture times count as uneven
    sound_rate_hz: int = 44_100  # what the music room expects; most phones record 44.1 or 48 kHz
    sound_gap_s: float = 0.010  # jitter of phones' sound time stamps is less; a jump past it is a real gap (or overlap)
    fetch_s: float = 900.0  # 40 MB over a slow line (0.4 Mbit/s) take a quarter of an hour


@dataclass(frozen=True)
class MusicSettings:
    """Beats in the sound."""

    shortest_music_s: float = 2.0  # below it not even four beats at a slow tempo fit
    silence_dbfs: float = -70.0  # dB of full scale, loudest twentieth: below it a phone recorded nothing but its own noise
    quiet_db: float = -45.0  # dB below the clip's loud level: no music is played so softly between its own notes
    hop_s: float = 0.005  # s between values of the flux: a beat at 220 BPM is 55 of them, fine enough for its tempo
    window_s: float = 0.046  # s, window of the spectrum: separates bass notes 21 Hz apart (Boeck and Widmer 2013 use the same)
    flux_lag: int = 4  # hops between the frames compared, 20 ms: longer than an attack, shorter than a fast note
    per_octave: int = 24  # filters an octave, quarter tones: vibrato stays within the maximum filter's three
    compression: float = 100.0  # factor in log(1 + factor * magnitude): soft notes count, loud ones count more
    chunk: int = 2000  # frames computed at a time, 10 s: keeps memory small for long clips
    colour_every: int = 4  # flux hops a colour value, 20 ms
    fine_step_s: float = 0.001  # s, resolution of the fine curve: well below the 3 ms that a click is to be found within
    step_window_s: float = 0.020  # s of sound before and behind compared by the fine curve: the length of a drum's attack and body
    fine_edges_hz: tuple[float, ...] = (200.0, 800.0, 3000.0, 8000.0)  # Hz between the fine curve's bands, two octaves each
    lowest_bpm: float = 50.0  # beats a minute: slower music is felt and danced at its half beats
    highest_bpm: float = 220.0  # beats a minute: faster music is felt and danced at every second beat
    prior_bpm: float = 115.0  # beats a minute, middle of what line dances are danced to (76 waltz .. 200 two-step)
    prior_octaves: float = 1.0  # spread of that, so that double and half cost little against evidence
    tempo_stiffness: float = 100.0  # cost of a relative change of the period between beats (Krebs 2015)
    loud_neighbours_s: float = 4.0  # s over which the curve is held against its own loudest: one to two bars
    least_of_loudest: float = 0.1  # of the clip's loudest onsets: quieter stretches are not blown up to full strength
    near_s: float = 0.020  # s about a beat that counts as on it: spread of players and of the flux's window
    rise_reach_s: float = 0.040  # s a tracked beat may move to its beginning: the search leaves errors of 16 ms
    rise_centre_s: float = 0.0015  # s from the first trace of a beginning, which the fine curve marks, to the centre of its rise
    heard_share: float = (
        0.15  # of the stronger beats' strength (their third quartile): a weaker beginning is not counted as a beat heard
    )
    rival_share: float = 0.9  # of the likeliest reading's chance from which another one is told: within 10 %
    fewest_beats: int = 6  # fewer are no pulse: five gaps that agree by chance are too likely
    punctual_s: float = 0.015  # s from the strongest beginning near it that a beat is on it: twice the spread of one found beat
    agree_worth: float = 0.4  # of punctuality for agreement of two searches: parts counting (0.56, all agree) from talk (0.56, 0.9)
    usual_agreed: float = 0.85  # agreement that neither speaks for a beat nor against it
    least_punctual: float = 0.6  # share of beats that are: talk and noise seldom reach it, music starts at about 0.7
    quite_punctual: float = 0.9  # share reached by plain dance music
    met_by_chance: float = 0.45  # share of the beats of a smooth grid that talk meets: 0.2 to 0.6 on made and machine-read talk
    least_usual: float = 0.7  # share that music is taken to meet at least: counting aloud meets as few
    surely_talk: float = 6.0  # log of how much likelier talk than music, from which a stretch is left out: 400 to 1
    dance_beats: int = 16  # beats in a row that are music beside talk: two eights are the least that is danced
    agree_s: float = 0.025  # s within which two searches found the same beat
    hint_reach: float = 1.35  # factor about a given tempo that is searched: less than the square root of two, so no octave is open
    hint_octaves: float = 0.15  # spread about a given tempo: a band may play 10 % faster than the sheet says
    gap_s: float = 5.0  # s of silence that end a stretch of music: longer than a break of eight counts at a dance tempo
    metre_margin: float = 0.05  # similarity by which threes must beat fours: line dances are mostly in fours
    metre_clear: float = 0.1  # and by which threes or fours must lead to speak against a sheet: beats heard at a wrong level do not
    rises_differ_db: float = 0.75  # dB, spread over the beats, alike below: clicks that fall between samples reach 0.4, music 1.7
    colours_differ_db: float = 2.0  # dB, the same of colours: a 20 ms value more or less in a click's beat gives 1.7, music 4
    bar_lead: float = 0.15  # lead of the best bar start over the next, in standard deviations: below it is a guess
    half_from: float = 0.40  # of a beat, where places for the half beat begin to be looked for
    half_to: float = 0.75  # of a beat, where they end: before the quarter of sixteenths has its peak
    half_contrast: float = 2.0  # times the middle of the profile that a peak must reach
    half_straight: float = 0.03  # of a beat: nearer to the middle is straight
    first_count_sure: float = 0.5  # weight from which the start heard in the intro is taken as count 1
    intro_sections: int = 5  # sections of 8 (or 6) from the first beat within which a dance begins: intros of 32 counts are usual
    plain_start_weight: float = 0.3  # weight of the first section start when nothing marks the entry
    entry_db: float = 5.0  # dB, mean of all bands, by which a bar is above the loudest beat before it at a plain entry
    doubtful: float = 0.5  # confidence below which the person is warned
    floor_db: float = -25.0  # dB below a band's loud level: quieter changes are coder or room noise, or a player ahead of the band


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
    """A draft of a dance sheet from landings. Places are in leg lengths, as in TimingSettings."""

    half_off: float = (
        0.12  # counts off its half count from which a landing may be a late or early whole one: three times its spread
    )
    facing_counts: float = 0.5  # counts after a landing in which the body is looked at: a turn is over, the next step not begun
    turn_from_deg: float = 60.0  # degrees off the facing held so far from which a quarter was turned: nearer to it than to none
    turn_follow: float = 0.3  # share by which the facing held follows what is seen: the view from one camera drifts with the place
    stays: float = 0.22  # apart from where it stood: less is a foot set down on the spot, by the reading's error of 0.2
    crossed: float = 0.08  # to its own side: less has reached or passed the other foot, as in TimingSettings
    close: float = 0.12  # forward or back: a crossed foot that is less than this away is beside the other, not across it
    turning_slack: float = (
        0.15  # more is asked of a step forward or back while the body turns: its own forward is then less certain
    )
    side: float = 0.38  # to its own side: wider than standing by more than the reading's error
    ahead: float = 0.22  # forward or back: a step, not a foot closed
    heel_ahead: float = 0.38  # in front: a heel is set out at arm's length of a foot, a touch beside


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
class PracticeSettings:
    """A clap in view, taps, a song of one's own, and the counted sound track."""

    sound_m_s: float = 343.2  # m/s, sound in dry air at 20 degrees C (331.3 * sqrt(1 + 20 / 273.15)); a hall's 15 to 25 move it 1 %
    farthest_m: float = 100.0  # from phone to loudspeaker: longer than any hall
    # a clap in view; a torso is from mid-shoulder to mid-hip, about half a metre
    clap_reach_s: float = 0.25  # between picture and sound: the worst phones and 15 m of hall together stay below
    wrists_meet_torsos: float = 0.45  # apart at most where palms meet: wrists then are a palm's length or less apart
    wrists_open_torsos: float = 0.5  # further apart than that before: a clap swings by a forearm, folded hands do not
    wrists_part_torsos: float = 0.15  # and so much further apart after it: hands that stay folded are no clap
    clap_swing_s: float = 0.35  # before and after the meeting in which the hands are to be that far apart
    clap_speed_torsos_s: float = 2.0  # 1 m/s of one wrist against the other: the slowest clap that is still heard
    clap_rest_s: float = 0.15  # s that hands may rest together after contact: they are nearest at any moment of it
    clap_rise_s: float = 0.002  # s from the first trace of a bang, which the fine curve marks, to the bang: measured on made claps
    clap_gap_share: float = 0.12  # of the gap between pictures that stays open however clean the fit: measured on made claps
    clap_fit_after_s: float = 0.09  # s after contact: hands rest together or spring back, both straight so briefly
    facing_torsos: float = 0.42  # shoulders' width from which the hands are seen beside each other: 55 degrees from the front
    seen: float = 0.5  # the model's own word that a wrist is in view
    wrist_noise_torsos: float = 0.02  # of a wrist against the other between neighbouring pictures: 1 % of body height
    wrist_noise_most_torsos: float = 0.06  # above it contacts are 20 ms and more off: somebody far off, or in poor light
    clap_onset: float = 0.9  # least of the onset curve: power grows about sixfold in all bands at once; drums fill one or two
    clap_alone: float = 0.5  # share of a clap's onset that nothing else about it may reach, or it is not known which one it is
    clap_alone_s: float = 0.75  # s either way in which that holds: music of 50 BPM and more has another beat in there
    clap_agree_ms: float = 40.0  # claps of one clip that differ by more were not all claps
    clap_drift_most_ms_per_min: float = 18.0  # by which claps far apart may differ besides: 300 millionths of clock against clock
    clap_floor_ms: float = 4.0  # of one clap besides its noise: where in the exposure a picture's time lies, and hands that give
    clap_drift_s: float = 20.0  # between claps from which a drift is told: below, 10 ms of noise look like 500 parts in a million
    # taps
    tap_double: float = 0.45  # of the usual gap: two taps nearer together are one finger that bounced
    tap_least_s: float = 0.15  # s between two taps of one finger: faster than any music is counted (400 beats a minute)
    tap_stray: float = (
        0.3  # of a gap off the even pulse from which a tap is left out: past it, it may as well belong to the & count
    )
    tap_share: float = 0.8  # of the taps that must lie on the pulse: of taps at random half or more do by chance
    fewest_taps: int = 6  # five gaps: with fewer a missed tap cannot be told from a slow beat
    tap_spread: float = 0.12  # of a gap, spread of taps at which nothing is left of the confidence; people show 0.03 to 0.06
    tap_film_s: float = 40.0  # s of the clip to tap along with: 64 counts at a usual tempo
    tap_height_px: int = 360  # of its picture: enough to see whom one taps for, and ready in seconds
    # a song of one's own
    song_speed: float = 0.03  # share by which a player may run fast or slow: pitch controls of teachers' players seldom go further
    song_speed_step: float = 0.002  # between speeds tried: over a piece of song_piece_s the song slips by 10 ms at most
    song_piece_s: float = 20.0  # s of the clip looked for at once: two phrases, enough to be unlike every other place
    song_hop_s: float = 0.020  # s between values compared: an onset's width
    song_least_s: float = 6.0  # s of the clip that must hold the song: three bars
    song_window_s: float = 6.0  # s of the windows by which the match is followed through the clip
    song_slip_s: float = 0.060  # s a window may lie off the line so far: half a sixteenth at 120 BPM
    song_exact_s: float = 0.006  # s about the line within which a window still agrees with it: echoes of a hall move onsets by less
    song_share: float = (
        0.5  # of the matched windows that must agree so well: another song at the same tempo meets it by chance only
    )
    song_likeness: float = 0.35  # least correlation of the tones: made songs score 0.6 under talk and noise, others 0.22 at most
    song_fades: float = 0.4  # of the usual agreement: below it the song is no longer heard there
    song_lead: float = 1.1  # times the next best place: below, the song repeats itself and whole phrases may be mixed up
    song_edge_s: float = 1.0  # s about the ends of a match that belong to it: the mean over 2 s by which the ends are found
    # the counted sound track
    stretch_frame_s: float = 0.045  # s of sound laid over the next: two periods of a bass note; longer ones echo every drum
    stretch_seek_s: float = 0.012  # s either way in which a piece may be taken: a period of 80 Hz
    count_silence_s: float = 0.3  # s before the count-in: players swallow the very beginning of a file
    under_count: float = 0.5  # of full scale, peak of the clip's sound: the counts over it are then heard, and nothing is cut off


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


@dataclass(frozen=True)
class Settings:
    """All groups together."""

    clip: ClipSettings = field(default_factory=ClipSettings)
    music: MusicSettings = field(default_factory=MusicSettings)
    body: BodySettings = field(default_factory=BodySettings)
    angles: AngleSettings = field(default_factory=AngleSettings)
    range_check: RangeCheckSettings = field(default_factory=RangeCheckSettings)
    timing: TimingSettings = field(default_factory=TimingSettings)
    dance: DanceSettings = field(default_factory=DanceSettings)
    draft: DraftSettings = field(default_factory=DraftSettings)
    desk: DeskSettings = field(default_factory=DeskSettings)
    page: PageSettings = field(default_factory=PageSettings)
    practice: PracticeSettings = field(default_factory=PracticeSettings)
    library: LibrarySettings = field(default_factory=LibrarySettings)
    lesson: LessonSettings = field(default_factory=LessonSettings)
    handout: HandoutSettings = field(default_factory=HandoutSettings)
    release: ReleaseSettings = field(default_factory=ReleaseSettings)
    filming: FilmingSettings = field(default_factory=FilmingSettings)

    def as_dict(self) -> dict[str, Any]:
        """Plain nested dictionary, for the review's `made_by`."""
        return asdict(self)


SETTINGS = Settings()
