"""Review folders: whole or not at all, read back as they were, refused where they would do harm."""

from __future__ import annotations

import csv
import dataclasses
import errno
import json
import os
import stat
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from made import made_review

from motion.base.errors import BadStore
from motion.base.types import Angles, Landmarks
from motion.store.folder import OWN_NAMES, check_out, default_out, read_review, read_stored, write_review


def write(folder: Path, **options: object) -> None:
    write_review(folder, made_review(2, 16), extra_arrays={"onset_times_s": np.arange(5) / 100}, report_html="<p>r</p>", **options)


def left_in(parent: Path) -> list[str]:
    return sorted(entry.name for entry in parent.iterdir())


def test_a_folder_holds_what_the_data_dictionary_lists(tmp_path: Path) -> None:
    write(tmp_path / "a.review")
    assert left_in(tmp_path / "a.review") == [
        "angles.csv", "beats.csv", "landmarks.npz", "report.html", "review.json", "steps.csv",
    ]  # fmt: skip
    assert left_in(tmp_path) == ["a.review"]


def test_overlay_is_written_where_it_belongs(tmp_path: Path) -> None:
    write(tmp_path / "a", overlay=lambda path: path.write_bytes(b"film") and None)
    assert (tmp_path / "a" / "overlay.mp4").read_bytes() == b"film"


def test_landmarks_clip_and_arrays_come_back_as_they_were(tmp_path: Path) -> None:
    review = made_review(2, 16)
    lm = review.landmarks
    image_px = lm.image_px.copy()
    image_px[3, 1] = np.nan
    unsure = ((), ((0.5, 1.0), (2.0, 2.25)))
    review = dataclasses.replace(review, landmarks=Landmarks(lm.times_s, lm.ids, image_px, lm.visibility, unsure))
    write_review(tmp_path / "a", review, extra_arrays={"onset_times_s": np.arange(5) / 100}, report_html=None)
    stored = read_stored(tmp_path / "a")
    np.testing.assert_array_equal(stored.landmarks.image_px, image_px)
    np.testing.assert_array_equal(stored.landmarks.times_s, lm.times_s)
    np.testing.assert_array_equal(stored.landmarks.visibility, lm.visibility)
    assert stored.landmarks.ids.tolist() == [1, 2]
    assert stored.landmarks.unsure == unsure
    assert list(stored.arrays) == ["onset_times_s"]
    np.testing.assert_array_equal(stored.arrays["onset_times_s"], np.arange(5) / 100)
    np.testing.assert_array_equal(stored.clip.times_s, review.clip.times_s)
    same = ("name", "sha256", "width_px", "height_px", "has_sound", "cut_short", "uneven_times", "first_picture_s")
    assert [getattr(stored.clip, n) for n in same] == [getattr(review.clip, n) for n in same]
    assert stored.review == read_review(tmp_path / "a")


def test_landmarks_file_has_the_promised_arrays_and_needs_no_pickle(tmp_path: Path) -> None:
    write(tmp_path / "a")
    with np.load(tmp_path / "a" / "landmarks.npz", allow_pickle=False) as stored:
        pictures = len(stored["times_s"])
        assert {n: stored[n].shape for n in ("ids", "image_px", "visibility", "format")} == {
            "ids": (2,), "image_px": (pictures, 2, 33, 2), "visibility": (pictures, 2, 33), "format": (),
        }  # fmt: skip
        assert all(stored[n].dtype.kind in "iuf" for n in stored.files)


@pytest.mark.parametrize("name", ["times_s", "format"])
def test_extra_arrays_cannot_hide_the_landmarks(tmp_path: Path, name: str) -> None:
    with pytest.raises(ValueError, match=name):
        write_review(tmp_path / "a", made_review(), extra_arrays={name: np.zeros(2)}, report_html=None)
    assert left_in(tmp_path) == []


def test_objects_are_never_stored(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="pickle"):
        write_review(tmp_path / "a", made_review(), extra_arrays={"x": np.array([{}], dtype=object)}, report_html=None)


def test_an_earlier_review_is_replaced_whole_and_its_corrections_carried_over(tmp_path: Path) -> None:
    folder = tmp_path / "a"
    write(folder, overlay=lambda path: path.write_bytes(b"old") and None)
    (folder / "corrections.json").write_text('{"1": "Ana"}')
    (folder / ".DS_Store").write_bytes(b"litter")
    write(folder)
    assert (folder / "corrections.json").read_text() == '{"1": "Ana"}'
    assert not (folder / "overlay.mp4").exists()
    assert left_in(tmp_path) == ["a"]
    assert set(left_in(folder)) <= OWN_NAMES


