"""The film to take along: one dancer and nobody else, two sentences, counts and clicks at three speeds, playable on any phone."""

from __future__ import annotations

import dataclasses
import hashlib
import re
from pathlib import Path

import av
import numpy as np
import pytest
from made import made_review

from motion.base.errors import BadInput, BadStore, ClipMissing
from motion.base.types import Review, Sound
from motion.clip.pose_model import PoseModel
from motion.desk.desktop_icon import model_told, write_icon
from motion.film.encode import FOR_PHONES, Piece, put_together, write_film
from motion.film.take_home import default_handout, make_handout
from motion.film.title_cards import BACKDROP, opening_card, reading_s, title_card, wrapped
from motion.music.click_track import RATE_HZ, clicked_track
from motion.review.corrections import Correction, Masks, Point, hide
from motion.review.settings import SETTINGS
from motion.store.corrections import mask_arrays, write_corrections
from motion.store.folder import write_review

SIZE_PX = (320, 240)
#: Colours of the made film, one a dancer, far from everything that is drawn.
COLOURS = ((20, 160, 60), (60, 60, 210), (190, 40, 160))


def filmed(review: Review, path: Path) -> Review:
    """A film in which every made dancer is a block of their own colour; the review of that very file."""
    lm = review.landmarks

    def picture(k: int) -> np.ndarray:
        image = np.full((SIZE_PX[1], SIZE_PX[0], 3), 120, np.uint8)
        for p in range(len(lm.ids)):
            x = lm.image_px[k, p, :, 0].mean()
            image[:, max(0, int(x - 25)) : int(x + 25)] = COLOURS[p]
        return image

    write_film(((float(t), picture(k)) for k, t in enumerate(lm.times_s)), None, path)
    return dataclasses.replace(review, clip=dataclasses.replace(review.clip, sha256=hashlib.sha256(path.read_bytes()).hexdigest()))


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with lesson.mp4 and lesson.review: three dancers, so near that the neighbours reach into the middle one's picture."""
    folder = tmp_path_factory.mktemp("shelf")
    review = filmed(made_review(3, 6, rate_hz=12.0, size_px=SIZE_PX, name="lesson.mp4"), folder / "lesson.mp4")
    write_review(folder / "lesson.review", review, extra_arrays={}, report_html=None)
    return folder


@pytest.fixture(scope="module")
def made(shelf: Path) -> Path:
    return make_handout(shelf / "lesson.review", shelf / "lesson.mp4", 2, shelf / "hand-out.mp4")[0]


def frames(path: Path) -> tuple[np.ndarray, list[np.ndarray]]:
    with av.open(str(path)) as box:
        seen = [(frame.time, frame.to_ndarray(format="rgb24")) for frame in box.decode(video=0)]
    return np.array([t for t, _ in seen]), [image for _, image in seen]


def danced_from_s(path: Path) -> float:
    """When the dance begins, after the card and the title of its first speed."""
    with av.open(str(path)) as box:
        first = box.chapters()[1]
    return float(first["start"] * first["time_base"]) + SETTINGS.handout.title_s


def some(image: np.ndarray, colour: tuple[int, int, int]) -> int:
    return int((np.abs(image.astype(int) - colour).max(axis=2) < 40).sum())


def test_plays_on_any_phone_and_has_chapters(made: Path) -> None:
    head = made.read_bytes()
    assert head.index(b"moov") < head.index(b"mdat")  # the index first: it begins to play before it is there whole
    assert len(head) < SETTINGS.handout.most_bytes
    with av.open(str(made)) as box:
        video, audio = box.streams.video[0], box.streams.audio[0]
        assert (video.codec_context.name, video.codec_context.profile, video.codec_context.pix_fmt) == ("h264", "Main", "yuv420p")
        assert (video.width, video.height) == (480, 640)
        assert audio.codec_context.name == "aac"
        chapters = [(c["metadata"]["title"], float(c["start"] * c["time_base"])) for c in box.chapters()]
        packets = [(float(p.pts * p.time_base), p.is_keyframe) for p in box.demux(video) if p.pts is not None]
    assert [title for title, _ in chapters] == ["To begin with", "As danced", "Three quarters of the speed", "Half the speed"]
    whole_s = [t for t, key in packets if key]
    for _, start_s in chapters:  # every chapter can be jumped to
        assert min(abs(t - start_s) for t in whole_s) < 0.01


