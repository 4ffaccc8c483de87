"""The drawn-over clip: plays everywhere, keeps the pictures' own times and the sound's, covers every head, draws no verdict."""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Iterator
from pathlib import Path

import av
import numpy as np
import pytest
from made import made_review

from motion.base.errors import BadInput, ClipMissing
from motion.base.options import JudgeOptions, WatchOptions
from motion.base.types import Landmarks, NotMeasured, Picture, Review, Sound, Track
from motion.desk.review_clip import judge_folder, review_clip
from motion.film.covers import COVER, LIGHT, PLATE, Head, body_shape, boxes_over
from motion.film.encode import write_film
from motion.film.overlay import FEET, counted_sound, draw_again, draw_overlay, overlay_state, state_words
from motion.music.click_track import RATE_HZ
from motion.review.corrections import Correction, Masks, Point, hide
from motion.review.settings import SETTINGS
from motion.review.watch import Watched, stored_watch
from motion.store.folder import read_review, read_stored, write_review

GREY = (120, 120, 120)
GREEN = (0, 200, 0)
SIZE_PX = (320, 240)
UNEVEN_S = np.cumsum([0.0, 0.033, 0.05, 0.021, 0.1, 0.033, 0.04, 0.033, 0.2, 0.033])


def reviewed(dancers: int = 1, **options: object) -> Review:
    return made_review(dancers, 8, size_px=SIZE_PX, **options)  # type: ignore[arg-type]


def film(times_s: np.ndarray, size_px: tuple[int, int] = SIZE_PX, colour: tuple[int, int, int] = GREY) -> Iterator[Picture]:
    for i, time_s in enumerate(times_s):
        rgb = np.full((size_px[1], size_px[0], 3), colour, np.uint8)
        rgb.flags.writeable = False
        yield Picture(i, float(time_s), rgb)


def drawn(
    review: Review, times_s: list[float], out: Path, *, cover_heads: bool = True, colour: tuple[int, int, int] = GREY
) -> list[np.ndarray]:
    draw_overlay(film(np.array(times_s), colour=colour), review, out, cover_heads=cover_heads)
    with av.open(str(out)) as box:
        return [frame.to_ndarray(format="rgb24") for frame in box.decode(video=0)]


def near(image: np.ndarray, colour: tuple[int, int, int], off: int = 30) -> np.ndarray:
    """Where the picture has this colour, give or take what coding does to it."""
    return (np.abs(image.astype(int) - np.array(colour)).max(axis=2) < off) & (np.abs(image.astype(int) - GREY).max(axis=2) > 15)


def test_format_and_uneven_times(tmp_path: Path) -> None:
    draw_overlay(film(UNEVEN_S), reviewed(), tmp_path / "overlay.mp4")
    with av.open(str(tmp_path / "overlay.mp4")) as box:
        stream = box.streams.video[0]
        assert (stream.codec_context.name, stream.codec_context.pix_fmt) == ("h264", "yuv420p")
        assert (stream.width, stream.height) == SIZE_PX
        assert not box.streams.audio
        times_s = np.array([frame.time for frame in box.decode(video=0)])
    np.testing.assert_allclose(times_s, UNEVEN_S, atol=1 / 90_000)
    assert [p.name for p in tmp_path.iterdir()] == ["overlay.mp4"]


def test_odd_sizes_lose_a_row_and_a_column(tmp_path: Path) -> None:
    draw_overlay(film(UNEVEN_S, (321, 241)), reviewed(), tmp_path / "o.mp4")
    with av.open(str(tmp_path / "o.mp4")) as box:
        assert (box.streams.video[0].width, box.streams.video[0].height) == (320, 240)