def test_an_empty_folder_is_filled(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    write(tmp_path / "a")
    assert read_review(tmp_path / "a")["format"] == 1


def test_a_link_to_a_folder_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "real")
    write(tmp_path / "link")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real" / "review.json").is_file()


@pytest.mark.parametrize("name", ["my lesson take 2", "практика", "练习 ä", "a.b.c", "-x"])
def test_any_name_will_do(tmp_path: Path, name: str) -> None:
    write(tmp_path / name)
    assert read_stored(tmp_path / name).landmarks.ids.tolist() == [1, 2]


def test_other_files_are_never_touched(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "holiday.jpg").write_bytes(b"x")
    with pytest.raises(BadStore, match=r"holiday\.jpg.*Choose"):
        check_out(tmp_path / "a")
    with pytest.raises(BadStore):
        write(tmp_path / "a")
    assert left_in(tmp_path / "a") == ["holiday.jpg"]


def test_beats_tapped_by_hand_are_somebody_s_file(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "beats.csv").write_text("time_s,count\n")
    with pytest.raises(BadStore, match=r"beats\.csv"):
        check_out(tmp_path / "a")


def test_a_folder_named_like_one_of_ours_is_not_ours(tmp_path: Path) -> None:
    write(tmp_path / "a")
    (tmp_path / "a" / "overlay.mp4").mkdir()
    with pytest.raises(BadStore, match=r"overlay\.mp4"):
        check_out(tmp_path / "a")