def test_three_speeds_of_the_same_pictures(made: Path) -> None:
    times_s, _ = frames(made)
    with av.open(str(made)) as box:
        starts_s = [float(c["start"] * c["time_base"]) for c in box.chapters()][1:]
    ends_s = [*starts_s[1:], np.inf]
    title_s = SETTINGS.handout.title_s
    parts = [
        times_s[(times_s > a + title_s - 1e-3) & (times_s < b - 1e-3)] - a - title_s for a, b in zip(starts_s, ends_s, strict=True)
    ]
    assert len({len(part) for part in parts}) == 1
    np.testing.assert_allclose(parts[1] * 0.75, parts[0], atol=2e-3)
    np.testing.assert_allclose(parts[2] * 0.5, parts[0], atol=2e-3)


def test_clicks_fall_on_the_counts_at_every_speed(made: Path, shelf: Path) -> None:
    review = made_review(2, 6, rate_hz=12.0, size_px=SIZE_PX)
    assert review.beats
    beats_s = review.beats.times_s
    with av.open(str(made)) as box:
        starts_s = [float(c["start"] * c["time_base"]) for c in box.chapters()][1:]
        sound = np.concatenate([f.to_ndarray()[0] for f in box.decode(audio=0)])
    first_s = float(review.beats.first_count_s or 0) - 4 * 60 / review.beats.tempo_bpm
    for start_s, speed in zip(starts_s, (1.0, 0.75, 0.5), strict=True):
        for beat_s in beats_s[(beats_s >= first_s) & (beats_s < beats_s[-3])]:
            at_s = start_s + SETTINGS.handout.title_s + (beat_s - first_s) / speed
            at = round(at_s * RATE_HZ)
            assert np.abs(sound[at : at + 900]).max() > 3 * max(0.02, np.abs(sound[at - 900 : at - 300]).mean()), (speed, beat_s)
    assert np.abs(sound[: round(0.9 * starts_s[0] * RATE_HZ)]).max() < 0.01  # nothing is heard while the card is read


def test_only_this_dancer_is_seen(made: Path) -> None:
    times_s, images = frames(made)
    danced = [image for t, image in zip(times_s, images, strict=True) if t > danced_from_s(made)]
    assert min(some(image, COLOURS[1]) for image in danced[5:24]) > 3000
    for k in (0, 2):
        assert max(some(image, COLOURS[k]) for image in danced[::3]) < 30  # a few pixels of coding at most


def test_a_neighbour_within_reach_is_covered_in_their_outline(tmp_path: Path) -> None:
    """Two dancers a third of a body height apart: with the other masked hardly anything of their colour is left."""
    whole = made_review(2, 6, rate_hz=12.0, size_px=SIZE_PX, name="c.mp4")
    lm = whole.landmarks
    moved = lm.image_px.copy()
    moved[:, 1] = moved[:, 0] + [48.0, 3.0]
    review = filmed(dataclasses.replace(whole, landmarks=dataclasses.replace(lm, image_px=moved)), tmp_path / "c.mp4")
    write_review(tmp_path / "c.review", review, extra_arrays={}, report_html=None)
    out = make_handout(tmp_path / "c.review", tmp_path / "c.mp4", 1, tmp_path / "o.mp4", apart=True)[0]
    times_s, images = frames(out)
    shown = [image for t, image in zip(times_s, images, strict=True) if t > danced_from_s(out) + 0.2]
    own, theirs = (np.mean([some(image, COLOURS[k]) for image in shown[:12]]) for k in (0, 1))
    body = 0.25 * own  # of the other's block the body's outline goes; beside it only floor would be
    assert theirs < body


def test_each_speed_can_be_a_file_of_its_own_and_as_in_a_mirror(shelf: Path, made: Path) -> None:
    files = make_handout(
        shelf / "lesson.review", shelf / "lesson.mp4", 2, shelf / "m.mp4", apart=True, mirror=True, cover_heads=False
    )
    assert [path.name for path in files] == ["m-as-danced.mp4", "m-three-quarters.mp4", "m-half.mp4"]
    assert all(path.is_file() for path in files)
    times_s, images = frames(files[0])
    k = int(np.searchsorted(times_s, danced_from_s(files[0]) + 1.0))
    with av.open(str(made)) as box:
        plain = next(f.to_ndarray(format="rgb24") for f in box.decode(video=0) if f.time >= times_s[k] - 1e-3)
    corner = (slice(0, 120), slice(0, 150))
    assert (np.abs(images[k][corner].astype(int) - plain[corner]).max(axis=2) > 60).mean() < 0.02  # writing reads the same


def test_a_head_is_covered_unless_it_may_be_shown(shelf: Path, made: Path) -> None:
    from motion.film.covers import COVER

    def disc(path: Path) -> int:
        times_s, images = frames(path)
        image = images[int(np.searchsorted(times_s, danced_from_s(path) + 1.0))]
        return int((np.abs(image.astype(int) - COVER).max(axis=2) < 6).sum())

    shown = make_handout(shelf / "lesson.review", shelf / "lesson.mp4", 2, shelf / "s.mp4", apart=True, cover_heads=False)[0]
    assert disc(made) > disc(shown) + 1000


