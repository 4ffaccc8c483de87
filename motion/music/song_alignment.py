"""A known song found again in a clip's sound, so that its beats and its count 1 are known exactly.

Both sounds come as onset curves and as tones. What is compared is how each of them changes, band by band and against its own
surroundings, and which tones stand out: gain, the colour of a room and of a phone, and whoever talks over it change that little.
Onsets say where a beat lies, tones which of many beats it is, and whether it is this song at all. A song played a little fast or
slow is found by trying speeds, with its pitch moved along and without.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from motion.base.types import BeatGrid, Floats, NotMeasured
from motion.music.beats import cut
from motion.music.counts import changed, time_of
from motion.music.onset_strength import OnsetCurve
from motion.music.pitch import HOP_S, PER_OCTAVE, TONES, Tones
from motion.music.settings import PracticeSettings

WHAT = "the song"


@dataclass(frozen=True)
class SongMatch:
    """Where a song lies in a clip: its moment s is heard at start_s + s / speed. from_s, until_s: the stretch of the clip in which
    it was followed; sigma_ms of that line; share 0..1 of the windows in there that agree; lead: how much more alike than the next
    best place, 1 is not at all."""

    start_s: float
    speed: float
    from_s: float
    until_s: float
    sigma_ms: float
    share: float
    lead: float

    def in_clip(self, song_s: Floats) -> Floats:
        """Moments (N,) of the song in seconds of the clip."""
        return np.asarray(self.start_s + song_s / self.speed)


@dataclass(frozen=True, eq=False)
class Heard:
    """One sound as it is compared: its onset curve and its tones, both on one clock."""

    curve: OnsetCurve
    tones: Tones


def find_song(clip: Heard, song: Heard, *, settings: PracticeSettings) -> tuple[SongMatch, ...] | NotMeasured:
    """Where a song is heard in a clip, in order of time: more than once when it was stopped and started again.

    The stretch may begin and end anywhere in both. NotMeasured when no place is likely, when too little of the clip agrees with
    it, or when the common stretch is too short.
    """
    first = _found(clip, song, settings)
    if isinstance(first, NotMeasured):
        return first
    found, rest = [first], [(clip.curve.from_s, first.from_s), (first.until_s, clip.curve.until_s)]
    while rest:
        from_s, until_s = rest.pop()
        # Beyond its own length a match fades over a second or so; what is left of it there is no new beginning.
        part = _part(clip, from_s + settings.song_edge_s, until_s - settings.song_edge_s)
        again = NotMeasured(WHAT, "") if part is None else _found(part, song, settings)
        if isinstance(again, SongMatch):
            found.append(again)
            rest += [(from_s, again.from_s), (again.until_s, until_s)]
    return tuple(sorted(found, key=lambda match: match.from_s))


def _part(heard: Heard, from_s: float, until_s: float) -> Heard | None:
    """The sound between two times, None when that is nothing."""
    if until_s - from_s < 1.0:
        return None
    first = max(0, int(np.ceil((from_s - heard.tones.start_s) / HOP_S)))
    last = max(first + 1, int((until_s - heard.tones.start_s) / HOP_S) + 1)
    tones = Tones(heard.tones.levels[first:last], heard.tones.start_s + first * HOP_S)
    return Heard(cut(heard.curve, from_s, until_s), tones)


def _found(clip: Heard, song: Heard, settings: PracticeSettings) -> SongMatch | NotMeasured:
    """The best stretch of the clip that holds the song.

    The liveliest pieces of the clip are looked for in the whole song at every speed within settings.song_speed; from the best
    place the match is followed window by window, and its line refined on the fine curves.
    """
    hop, least = settings.song_hop_s, settings.song_least_s
    if min(one.curve.times_s[-1] - one.curve.times_s[0] for one in (clip, song)) < least:
        return NotMeasured(WHAT, "the clip or the song is too short to compare them")
    missing = NotMeasured(WHAT, "the song was not found in the clip's sound")
    best = _likeliest(_columns(clip, settings), _columns(song, settings), settings)
    if best.tones < settings.song_likeness:
        return missing
    line = _Line(clip.curve.times_s[0] + best.clip_at * hop, song.curve.times_s[0] + best.song_at * hop, best.speed)
    followed = _followed(clip.curve, song.curve, line, settings)
    if followed is None:
        return missing
    line, at_s, agree, sigma_ms = followed
    share = float(agree.mean())
    from_s, until_s = _extent(clip.curve, song.curve, line, at_s[agree], settings)
    if share < settings.song_share or until_s - from_s < least:
        return missing
    return SongMatch(float(line.clip_s - line.song_s / line.speed), float(line.speed), from_s, until_s, sigma_ms, share, best.lead)


def carried(beats: BeatGrid, found: tuple[SongMatch, ...], *, settings: PracticeSettings) -> BeatGrid | NotMeasured:
    """A song's beats in the clip's time, where the song is heard there, as a grid of source "song".

    The song's counts go along, and its first count where it lies in the clip. A beats file's first 1 is its first count when it
    names none; beats heard in the song may leave it open.
    """
    open_one = beats.source == "sound" and beats.first_count_s is None
    one, times, counts, firsts = float(time_of(beats, 1.0)[0]), [], [], []
    for match in found:
        at_s = match.in_clip(beats.times_s)
        inside = (at_s >= match.from_s) & (at_s <= match.until_s)
        times.append(at_s[inside])
        counts.append(beats.counts[inside])
        one_s = float(match.in_clip(np.array([one]))[0])
        firsts += [one_s] if match.from_s <= one_s <= match.until_s and not open_one else []
    times_s = np.concatenate(times)
    if len(times_s) < 2:
        return NotMeasured("the beat", "the song's beats do not reach into the clip")
    longest = max(found, key=lambda match: match.until_s - match.from_s)
    doubts = ["The song alone does not say which beat is count 1."] if open_one else []
    if longest.lead < settings.song_lead:
        doubts.append(
            "The song repeats itself so much that the clip may show another of its phrases; the beat is not touched by that."
        )
    return changed(
        beats,
        source="song",
        times_s=times_s,
        counts=np.concatenate(counts),
        tempo_bpm=beats.tempo_bpm * longest.speed,
        confidence=beats.confidence * longest.share**0.5,
        first_count_s=firsts[0] if firsts else None,
        doubts=tuple(doubts),
    )


@dataclass(frozen=True)
class _Line:
    """clip_s is heard where the song is at song_s; speed: seconds of song a second of clip."""

    clip_s: float
    song_s: float
    speed: float

    def song_at(self, clip_s: Floats | float) -> Floats:
        return np.asarray(self.song_s + self.speed * (np.asarray(clip_s) - self.clip_s))


@dataclass(frozen=True, eq=False)
class _Columns:
    """What is compared, every song_hop_s from the onset curve's first time: onsets (N, 5), tones (N, 120)."""

    onsets: Floats
    tones: Floats