def test_places_that_cannot_take_a_folder(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    for place, words in [("file", "is a file"), ("file/a", "is a file"), ("none/a", "no folder"), ("n" * 300, "name is too long")]:
        with pytest.raises(BadStore, match=words) as refused:
            check_out(tmp_path / place)
        assert str(refused.value).count("\n") == 0
    assert left_in(tmp_path) == ["file"]


def test_a_link_that_leads_in_a_circle(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    with pytest.raises(BadStore):
        check_out(tmp_path / "a")


def test_a_name_that_this_disk_cannot_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(place: Path) -> None:
        raise OSError(errno.EINVAL, "Invalid argument")  # what a memory card says to a question mark

    monkeypatch.setattr("motion.store.folder.Path.mkdir", refuse)
    with pytest.raises(BadStore, match="invalid argument"):
        check_out(tmp_path / "who?")
    assert left_in(tmp_path) == []


def test_the_early_check_leaves_nothing_behind(tmp_path: Path) -> None:
    check_out(tmp_path / "a")
    assert left_in(tmp_path) == []


@pytest.mark.skipif(os.name != "posix", reason="Windows has no such permissions")
@pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning")  # the child only checks one folder and leaves
@pytest.mark.parametrize("closed", ["parent", "folder"])
def test_a_read_only_place_is_refused_early(tmp_path: Path, closed: str) -> None:
    (tmp_path / "p" / "a").mkdir(parents=True)
    target = tmp_path / "p" if closed == "parent" else tmp_path / "p" / "a"
    target.chmod(stat.S_IRUSR | stat.S_IXUSR)
    child = os.fork()
    if child == 0:  # root may write anywhere, so the check runs as somebody else
        try:
            tmp_path.chmod(0o755)
            if os.getuid() == 0:
                _open_the_way(tmp_path)
                for place in (tmp_path / "p", tmp_path / "p" / "a"):
                    os.chown(place, 65534, 65534)
                os.setgid(65534)
                os.setuid(65534)
            check_out(tmp_path / "p" / "a")
        except BadStore as error:
            os._exit(0 if "closed to you" in str(error) else 2)
        finally:
            os._exit(3)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
    target.chmod(0o755)
    assert left_in(tmp_path / "p") == ["a"]


def _open_the_way(place: Path) -> None:
    """Let anyone walk through the folders that pytest made for its user alone."""
    for parent in place.parents:
        if parent.owner() == "root" and parent.name.startswith("pytest"):
            parent.chmod(0o755)


def test_too_little_room_is_told_before_the_work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("motion.store.folder.shutil.disk_usage", lambda place: SimpleNamespace(free=1000))
    with pytest.raises(BadStore, match="disk is full"):
        check_out(tmp_path / "a")


def test_a_disk_that_fills_up_while_writing_leaves_the_earlier_review(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(tmp_path / "a")
    before = {name: (tmp_path / "a" / name).read_bytes() for name in left_in(tmp_path / "a")}

    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("motion.store.folder.os.fsync", full)
    with pytest.raises(BadStore, match=r"the disk is full\. Make room") as refused:
        write(tmp_path / "a", overlay=lambda path: path.write_bytes(b"new") and None)
    assert str(tmp_path / "a") in str(refused.value)
    assert left_in(tmp_path) == ["a"]
    assert {name: (tmp_path / "a" / name).read_bytes() for name in left_in(tmp_path / "a")} == before


def test_a_swap_that_fails_half_way_brings_the_earlier_review_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(tmp_path / "a")
    real, calls = os.rename, []

    def second_fails(source: object, target: object) -> None:
        calls.append(target)
        if len(calls) == 2:
            raise KeyboardInterrupt
        real(source, target)

    monkeypatch.setattr("motion.store.folder.os.rename", second_fails)
    with pytest.raises(KeyboardInterrupt):
        write(tmp_path / "a")
    assert len(calls) == 3
    assert left_in(tmp_path) == ["a"]
    assert read_review(tmp_path / "a")["format"] == 1


def test_a_failed_overlay_writes_nothing(tmp_path: Path) -> None:
    def broken(path: Path) -> None:
        path.write_bytes(b"half")
        raise RuntimeError("boom")

    with pytest.raises(RuntimeError, match="boom"):
        write(tmp_path / "a", overlay=broken)
    assert left_in(tmp_path) == []


def test_reading_tells_what_is_wrong(tmp_path: Path) -> None:
    with pytest.raises(BadStore, match="no review folder"):
        read_review(tmp_path / "none")
    with pytest.raises(BadStore, match="holds no review"):
        read_review(tmp_path)
    write(tmp_path / "a")
    review = tmp_path / "a" / "review.json"
    whole = review.read_text()
    for text, words in [
        (whole[: len(whole) // 2], "damaged"),
        ("[1]", "damaged"),
        ('{"format": "x"}', "damaged"),
        ('{"format": 0}', "damaged"),
        ('{"format": 2}', "newer version"),
        ('{"format": 1}', "damaged"),
        (json.dumps({k: v for k, v in json.loads(whole).items() if k != "beats"}), "damaged"),
        (json.dumps(json.loads(whole) | {"dancers": {}}), "damaged"),
    ]:
        review.write_text(text)
        with pytest.raises(BadStore, match=words):
            read_stored(tmp_path / "a")
    review.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(BadStore, match="damaged"):
        read_review(tmp_path / "a")


@pytest.mark.parametrize("keep", [0.0, 0.1, 0.5, 0.99])
def test_damaged_landmarks_are_told(tmp_path: Path, keep: float) -> None:
    write(tmp_path / "a")
    npz = tmp_path / "a" / "landmarks.npz"
    whole = npz.read_bytes()
    npz.write_bytes(whole[: int(keep * len(whole))])
    with pytest.raises(BadStore, match=r"landmarks\.npz is damaged"):
        read_stored(tmp_path / "a")


@pytest.mark.parametrize("place", [0.0, 0.02, 0.2, 0.35, 0.5, 0.65, 0.8, 0.95])
@pytest.mark.parametrize("noise", [bytes(60), bytes(range(200, 255))])
def test_garbled_landmarks_are_told(tmp_path: Path, place: float, noise: bytes) -> None:
    write(tmp_path / "a")
    npz = tmp_path / "a" / "landmarks.npz"
    garbled = bytearray(npz.read_bytes())
    start = int(place * len(garbled))
    garbled[start : start + len(noise)] = noise
    npz.write_bytes(bytes(garbled))
    with pytest.raises(BadStore, match=r"landmarks\.npz is damaged"):
        read_stored(tmp_path / "a")


def test_an_npz_that_says_it_is_encrypted_is_damaged(tmp_path: Path) -> None:
    write(tmp_path / "a")
    npz = tmp_path / "a" / "landmarks.npz"
    garbled = bytearray(npz.read_bytes())
    entry = garbled.index(b"PK\x01\x02")  # the first entry of the zip's list; its flags are at byte 8, bit 0 is "encrypted"
    garbled[entry + 8] |= 1
    npz.write_bytes(bytes(garbled))
    with pytest.raises(BadStore, match=r"landmarks\.npz is damaged"):
        read_stored(tmp_path / "a")


@pytest.mark.parametrize(("name", "rows"), [("ids", ...), ("image_px", np.s_[:, 0])], ids=["without a number", "nowhere seen"])
def test_landmarks_of_nobody_are_damaged(tmp_path: Path, name: str, rows: Any) -> None:
    write(tmp_path / "a")
    npz = tmp_path / "a" / "landmarks.npz"
    with np.load(npz) as stored:
        arrays = dict(stored)
    arrays[name] = arrays[name].astype(np.float64)
    arrays[name][rows] = np.nan
    with npz.open("wb") as file:
        np.savez(file, **arrays)
    with pytest.raises(BadStore, match=r"landmarks\.npz is damaged"):
        read_stored(tmp_path / "a")


def test_lost_landmarks_are_told_and_pickles_are_refused(tmp_path: Path) -> None:
    write(tmp_path / "a")
    npz = tmp_path / "a" / "landmarks.npz"
    npz.unlink()
    with pytest.raises(BadStore, match=r"lost its landmarks\.npz"):
        read_stored(tmp_path / "a")
    with npz.open("wb") as file:
        np.savez(file, times_s=np.array([{"a": 1}], dtype=object), allow_pickle=True)
    with pytest.raises(BadStore, match="damaged"):
        read_stored(tmp_path / "a")


def test_default_folder_is_named_after_the_clip_and_lies_beside_it() -> None:
    assert default_out(Path("/films/my lesson.mov")) == Path("/films/my lesson.review")
    assert default_out(Path("a.b.mp4")) == Path("a.b.review")


def test_tables_have_the_promised_columns_and_line_ends(tmp_path: Path) -> None:
    write(tmp_path / "a")
    joints = [f"{side}_{joint}" for joint in ("hip", "knee", "ankle") for side in ("left", "right")]
    columns = {
        "steps.csv": ["dancer", "time_s", "sigma_ms", "foot", "kind", "count", "offset_ms", "settled_s"],
        "beats.csv": ["time_s", "count"],
        "angles.csv": ["dancer", "time_s", *(f"{j}_flexion_deg" for j in joints), "view_deg", *(f"sigma_{j}_deg" for j in joints)],
    }
    for name, names in columns.items():
        raw = (tmp_path / "a" / name).read_bytes()
        assert raw.count(b"\r\n") == raw.count(b"\n") > 1
        assert raw.isascii()
        with (tmp_path / "a" / name).open(encoding="utf-8", newline="") as file:
            rows = list(csv.reader(file))
        assert rows[0] == names
        assert {len(row) for row in rows} == {len(names)}
        # No cell that a spreadsheet would run: every one is a number, empty or a fixed word.
        words = {"", "left", "right", "step", "touch", "shift"}
        assert all(cell in words or np.isfinite(float(cell)) for row in rows[1:] for cell in row)


def test_tables_agree_with_review_json(tmp_path: Path) -> None:
    write(tmp_path / "a")
    review = read_review(tmp_path / "a")
    with (tmp_path / "a" / "steps.csv").open(newline="") as file:
        steps = list(csv.DictReader(file))
    told = [(str(d["id"]), s) for d in review["dancers"] for s in d["steps"]]
    assert len(steps) == len(told)
    for row, (who, step) in zip(steps, told, strict=True):
        assert (row["dancer"], row["foot"], row["kind"]) == (who, step["foot"], step["kind"])
        assert [float(row[k]) for k in ("time_s", "count", "offset_ms")] == [step[k] for k in ("time_s", "count", "offset_ms")]
    with (tmp_path / "a" / "angles.csv").open(newline="") as file:
        angles = list(csv.DictReader(file))
    assert len(angles) == 2 * review["clip"]["pictures"]
    # This dancer faces the camera all the time: no bending can be trusted, and none is given a number.
    assert {row["left_knee_flexion_deg"] + row["sigma_left_knee_deg"] for row in angles} == {""}
    assert {row["view_deg"] for row in angles} == {"0.0"}


def test_an_angle_that_is_not_trusted_leaves_its_sigma_empty_too(tmp_path: Path) -> None:
    review = made_review(1, 8, start_view_deg=90.0)
    angles = review.dancers[0].angles
    assert isinstance(angles, Angles)
    angles = dataclasses.replace(angles, sigma_deg=np.full(angles.sigma_deg.shape, 4.0))
    review = dataclasses.replace(review, dancers=(dataclasses.replace(review.dancers[0], angles=angles),))
    write_review(tmp_path / "a", review, extra_arrays={}, report_html=None)
    with (tmp_path / "a" / "angles.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert {row["sigma_left_knee_deg"] for row in rows} == {"4.0"}
    assert {row["left_ankle_flexion_deg"] + row["sigma_left_ankle_deg"] for row in rows} == {""}


def test_review_json_is_strict(tmp_path: Path) -> None:
    write(tmp_path / "a")

    def refuse(constant: str) -> None:
        raise AssertionError(constant)

    json.loads((tmp_path / "a" / "review.json").read_text(encoding="utf-8"), parse_constant=refuse)