def test_refusals_leave_nothing(shelf: Path) -> None:
    folder, clip = shelf / "lesson.review", shelf / "lesson.mp4"
    before = sorted(p.name for p in shelf.iterdir())
    for dancer, more, why in (
        (4, {}, "no dancer 4"),
        (2, {"mask": [2]}, "must not be seen"),
        (2, {"mask": [9]}, "no dancer 9"),
    ):
        with pytest.raises(BadInput, match=why):
            make_handout(folder, clip, dancer, shelf / "n.mp4", **more)  # type: ignore[arg-type]
    with pytest.raises(BadInput, match=r"does not end in \.mp4"):
        make_handout(folder, clip, 1, shelf / "n.avi")
    with pytest.raises(ClipMissing):
        make_handout(folder, shelf / "nowhere.mp4", 1, shelf / "n.mp4")
    with pytest.raises(BadStore, match="There is no folder"):
        make_handout(folder, clip, 1, shelf / "no" / "n.mp4")
    filmed_as = clip.read_bytes()
    for name in ("lesson.mp4", "also.mp4"):  # by its own name, and by another one of the same file
        if not (shelf / name).exists():
            (shelf / name).hardlink_to(clip)
        with pytest.raises(BadInput, match="is the clip itself"):
            make_handout(folder, clip, 1, shelf / name)
    (shelf / "also.mp4").unlink()
    assert clip.read_bytes() == filmed_as
    small = dataclasses.replace(SETTINGS.handout, most_bytes=20_000)
    with pytest.raises(BadInput, match=r"do not fit into one film.*separate files"):
        make_handout(folder, clip, 1, shelf / "n.mp4", settings=small)
    assert sorted(p.name for p in shelf.iterdir()) == before


def test_whoever_is_covered_for_good_gets_no_film_and_is_in_nobodys(tmp_path: Path) -> None:
    whole = made_review(2, 6, rate_hz=12.0, size_px=SIZE_PX, name="c.mp4")
    near = whole.landmarks.image_px.copy()
    near[:, 1] = near[:, 0] + [60.0, 0.0]
    whole = filmed(dataclasses.replace(whole, landmarks=dataclasses.replace(whole.landmarks, image_px=near)), tmp_path / "c.mp4")
    lm = whole.landmarks
    x, y = lm.image_px[12, 0, [23, 24]].mean(0)
    said = Correction("hide", Point(1.0, float(x), float(y)), numbers=(1,))
    folder = tmp_path / "c.review"
    write_review(folder, whole, extra_arrays={}, report_html=None)
    write_corrections(folder, {whole.clip.sha256: (said,)})
    with pytest.raises(BadStore, match="Somebody is to be covered"):  # said, and not yet worked in
        make_handout(folder, tmp_path / "c.mp4", 2, tmp_path / "o.mp4")
    hidden = hide(lm, (said,), Masks(), SIZE_PX, SETTINGS.desk)
    left = dataclasses.replace(whole.dancers[1], track=dataclasses.replace(whole.dancers[1].track, id=1))
    rest = dataclasses.replace(whole, landmarks=hidden.landmarks, dancers=(left,))
    write_review(folder, rest, extra_arrays=mask_arrays(hidden.masks), report_html=None)
    with pytest.raises(BadInput, match="no dancer 2"):
        make_handout(folder, tmp_path / "c.mp4", 2, tmp_path / "o.mp4")
    film = make_handout(folder, tmp_path / "c.mp4", 1, tmp_path / "o.mp4", apart=True)[0]
    _, images = frames(film)
    assert max(some(image, COLOURS[0]) for image in images[::3]) < 30


def test_default_place() -> None:
    assert default_handout(Path("/a/lesson.review"), 2) == Path("/a/lesson-dancer-2.hand-out.mp4")


def test_cards_hold_their_words() -> None:
    settings = SETTINGS.handout
    long = [
        "Every landing was with the beat on wall 1, count 28 (4 in the 4th eight) to wall 2, count 26.",
        "On " + "wall 3, count 5 " * 9,
    ]
    card = opening_card(long, "Dancer 2 · Late ferry", settings)
    ink = (card < 150).all(axis=2)
    assert ink.any()
    assert not ink[:, :20].any()
    assert not ink[:, -20:].any()  # nothing runs over the right edge
    assert not ink[-20:].any()
    assert (title_card("Half the speed", settings) > 200).all(axis=2).any()
    assert wrapped("a bb ccc", 20, 1) == ["a", "bb", "ccc"]
    assert wrapped("a bb ccc", 20, 10_000) == ["a bb ccc"]
    assert BACKDROP != (0, 0, 0)


