"""Starts the page in the browser: finds its files, hands Streamlit every setting, opens the browser, ends cleanly.

Settings are handed over as options because Streamlit reads a settings file from the working folder only, and the page has to be the
same whatever folder it is started from. `.streamlit/config.toml` repeats them for whoever works on the page itself.
"""

from __future__ import annotations

import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
import webbrowser
from pathlib import Path

from motion.base.child import child_environment
from motion.base.errors import BadInput, BadStore, ClipMissing
from motion.base.progress import Progress, quiet
from motion.jobs.queue import sweep_aside

#: Names the clip or review folder that the page is to open with.
START_VARIABLE = "COUNTFALL_START"
ADDRESS = "127.0.0.1"
#: Ten minutes of phone film in 1080p; larger clips are reviewed from where they are, without an upload.
UPLOAD_MB = 2048

#: One look with the report: violet and dark amber on warm white, apart for every kind of colour sight. Text reaches 7:1.
THEME: dict[str, str | bool | int] = {
    "base": "light",
    "primaryColor": "#5638a3",
    "backgroundColor": "#fbf9f5",
    "secondaryBackgroundColor": "#f0ecf7",
    "textColor": "#20242e",
    "linkColor": "#4a2f93",
    "borderColor": "#8d8a99",
    "showWidgetBorder": True,
    "baseRadius": "0.3rem",
    "font": "'Segoe UI', system-ui, 'Helvetica Neue', Arial, 'Liberation Sans', sans-serif",
    "headingFont": "Georgia, 'Liberation Serif', serif",
    "blueColor": "#5638a3",
    "blueBackgroundColor": "#ece7f6",
    "blueTextColor": "#2f1f63",
    "yellowColor": "#8f5200",
    "yellowBackgroundColor": "#f7ecd8",
    "yellowTextColor": "#573200",
    "redColor": "#7a2048",
    "redBackgroundColor": "#f6e6ec",
    "redTextColor": "#5e1335",
    "greenColor": "#1d5a66",
    "greenBackgroundColor": "#e2eff1",
    "greenTextColor": "#123f48",
}
OPTIONS: dict[str, str | bool | int] = {
    "browser.gatherUsageStats": False,
    "client.showErrorDetails": "none",
    "client.toolbarMode": "minimal",
    "logger.hideWelcomeMessage": True,
    "runner.postScriptGC": False,  # looking through all of memory after every click is waited for; Python does so when it is due
    "server.address": ADDRESS,
    "server.fileWatcherType": "none",
    "server.headless": True,
    "server.maxUploadSize": UPLOAD_MB,
    "server.runOnSave": False,
    "server.showEmailPrompt": False,
}
#: The clips that come with the program: file, what it shows, its dance sheet.
SAMPLES: tuple[tuple[str, str, str | None], ...] = (
    ("practice-solo", "One dancer, from the front", "lantern"),
    ("demo-two-walls", "A demonstration over two walls", "lantern"),
    ("class-of-four", "A class of four", "porchlight"),
    ("warm-up-range", "Warm-up, knees and hips from the side (no sound)", None),
)


def page_file() -> Path:
    """The page's entry file: beside the package in a checkout, inside it in an installed wheel."""
    return _first_there("app.py", "ui", "_page")


def samples() -> list[tuple[str, Path, Path | None]]:
    """The sample clips that are there: title, clip, dance sheet or None."""
    found = []
    for name, title, sheet in SAMPLES:
        clip = _first_there(f"{name}.mp4", "sample_clips", "_samples")
        if clip.is_file():
            found.append((title, clip, next((path for dance, path in dances() if sheet and path.stem == sheet), None)))
    return found


def dances() -> list[tuple[str, Path]]:
    """The dance sheets that come with the program: name, file; in order of their names."""
    sheets = [*_sample_folder().glob("*.csv"), *_sample_folder().glob("dances/*.csv")]
    return sorted((sheet.stem.replace("-", " ").capitalize(), sheet) for sheet in sheets)


def arguments(port: int) -> list[str]:
    """The command that starts the page on a port, with every setting."""
    flags: list[str] = ["--server.port", str(port)]
    for name, value in [*OPTIONS.items(), *((f"theme.{name}", value) for name, value in THEME.items())]:
        flags += [f"--{name}", str(value).lower() if isinstance(value, bool) else str(value)]
    return [sys.executable, "-P", "-m", "streamlit", "run", str(page_file()), *flags]


def free_port() -> int:
    """A port of this computer that nobody uses now."""
    with socket.socket() as probe:
        probe.bind((ADDRESS, 0))
        return int(probe.getsockname()[1])


def open_page(start: Path | None, *, port: int | None = None, browser: bool = True, tell: Progress = quiet) -> int:
    """Run the page until it is ended (Ctrl-C), and give its exit code: 0, or 1 if it could not start.

    start: a clip to review or a finished review to show, or None. tell: hears the address to open.
    Raises ClipMissing or BadStore if `start` is not there or is no review, BadInput if the port is taken.
    """
    environment = child_environment()
    environment.pop(START_VARIABLE, None)
    if start is not None:
        environment[START_VARIABLE] = str(_checked(start))
    if not page_file().is_file():
        raise BadInput("The page's files are missing", "Install the program again")
    if port is not None and not 1 <= port <= 65_535:
        raise BadInput(f"--port is {port}, but ports go from 1 to 65535", "Leave --port out, or name another")
    if port is not None and not _is_free(port):
        raise BadInput(f"Port {port} is in use by another program", "Leave --port out, or name another")
    port = free_port() if port is None else port
    address = f"http://{ADDRESS}:{port}"
    sweep_aside()
    # Whoever ends this program by other means than Ctrl-C ends the page too.
    before = signal.signal(signal.SIGTERM, signal.default_int_handler)
    server = subprocess.Popen(arguments(port), env=environment, stdin=subprocess.DEVNULL, cwd=page_file().parent)
    try:
        if not _answers(server, f"{address}/_stcore/health"):
            return 1
        tell(f"The page is open at {address} (end it with Ctrl-C).", None)
        if browser:
            webbrowser.open(address)
        return int(server.wait() != 0)
    except KeyboardInterrupt:
        return 0
    finally:
        _end(server)
        signal.signal(signal.SIGTERM, before)


def _checked(start: Path) -> Path:
    if start.is_dir():
        if not (start / "review.json").is_file():
            raise BadStore(f"The folder {start} holds no review", "Name a clip, or the folder that a review was written to")
    elif not start.is_file():
        raise ClipMissing(f"There is no file or folder '{start}'", "Check the name")
    return start.resolve()


def _answers(server: subprocess.Popen[bytes], address: str) -> bool:
    """Wait until the page answers; False if the server ends first or stays silent for a minute."""
    direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    for _ in range(300):
        if server.poll() is not None:
            return False
        try:
            with direct.open(address, timeout=2):
                return True
        except (urllib.error.URLError, OSError):
            time.sleep(0.2)
    return False


def _end(server: subprocess.Popen[bytes]) -> None:
    server.terminate()
    try:
        server.wait(5)
    except subprocess.TimeoutExpired:
        server.kill()
        server.wait()


def _is_free(port: int) -> bool:
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((ADDRESS, port))
        except (OSError, OverflowError):
            return False
    return True


def _first_there(name: str, beside: str, inside: str) -> Path:
    here = Path(__file__).resolve().parents[1]
    installed = here / inside / name
    return installed if installed.exists() else here.parent / beside / name


def _sample_folder() -> Path:
    here = Path(__file__).resolve().parents[1]
    return here / "_samples" if (here / "_samples").is_dir() else here.parent / "sample_clips"