@pytest.mark.parametrize("start_s", [0.0, 0.35, -0.2])
@pytest.mark.parametrize("first_s", [0.0, 1.0])
def test_sound_stays_on_the_pictures_clock(tmp_path: Path, start_s: float, first_s: float) -> None:
    """A click at 1.5 s of the clip is heard 1.5 s after its first picture, or 0.5 s after one that is reviewed from 1 s on."""
    rate_hz = 44_100
    samples = np.zeros(4 * rate_hz, np.float32)
    click = round((1.5 - start_s) * rate_hz)
    samples[click : click + 40] = 0.8
    times_s = first_s + np.arange(0, 2.0, 0.05)
    draw_overlay(film(times_s), reviewed(), tmp_path / "o.mp4", sound=Sound(samples, rate_hz, start_s))
    with av.open(str(tmp_path / "o.mp4")) as box:
        audio = box.streams.audio[0]
        assert audio.codec_context.name == "aac"
        heard = [(f.time, f.to_ndarray()[0]) for f in box.decode(audio)]
    peaks = [(t + int(np.argmax(np.abs(block))) / rate_hz, float(np.abs(block).max())) for t, block in heard]
    time_s, size = max(peaks, key=lambda peak: peak[1])
    assert size > 0.3
    assert time_s == pytest.approx(1.5 - first_s, abs=0.003)
    assert heard[-1][0] == pytest.approx(times_s[-1] - first_s, abs=0.05)


def test_every_head_is_covered_and_numbered(tmp_path: Path) -> None:
    review = reviewed(2)
    image = drawn(review, [1.0, 1.04], tmp_path / "o.mp4", colour=GREEN)[0].astype(int)
    # Nothing that is drawn is green: where green is gone, the picture is covered.
    covered = image[:, :, 1] - image[:, :, 0] < 60
    for i in (0, 1):
        face, tall = review.landmarks.image_px[30, i, :11], review.dancers[i].track.height_px[0]
        assert all(covered[round(y), round(x)] for x, y in face)
        x, y = face.mean(axis=0)
        disc = covered[round(y - 0.2 * tall) : round(y + 0.2 * tall), round(x - 0.2 * tall) : round(x + 0.2 * tall)]
        assert disc.sum() > np.pi * (0.09 * tall) ** 2
        assert near(image[round(y - 0.1 * tall) : round(y + 0.1 * tall), round(x) - 8 : round(x) + 8], PLATE, 60).any()


def test_whoever_is_not_to_be_seen_is_covered_whole_and_whoever_is_left_out_at_the_head(tmp_path: Path) -> None:
    """Of three, the second is covered and the third left out of the review: only the first has a number."""
    whole = reviewed(3)
    lm = whole.landmarks
    x, y = lm.image_px[30, 1, [23, 24]].mean(0)
    hidden = hide(lm, (Correction("hide", Point(1.0, x, y)),), Masks(), SIZE_PX, SETTINGS.desk)
    shown = Landmarks(lm.times_s, lm.ids[:1], lm.image_px[:, :1], lm.visibility[:, :1])
    review = dataclasses.replace(whole, landmarks=shown, dancers=whole.dancers[:1])
    times_s = np.array([1.0, 1.04])
    draw_overlay(film(times_s, colour=GREEN), review, tmp_path / "o.mp4", everyone=hidden.landmarks, masks=hidden.masks)
    with av.open(str(tmp_path / "o.mp4")) as box:
        image = next(frame.to_ndarray(format="rgb24") for frame in box.decode(video=0)).astype(int)
    covered = image[:, :, 1] - image[:, :, 0] < 60
    tall = 0.55 * SIZE_PX[1]
    low, high = lm.image_px[30, 1].min(0) - (0, 0.1 * tall), lm.image_px[30, 1].max(0)
    assert covered[round(low[1]) : round(high[1]) + 1, round(low[0]) : round(high[0]) + 1].all()
    assert all(covered[round(b), round(a)] for a, b in lm.image_px[30, 2, :11])
    assert not covered[round(lm.image_px[30, 2, 25, 1]), round(lm.image_px[30, 2, 25, 0])]  # the knee of the one left out
    # Nothing dark is written where the one left out or the one covered have their heads: no number.
    dark = image.max(axis=2) < 90
    for p, some in ((0, True), (1, False), (2, False)):
        a, b = lm.image_px[30, p, :11].mean(0)
        assert dark[round(b) - 3 : round(b) + 4, round(a) - 2 : round(a) + 3].any() == some, p


def test_heads_can_be_left_open_with_the_number_above(tmp_path: Path) -> None:
    review = reviewed()
    image = drawn(review, [1.0, 1.04], tmp_path / "o.mp4", cover_heads=False)[0]
    x, y = review.landmarks.image_px[30, 0, 0]
    assert np.abs(image[round(y), round(x)].astype(int) - GREY).max() < 15
    assert near(image, PLATE)[: round(y), round(x) - 12 : round(x) + 12].any()


