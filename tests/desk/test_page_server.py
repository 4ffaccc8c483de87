"""How the page is started: every setting handed over, nothing sent anywhere, ended cleanly."""

from __future__ import annotations

import socket
import sys
import tomllib
from pathlib import Path

import pytest

from motion.base.errors import BadInput, BadStore, ClipMissing
from motion.desk import page_server
from motion.desk.page_server import OPTIONS, THEME, arguments, dances, free_port, open_page, page_file, samples

TOP = Path(__file__).resolve().parents[2]


def flags(port: int = 8600) -> dict[str, str]:
    words = arguments(port)[6:]
    return dict(zip(words[::2], words[1::2], strict=True))


def test_the_command() -> None:
    assert arguments(1)[:6] == [sys.executable, "-P", "-m", "streamlit", "run", str(TOP / "ui" / "app.py")]
    given = flags(8600)
    assert given["--server.port"] == "8600"
    assert given["--server.address"] == "127.0.0.1"
    assert given["--browser.gatherUsageStats"] == "false"
    assert given["--server.headless"] == "true"
    assert given["--server.fileWatcherType"] == "none"
    assert given["--server.maxUploadSize"] == "2048"
    assert given["--theme.primaryColor"] == "#5638a3"


def test_streamlit_knows_every_setting() -> None:
    from streamlit import config

    known = config.get_config_options()
    assert [name for name in (*OPTIONS, *(f"theme.{key}" for key in THEME)) if name not in known] == []


def test_the_settings_file_says_the_same() -> None:
    written = tomllib.loads((TOP / ".streamlit" / "config.toml").read_text())
    assert written.pop("theme") == THEME
    assert {f"{group}.{key}": value for group, part in written.items() for key, value in part.items()} == OPTIONS


def test_page_and_samples_are_found_in_a_wheel_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "site" / "motion"
    for name in ("_page/app.py", "_samples/practice-solo.mp4", "_samples/warm-up-range.mp4", "_samples/lantern.csv"):
        (package / name).parent.mkdir(parents=True, exist_ok=True)
        (package / name).touch()
    monkeypatch.setattr(page_server, "__file__", str(package / "desk" / "page_server.py"))
    assert page_file() == package / "_page" / "app.py"
    assert dances() == [("Lantern", package / "_samples" / "lantern.csv")]
    assert samples() == [
        ("One dancer, from the front", package / "_samples" / "practice-solo.mp4", package / "_samples" / "lantern.csv"),
        ("Warm-up, knees and hips from the side (no sound)", package / "_samples" / "warm-up-range.mp4", None),
    ]


def test_what_cannot_be_opened_is_said_before_anything_starts(tmp_path: Path) -> None:
    with pytest.raises(ClipMissing, match="no file or folder"):
        open_page(tmp_path / "nothing.mp4")
    with pytest.raises(BadStore, match="holds no review"):
        open_page(tmp_path)
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(BadInput, match="in use"):
            open_page(None, port=taken.getsockname()[1])
    for port in (-1, 0, 65_536):
        with pytest.raises(BadInput, match=f"--port is {port}, but ports go from 1 to 65535"):
            open_page(None, port=port)


def test_the_page_runs_tells_its_address_and_passes_the_start_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A small server in place of Streamlit: it writes down its surroundings, answers once and ends."""
    (tmp_path / "clip.mp4").touch()
    server = (
        "import http.server, os, pathlib, sys\n"
        "pathlib.Path(sys.argv[2]).write_text(os.environ['COUNTFALL_START'])\n"
        "server = http.server.HTTPServer(('127.0.0.1', int(sys.argv[1])), http.server.SimpleHTTPRequestHandler)\n"
        "server.handle_request()\n"
    )
    note = tmp_path / "note"
    monkeypatch.setattr(page_server, "arguments", lambda port: [sys.executable, "-c", server, str(port), str(note)])
    monkeypatch.setattr(page_server, "_answers", _first_answer(page_server._answers))
    opened: list[str] = []
    monkeypatch.setattr(page_server.webbrowser, "open", opened.append)
    told: list[str] = []
    port = free_port()
    assert open_page(tmp_path / "clip.mp4", port=port, tell=lambda words, share: told.append(words)) == 0
    assert note.read_text() == str(tmp_path / "clip.mp4")
    assert opened == [f"http://127.0.0.1:{port}"]
    assert told == [f"The page is open at http://127.0.0.1:{port} (end it with Ctrl-C)."]


def _first_answer(really: object) -> object:
    """The stand-in has no health page: any answer will do, so ask for its root."""
    return lambda server, address: really(server, address.removesuffix("/_stcore/health"))  # type: ignore[operator]


def test_a_page_that_cannot_start_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(page_server, "arguments", lambda port: [sys.executable, "-c", "raise SystemExit(3)"])
    assert open_page(None, browser=False) == 1


def luminance(colour: str) -> float:
    """Relative luminance of #rrggbb as WCAG 2.2 defines it."""
    shares = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio as WCAG 2.2 defines it (success criterion 1.4.3)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_reaches_aa() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)  # the well-known grey that just fails
    ground, second, text = str(THEME["backgroundColor"]), str(THEME["secondaryBackgroundColor"]), str(THEME["textColor"])
    quiet = "#5a6070"
    for front, back in [
        (text, ground),
        (text, second),
        (str(THEME["linkColor"]), ground),
        (quiet, ground),
        ("#ffffff", str(THEME["primaryColor"])),
    ]:
        assert contrast(front, back) >= 4.5, (front, back)
    for name in ("blue", "yellow", "red", "green"):
        assert contrast(str(THEME[f"{name}TextColor"]), str(THEME[f"{name}BackgroundColor"])) >= 4.5, name
    # Edges of fields, criterion 1.4.11.
    assert contrast(str(THEME["borderColor"]), ground) >= 3.0
    assert contrast(str(THEME["primaryColor"]), ground) >= 3.0