@dataclass(frozen=True)
class _Place:
    """likeness of both kinds together and of the tones alone, -1..1; indices that fall together; speed; lead over the next best."""

    likeness: float
    tones: float
    clip_at: float
    song_at: float
    speed: float
    lead: float


def _columns(heard: Heard, settings: PracticeSettings) -> _Columns:
    """Onsets and tones about their own means and within a few seconds as strong as elsewhere."""
    curve, hop_s = heard.curve, settings.song_hop_s
    per = max(1, round(hop_s / float(curve.times_s[1] - curve.times_s[0])))
    n = len(curve.times_s) // per
    onsets = np.sqrt(curve.bands[: n * per].reshape(n, per, -1).max(axis=1).astype(float))
    at = curve.times_s[0] + hop_s * np.arange(n)
    tone_s = heard.tones.start_s + HOP_S * np.arange(len(heard.tones.levels))
    tones = np.stack([np.interp(at, tone_s, heard.tones.levels[:, k].astype(float)) for k in range(TONES)], axis=1)
    return _Columns(_levelled(onsets, True, hop_s), _levelled(tones, False, hop_s))


def _levelled(x: Floats, each: bool, hop_s: float) -> Floats:
    """x (N, columns) about its moving mean over 4 s, divided by its moving spread: of each column, or of all together."""
    from scipy.ndimage import uniform_filter1d

    wide = round(4.0 / hop_s)
    x = x - uniform_filter1d(x, wide, axis=0)
    power = uniform_filter1d(x**2, wide, axis=0)
    if not each:
        power = power.mean(axis=1, keepdims=True)
    return np.asarray(x / (np.sqrt(power) + 0.1 * np.sqrt(power.mean(axis=0)) + 1e-9))


def _likeliest(heard: _Columns, known: _Columns, settings: PracticeSettings) -> _Place:
    """The best place in the song for the clip's three liveliest pieces."""
    size = min(len(heard.onsets), round(settings.song_piece_s / settings.song_hop_s))
    lively = np.convolve(np.abs(heard.onsets).sum(axis=1), np.ones(size), mode="valid")
    starts: list[int] = []
    for k in np.argsort(lively)[::-1]:
        if len(starts) < 3 and all(abs(int(k) - s) >= size for s in starts):
            starts.append(int(k))
    found = [_place(_Columns(heard.onsets[s : s + size], heard.tones[s : s + size]), s, known, settings) for s in starts]
    return max(found, key=lambda place: place.likeness)