def hidden(review: Review, from_picture: int, to_picture: int) -> Review:
    lm = review.landmarks
    image_px = lm.image_px.copy()
    image_px[from_picture:to_picture] = np.nan
    return dataclasses.replace(review, landmarks=Landmarks(lm.times_s, lm.ids, image_px, lm.visibility, lm.unsure))


def test_a_head_stays_covered_while_it_is_not_seen(tmp_path: Path) -> None:
    review = reviewed()
    x, y = review.landmarks.image_px[60, 0, :11].mean(axis=0)

    def covered(gone: Review, time_s: float) -> bool:
        image = drawn(gone, [time_s, time_s + 0.04], tmp_path / "o.mp4")[0]
        return bool((near(image, COVER) | near(image, PLATE, 60))[round(y), round(x)])

    assert covered(hidden(review, 45, 75), 2.0)  # a gap of a second in the middle
    last = len(review.landmarks.times_s)
    assert covered(hidden(review, 60, last), 2.5)  # half a second after the last sight
    assert not covered(hidden(review, 60, last), 4.0)  # two seconds after: the dancer has gone


def test_a_landing_is_marked_when_it_happens_and_fades(tmp_path: Path) -> None:
    review = reviewed()
    steps = review.dancers[0].steps
    assert not isinstance(steps, NotMeasured)
    time_s, right = float(steps.times_s[1]), bool(steps.right[1])
    marks = [
        int(near(image, FEET[right], 45)[150:].sum())
        for image in drawn(review, [time_s - 0.03, time_s + 0.01, time_s + 0.3, time_s + 0.5], tmp_path / "o.mp4")
    ]
    assert marks[0] == 0
    assert marks[1] > 10
    assert marks[3] == 0
    assert marks[2] < marks[1]


def test_count_and_wall_are_shown_only_while_there_is_a_beat(tmp_path: Path) -> None:
    review = reviewed()
    assert not isinstance(review.beats, NotMeasured)
    first_s = review.beats.first_count_s
    assert first_s is not None
    before, lead_in, wall = drawn(review, [0.1, first_s - 0.1, first_s + 0.1], tmp_path / "o.mp4")
    corner = (slice(0, 90), slice(0, 90))
    assert not near(before[corner], LIGHT).any()
    assert near(lead_in[corner], LIGHT).any()
    assert near(wall[corner], PLATE).sum() > near(lead_in[corner], PLATE).sum() * 1.05  # the wall's line makes the plate taller
    without = drawn(reviewed(sound=False), [first_s, first_s + 0.1], tmp_path / "p.mp4")[0]
    assert not near(without[corner], PLATE).any()


def test_each_count_shows_its_own_number(tmp_path: Path) -> None:
    review = reviewed(sheet=False)
    assert not isinstance(review.beats, NotMeasured)
    images = drawn(review, [float(t) + 0.02 for t in review.beats.times_s[8:17]], tmp_path / "o.mp4")
    shapes = [near(image[:70, :70], LIGHT, 60) for image in images]
    different = [[int((a ^ b).sum()) for b in shapes[:8]] for a in shapes[:8]]
    assert all(different[i][j] > 40 for i in range(8) for j in range(8) if i != j)
    assert (shapes[8] ^ shapes[0]).sum() < 40  # the ninth beat is count 1 again


def test_findings_change_nothing_in_the_picture(tmp_path: Path) -> None:
    review = made_review(1, 16, size_px=SIZE_PX)
    clean = dataclasses.replace(review, dancers=(dataclasses.replace(review.dancers[0], flags=()),))
    assert review.dancers[0].flags
    times_s = [float(f.time_s) + 0.05 for f in review.dancers[0].flags or ()]
    assert times_s
    with_findings, without = (drawn(one, sorted(times_s), tmp_path / "o.mp4") for one in (review, clean))
    np.testing.assert_array_equal(np.stack(with_findings), np.stack(without))


def test_marks_at_the_edge_and_outside_do_no_harm(tmp_path: Path) -> None:
    review = reviewed()
    lm, track = review.landmarks, review.dancers[0].track
    moved = Landmarks(lm.times_s, lm.ids, lm.image_px + np.array([165.0, 130.0]), lm.visibility)
    person = dataclasses.replace(review.dancers[0], track=Track(1, None, track.times_s, track.pelvis_px + 165.0, track.height_px))
    assert len(drawn(dataclasses.replace(review, landmarks=moved, dancers=(person,)), [5.0, 5.5, 6.0], tmp_path / "o.mp4")) == 3