def test_the_card_stays_until_a_child_has_read_it() -> None:
    """At 150 words a minute 33 words take 13.2 s; a short card stays 6 s."""
    assert reading_s(["one two three"], SETTINGS.handout) == 6.0
    assert reading_s(["word " * 13, "word " * 20], SETTINGS.handout) == 14.0


def test_backing_begins_each_click_at_its_count() -> None:
    beats_s, counts = 0.5 + 0.5 * np.arange(8), np.arange(8) % 8 + 1
    track = clicked_track(beats_s, counts, duration_s=5.0, music=False)
    onsets = np.flatnonzero((np.abs(track[1:]) > 0) & (np.abs(track[:-1]) == 0)) + 1
    assert set(np.round(beats_s * RATE_HZ).astype(int)) <= {int(o) + d for o in onsets for d in (-1, 0, 1)}
    np.testing.assert_array_equal(track, clicked_track(beats_s, counts, duration_s=5.0, music=False))
    loud = clicked_track(beats_s, counts, duration_s=5.0)
    assert np.abs(loud).max() <= 1.0
    assert np.abs(loud).sum() > 1.5 * np.abs(track).sum()
    waltz = clicked_track(beats_s[:6], np.arange(6) + 1, duration_s=5.0)
    assert not np.array_equal(waltz, clicked_track(beats_s[:6], np.arange(6) + 1, duration_s=5.0, low=True))
    assert np.abs(waltz[: round(0.49 * RATE_HZ)]).max() == 0
    assert not len(clicked_track(np.zeros(0), np.zeros(0, np.int64), duration_s=1.0).nonzero()[0])


def test_pieces_put_together_keep_their_own_times(tmp_path: Path) -> None:
    images = ((0.1 * k, np.full((64, 64, 3), 8 * k, np.uint8)) for k in range(30))
    write_film(images, None, tmp_path / "w.mp4", coding=FOR_PHONES, whole_at=(1.0, 2.0))
    silence = Sound(np.zeros(RATE_HZ * 6, np.float32), RATE_HZ, 0.0)
    put_together(tmp_path / "w.mp4", [Piece(2.0, 3.0, 0.5, "b"), Piece(1.0, 2.0, 1.0, "a")], silence, tmp_path / "o.mp4")
    times_s, shown = frames(tmp_path / "o.mp4")
    np.testing.assert_allclose(times_s, np.concatenate([0.2 * np.arange(10), 2.0 + 0.1 * np.arange(10)]), atol=1e-3)
    level = [float(image.mean()) for image in shown]
    assert level[0] == pytest.approx(160, abs=6)
    assert level[10] == pytest.approx(80, abs=6)


@pytest.mark.parametrize(
    ("system", "name"), [("linux", "Countfall.desktop"), ("darwin", "Countfall.command"), ("win32", "Countfall.cmd")]
)
def test_an_icon_opens_the_page(tmp_path: Path, system: str, name: str) -> None:
    path = write_icon(tmp_path, system=system)
    assert path.name == name
    text = path.read_text(encoding="utf-8")
    assert "-m" in text
    assert "motion" in text
    assert (
        text.rstrip().splitlines()[-1] if system != "linux" else re.search(r'^Exec="[^"]+" "-P" "-m" "motion" "open"$', text, re.M)
    )
    assert path.stat().st_mode & 0o100
    assert [p.name for p in tmp_path.iterdir()] == [name]
    with pytest.raises(BadStore, match="countfall open"):
        write_icon(tmp_path / "nowhere", system=system)


def test_the_model_in_use_is_told_without_a_network(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COUNTFALL_CACHE", str(tmp_path))
    monkeypatch.delenv("COUNTFALL_MODEL", raising=False)
    assert "not on this computer yet" in model_told().words
    monkeypatch.setenv("COUNTFALL_MODEL", str(tmp_path / "mine.task"))
    assert "a model of your own" in model_told().words
    assert model_told().figures == ("Its file is mine.task.",)


@pytest.mark.parametrize(("here", "said"), [(("fine", "fast"), "the careful model"), (("fast",), "Only the quick model")])
def test_which_model_is_said_in_words_and_its_makers_name_for_it_is_a_figure(
    here: tuple[str, ...], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("COUNTFALL_MODEL", raising=False)
    there = {quality: PoseModel(tmp_path / quality, "00", quality, f"{quality}@0.5") for quality in here}
    monkeypatch.setattr("motion.desk.desktop_icon.cached_model", there.get)
    told = model_told()
    assert said in told.words
    assert "@" not in told.words
    assert told.figures == (f"It was made from {here[0]}@0.5.",)