def _place(piece: _Columns, start: int, known: _Columns, settings: PracticeSettings) -> _Place:
    """Where a piece of the clip, which begins at index start, fits best into the song."""
    n = len(piece.onsets)
    steps = round(settings.song_speed / settings.song_speed_step)
    onsets, tones = _Finder(known.onsets, n), _Finder(known.tones, n)
    best: tuple[float, float, int, float] = (-np.inf, 0.0, 0, 1.0)
    likeness = np.full(onsets.places, -np.inf)
    for speed in 1 + settings.song_speed_step * np.arange(-steps, steps + 1):
        struck = onsets.alike(piece.onsets, speed)
        # A player may keep the pitch when it runs fast, or let it rise with the speed.
        risen = round(PER_OCTAVE * np.log2(speed))
        for shift in {0, risen}:
            # What the clip plays a quarter tone higher than the song is moved down to it.
            sung = tones.alike(np.roll(piece.tones, -shift, axis=1), speed)
            both = (struck + sung) / 2
            k = int(np.argmax(both))
            best = max(best, (float(both[k]), float(sung[k]), k, float(speed)))
            likeness = np.maximum(likeness, both)
    value, sung_there, k, speed = best
    apart = np.abs(np.arange(len(likeness)) - k) > round(0.25 / settings.song_hop_s)
    second = float(likeness[apart].max()) if apart.any() else 0.0
    return _Place(value, sung_there, start + n / 2, k + n / 2 - n // 2, speed, value / max(second, 1e-9))


class _Finder:
    """A song's columns (N, columns), ready to be compared with pieces of n rows at every place; half a piece may hang over."""

    def __init__(self, known: Floats, n: int) -> None:
        from scipy.fft import next_fast_len, rfft

        over = np.zeros((n // 2, known.shape[1]))
        padded = np.concatenate([over, known, over, np.zeros((max(0, n - len(known) - 2 * len(over)), known.shape[1]))])
        self.places = len(padded) - n + 1
        self._size = next_fast_len(len(padded) + n)
        self._spectrum = rfft(padded, self._size, axis=0)
        energy = np.concatenate([[0.0], np.cumsum(np.sum(padded**2, axis=1))])
        under = energy[n:] - energy[:-n]
        self._under = np.maximum(under, 0.4 * float(np.median(under)) + 1e-9)

    def alike(self, piece: Floats, speed: float) -> Floats:
        """Correlation (places,) of the piece (n, columns), as it would be at the song's own speed about its middle."""
        from scipy.fft import irfft, rfft

        n = len(piece)
        source = (np.arange(n) - n / 2) / speed + n / 2
        at = np.clip(source, 0, n - 1)
        low = np.minimum(at.astype(int), n - 2)
        bent = piece[low] + (at - low)[:, None] * (piece[low + 1] - piece[low])
        bent[(source < 0) | (source > n - 1)] = 0
        product = irfft((self._spectrum * np.conj(rfft(bent, self._size, axis=0))).sum(axis=1), self._size)[: self.places]
        return np.asarray(product / np.sqrt(self._under * np.sum(bent**2) + 1e-12))


def _extent(clip: OnsetCurve, song: OnsetCurve, line: _Line, agree_s: Floats, settings: PracticeSettings) -> tuple[float, float]:
    """From when until when the song is heard in the clip: where beginnings in both still coincide."""
    from scipy.ndimage import uniform_filter1d

    heard, known = _even(clip), _even(song)
    half = settings.song_window_s / 2
    t = np.arange(agree_s[0] - half, agree_s[-1] + half, 0.01)
    x = np.interp(t, heard[1] + heard[2] * np.arange(len(heard[0])), heard[0], left=0.0, right=0.0)
    y = np.interp(line.song_at(t), known[1] + known[2] * np.arange(len(known[0])), known[0], left=0.0, right=0.0)
    common = uniform_filter1d(x * y, round(2.0 / 0.01), mode="constant")
    on = np.flatnonzero(common > settings.song_fades * np.median(common))
    # The mean over 2 s falls to half where the song ends.
    return float(max(t[on[0]], clip.from_s)), float(min(t[on[-1]], clip.until_s))


def _followed(
    clip: OnsetCurve, song: OnsetCurve, line: _Line, settings: PracticeSettings
) -> tuple[_Line, Floats, np.ndarray, float] | None:
    """The line through all windows of the clip, their middles (W,), which of them agree (W,), and the line's sigma in ms."""
    half = settings.song_window_s / 2
    step = settings.song_window_s / 4
    heard, known = _even(clip), _even(song)
    slips: dict[float, float] = {}
    start = float(np.clip(line.clip_s, clip.times_s[0], clip.times_s[-1]))
    for way in (1, -1):
        here, at = line, start if way > 0 else start - step
        lost = 0
        while clip.times_s[0] + 0.5 * half <= at <= clip.times_s[-1] - 0.5 * half and lost < 8:
            song_at = float(here.song_at(at))
            if not song.times_s[0] - half < song_at < song.times_s[-1] + half:
                break
            slip = _slip(heard, known, at, here, settings.song_slip_s, half)
            if slip is None:
                lost += 1
            else:
                lost = 0
                slips[at] = slip + song_at - float(line.song_at(at))
                near = sorted(slips, key=lambda t: abs(t - at))[:8]  # the line is led by what was found last
                here = _through(np.array(near), np.array([slips[t] for t in near]), line)
            at += way * step
    if len(slips) < 3:
        return None
    at_s = np.array(sorted(slips))
    off = np.array([slips[t] for t in at_s])
    line = _through(at_s, off, line)
    off = np.array(
        [np.nan if (s := _slip(heard, known, float(t), line, settings.song_slip_s / 2, half)) is None else s for t in at_s]
    )
    fine = np.isfinite(off)
    if int(fine.sum()) < 3:
        return None
    line = _through(at_s[fine], off[fine], line, most=len(off))
    rest = np.array(
        [np.nan if (s := _slip(heard, known, float(t), line, settings.song_slip_s / 2, half)) is None else s for t in at_s]
    )
    agree = np.abs(rest) <= settings.song_exact_s
    if int(agree.sum()) < 3:
        return None
    # Neighbouring windows share three quarters of their sound, so only every fourth one counts by itself.
    sigma_ms = 1000 * float(np.std(rest[agree])) / np.sqrt(max(1.0, agree.sum() / 4))
    return line, at_s, agree, max(sigma_ms, 0.5)


def _even(curve: OnsetCurve) -> tuple[Floats, float, float]:
    """The fine curve about its mean, the time of its first value and its step."""
    fine = np.sqrt(np.maximum(curve.fine.astype(float), 0.0))
    return fine - fine.mean(), curve.fine_start_s, curve.fine_step_s


def _slip(
    heard: tuple[Floats, float, float], known: tuple[Floats, float, float], at_s: float, line: _Line, reach_s: float, half_s: float
) -> float | None:
    """Seconds of song by which the clip's window about at_s lies off the line, None where the best place is at the edge."""
    t = at_s + np.arange(-half_s, half_s, 0.001)
    x = np.interp(t, heard[1] + heard[2] * np.arange(len(heard[0])), heard[0], left=0.0, right=0.0)
    most = round(reach_s / 0.001)
    s = line.song_at(t)
    pace = float(s[1] - s[0])
    wide = s[0] + pace * np.arange(-most, len(t) + most)
    y = np.interp(wide, known[1] + known[2] * np.arange(len(known[0])), known[0], left=0.0, right=0.0)
    if not x.any() or not y.any():
        return None
    # Onsets are a few milliseconds wide in a room: a narrow bell keeps single values from deciding.
    bell = np.exp(-0.5 * (np.arange(-9, 10) / 3.0) ** 2)
    alike = np.correlate(np.convolve(y, bell, mode="same"), x, mode="valid")
    k = int(np.argmax(alike))
    if k in (0, len(alike) - 1) or alike[k] <= 0:
        return None
    bend = alike[k - 1] - 2 * alike[k] + alike[k + 1]
    part = 0.5 * (alike[k - 1] - alike[k + 1]) / bend if bend < 0 else 0.0
    return float((k + part - most) * pace)


def _through(at_s: Floats, off: Floats, line: _Line, most: int = 0) -> _Line:
    """The line moved and turned through slips (W,), far ones weighed down; turned only when there are enough for it."""
    x, weights = at_s - line.clip_s, np.ones(len(off))
    shift, turn = float(np.median(off)), 0.0
    for _ in range(8):
        rest = off - shift - turn * x
        spread = max(0.0005, 1.4826 * float(np.median(np.abs(rest))))
        weights = 1 / (1 + (rest / (2 * spread)) ** 2)
        mean = float(np.average(x, weights=weights))
        moment = float(np.sum(weights * (x - mean) ** 2))
        if len(off) >= 4 and moment > 1.0:
            turn = float(np.sum(weights * (x - mean) * off)) / moment
        shift = float(np.average(off, weights=weights)) - turn * mean
    return _Line(line.clip_s, line.song_s + shift, line.speed + turn)