def test_a_broken_film_leaves_nothing(tmp_path: Path) -> None:
    def breaks() -> Iterator[Picture]:
        yield from film(np.arange(120) / 30)  # past the encoder's look-ahead, so that the file has been begun
        raise RuntimeError("boom")

    with pytest.raises(RuntimeError, match="boom"):
        draw_overlay(breaks(), reviewed(), tmp_path / "o.mp4")
    assert list(tmp_path.iterdir()) == []


def test_whoever_has_not_agreed_is_covered_whole_and_nothing_is_drawn_of_them(tmp_path: Path) -> None:
    review = reviewed(2)
    lm = review.landmarks
    draw_overlay(film(np.arange(0, 8, 0.1), colour=GREEN), review, tmp_path / "o.mp4", mask=[2])
    with av.open(str(tmp_path / "o.mp4")) as box:
        images = {round(f.time, 1): f.to_ndarray(format="rgb24").astype(int) for f in box.decode(video=0)}
    for image in images.values():
        covered = image[:, :, 1] - image[:, :, 0] < 60
        low, high = lm.image_px[30, 1].min(0), lm.image_px[30, 1].max(0)
        assert covered[round(low[1]) : round(high[1]) + 1, round(low[0]) : round(high[0]) + 1].all()
        # Nothing but the plain block: no dark number, no violet or amber mark.
        inside = image[round(low[1]) : round(high[1]) + 1, round(low[0]) + 4 : round(high[0]) - 3]
        assert (np.abs(inside - COVER).max(axis=2) < 20).all()
    steps = review.dancers[0].steps
    assert steps
    after = images[round(float(np.ceil(steps.times_s[1] * 10)) / 10, 1)]
    low = after[round(lm.image_px[30, 0, 27:, 1].min()) :, : SIZE_PX[0] // 2]
    assert (low[:, :, 1] - low[:, :, 0] < 100).sum() > 10  # the other one's landings are still marked
    with pytest.raises(BadInput, match="no dancer 3"):
        draw_overlay(film(np.arange(0, 1, 0.1)), review, tmp_path / "o.mp4", mask=[3])


def test_clicks_and_music_are_heard_on_the_beats_and_silence_without() -> None:
    review = reviewed()
    assert review.beats
    sound = counted_sound(review.beats, review.clip.duration_s)
    assert sound is not None
    assert (sound.rate_hz, sound.start_s) == (RATE_HZ, 0.0)
    assert len(sound.samples) == round(review.clip.duration_s * RATE_HZ)
    for beat_s in review.beats.times_s[:6]:
        at = round(beat_s * RATE_HZ)
        assert np.abs(sound.samples[at : at + 400]).max() > 2 * np.abs(sound.samples[at - 400 : at]).max()
    assert counted_sound(None, 5.0) is None


@pytest.fixture
def lesson(tmp_path: Path) -> Path:
    """lesson.mp4 and the review of it in a folder beside."""
    review = made_review(1, 6, rate_hz=12.0, size_px=SIZE_PX, name="lesson.mp4")
    clip = tmp_path / "lesson.mp4"
    write_film(((p.time_s, p.rgb) for p in film(review.landmarks.times_s)), None, clip)
    known = dataclasses.replace(review.clip, sha256=hashlib.sha256(clip.read_bytes()).hexdigest())
    write_review(tmp_path / "lesson.review", dataclasses.replace(review, clip=known), extra_arrays={}, report_html=None)
    return tmp_path / "lesson.review"


def test_a_counted_clip_is_not_lost_when_counts_are_put_right(lesson: Path) -> None:
    clip = lesson.with_name("lesson.mp4")
    assert overlay_state(lesson) == "none"
    out = draw_again(lesson, clip)
    assert overlay_state(lesson) == "as judged"
    assert "still holds" in state_words(lesson)
    with av.open(str(out)) as box:
        assert box.streams.audio[0].codec_context.name == "aac"  # clicks, though the clip has no sound
    film_before = out.read_bytes()
    judge_folder(lesson, JudgeOptions(bpm=100.0, first_count_s=3.0))
    assert out.read_bytes() == film_before
    assert overlay_state(lesson) == "outdated"
    assert "countfall overlay" in state_words(lesson)
    draw_again(lesson, clip, cover_heads=False)
    assert overlay_state(lesson) == "as judged"
    judge_folder(lesson, JudgeOptions(bpm=100.0, first_count_s=3.0))
    assert overlay_state(lesson) == "as judged"  # judged again with the same outcome


def test_nor_when_the_same_clip_is_reviewed_again(lesson: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Watching is stood in for by what was watched before. Another clip in the same folder takes the earlier film along with it."""
    out = draw_again(lesson, lesson.with_name("lesson.mp4"))
    stored = read_stored(lesson)
    seen = {"same": stored.clip, "other": dataclasses.replace(stored.clip, sha256="1e" * 32)}

    def stand_in(path: Path, *_: object, **__: object) -> Watched:
        return stored_watch(seen[path.name], stored.landmarks, stored.arrays, {"model": {}, "settings": {}})

    monkeypatch.setattr("motion.review.watch.watch", stand_in)
    review_clip(Path("same"), lesson, WatchOptions(), JudgeOptions())
    assert out.is_file()
    review_clip(Path("other"), lesson, WatchOptions(), JudgeOptions())
    assert not out.exists()


def test_what_stops_a_counted_clip_leaves_the_earlier_one(lesson: Path) -> None:
    out = draw_again(lesson, lesson.with_name("lesson.mp4"))
    before = out.read_bytes()
    with pytest.raises(BadInput, match="no dancer 9"):
        draw_again(lesson, lesson.with_name("lesson.mp4"), mask=[9])
    with pytest.raises(ClipMissing):
        draw_again(lesson, lesson.with_name("elsewhere.mp4"))
    assert out.read_bytes() == before
    assert read_review(lesson)["dancers"]
    out.write_bytes(b"some other film")
    assert overlay_state(lesson) == "outdated"
    review = json.loads((lesson / "review.json").read_text(encoding="utf-8"))
    assert review["clip"]["name"] == "lesson.mp4"


def test_a_head_seen_from_the_side_is_covered_to_the_back() -> None:
    """Facing the picture's right, the nose lies 0.06 of the height before the ears, and the back of the head as far behind them."""
    lm = reviewed().landmarks
    px = lm.image_px[:, 0].copy()
    tall = 0.55 * SIZE_PX[1]
    middle = px[:, 7:9, 0].mean(axis=1)
    px[:, :11, 0] = middle[:, None] + 0.06 * tall * np.array([1, 0.8, 0.8, 0.8, 0.8, 0.8, 0.8, 0, 0, 0.8, 0.8])
    place = Head(1, lm.times_s, px).at(1.0)
    assert place is not None
    for edge in (0.06, -0.06):
        assert abs(np.interp(1.0, lm.times_s, middle) + edge * tall - place[0]) < place[2]


def test_boxes_and_shapes_hold_the_whole_body() -> None:
    lm = reviewed(2).landmarks
    masks = boxes_over(lm, [2])
    (left, top, right, bottom) = masks.at(1.0)[0]
    points = lm.image_px[30, 1]
    assert (points > (left, top)).all()
    assert (points < (right, bottom)).all()
    assert not len(boxes_over(lm, []).at(1.0))
    shape = body_shape(SIZE_PX, points, 0.0)
    x, y = points.astype(int).T
    assert (shape[y, x] > 0).all()
    assert (body_shape(SIZE_PX, points, 8.0) > 0).sum() > (shape > 0).sum()
    assert not body_shape(SIZE_PX, np.full((33, 2), np.nan), 0.0).any()


def test_a_head_of_whom_only_the_face_is_known_is_covered_whole() -> None:
    """Of people who stand by only faces are kept: the disc is then as large as for a dancer of the same size, or nearly so."""
    lm = reviewed().landmarks
    face = np.full_like(lm.image_px[:, 0], np.nan)
    face[:, :11] = lm.image_px[:, 0, :11]
    whole, alone = Head(1, lm.times_s, lm.image_px[:, 0]).at(1.0), Head(0, lm.times_s, face).at(1.0)
    assert whole is not None
    assert alone is not None
    assert 0.9 * whole[2] < alone[2] < 1.4 * whole[2]
