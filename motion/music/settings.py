"""Thresholds of the music package, each with its unit and its reason: beats, a clap in view, taps, a known song."""

from __future__ import annotations

from dataclasses import dataclass


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
    clap_speed_torsos_s: float = 2.0  # 1 m/s of one wrist against the other at their fastest: the slowest clap that is still heard
    clap_rest_s: float = 0.3  # s that hands may rest together after contact: longer, and they are folded
    clap_open_s: float = 0.15  # s before they close that still waiting hands are looked at: shows where closing begins
    clap_rise_s: float = 0.002  # s from the first trace of a bang, which the fine curve marks, to the bang: measured on made claps
    clap_fit_after_s: float = 0.12  # s after contact that are looked at: enough to see where hands rest, before they part far
    clap_before_s: float = 0.03  # s before hands are first read as near as at rest that contact is looked for: readings shake
    clap_fewest_frames: int = 5  # about a clap, or there are more unknowns than readings: two closing, the ends, one after
    hands_near_torsos: float = 0.7  # apart, from which on one hand begins to cover the other and the pose model mixes them up
    hands_met_torsos: float = 0.3  # apart, from which on it fully does; between, in proportion
    hands_near_noise_torsos: float = 0.08  # of the wrists there, besides: largest of 0.05 to 0.09 on three claps of drawn people
    hands_near_lasts_s: float = (
        0.3  # s over which nine tenths of that error fade: covered hands are held apart as long as they are covered
    )
    hands_give_torsos: float = 0.05  # in a tenth of a second by which wrists may still come nearer after contact: palms give
    opening_share: float = 0.15  # of the widest opening seen by which the true one may differ: frames miss the turn
    elbows_close_torsos: float = 0.12  # by which elbows must come nearer in a clap to show when it ends: four times their noise
    elbow_noise_torsos: float = 0.03  # of one elbow against the other: 1.5 % of body height
    elbow_lag_s: float = 0.010  # s by which elbows may stop before or after the palms: arms give
    facing_torsos: float = 0.42  # shoulders' width from which the hands are seen beside each other: 55 degrees from the front
    seen: float = 0.5  # the model's own word that a wrist is in view
    wrist_noise_torsos: float = 0.02  # of a wrist against the other between neighbouring pictures: 1 % of body height
    wrist_noise_lasts_s: float = 0.06  # s over which the half of that error fades that is not new in every frame
    wrist_noise_most_torsos: float = 0.06  # above it contacts are 20 ms and more off: somebody far off, or in poor light
    clap_onset: float = 0.9  # least of the onset curve: power grows about sixfold in all bands at once; drums fill one or two
    clap_alone: float = 0.5  # share of a clap's onset that nothing else about it may reach, or it is not known which one it is
    clap_alone_s: float = 0.75  # s either way in which that holds: music of 50 BPM and more has another beat in there
    clap_agree_ms: float = 40.0  # claps of one clip that differ by more were not all claps
    clap_drift_most_ms_per_min: float = 18.0  # by which claps far apart may differ besides: 300 millionths of clock against clock
    clap_floor_ms: float = 4.0  # of one clap besides its noise: where in the exposure a picture's time lies, and hands that give
    clap_common_ms: float = 10.0  # ms, of all claps of a clip alike: the pose model joins hands early, 9 to 31 ms on 3 drawn claps
    clap_sure_ms: float = 35.0  # ms, 95 % of an offset: wider takes out less than a quarter of the 45 ms that a phone may add
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
