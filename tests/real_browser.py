"""The page in a real browser, for tests: a server on the test's own work folder, a browser without a head that fetches nothing."""

from __future__ import annotations

import shutil
import subprocess
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from motion.base.child import child_environment
from motion.desk.page_server import arguments, free_port

CHROMIUM, DRIVER = shutil.which("chromium"), shutil.which("chromedriver")
QUIET = (
    "--headless=new --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking "
    "--disable-component-update --disable-sync --window-size=1280,1000"
)


@contextmanager
def running_page(work_folder: Path) -> Iterator[str]:
    """The address of a running page on a work folder, started from a folder that knows nothing of it."""
    port = free_port()
    work_folder.mkdir(exist_ok=True)
    # beside the work folder: a fault of the program stands there and not on the page
    with work_folder.with_name(f"{work_folder.name}.log").open("wb") as log:
        server = subprocess.Popen(arguments(port), env=child_environment(), cwd=work_folder, stdout=log, stderr=log)
    try:
        wait_for(lambda: answers(f"http://127.0.0.1:{port}/_stcore/health"))
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        server.wait(20)


@contextmanager
def running_browser(profile: Path) -> Iterator[Any]:
    """A browser with a profile of its own. Its driver is the one that is installed: none is looked for elsewhere."""
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = str(CHROMIUM)
    for flag in [*QUIET.split(), f"--user-data-dir={profile}"]:
        options.add_argument(flag)
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(str(DRIVER)))
    try:
        yield driver
    finally:
        driver.quit()


def answers(address: str) -> bool:
    """Whether somebody answers there."""
    try:
        with urllib.request.urlopen(address, timeout=2) as answer:
            return bool(answer.status == 200)
    except OSError:
        return False


def wait_for(holds: Callable[[], Any], seconds: float = 60.0) -> Any:
    """The first true value of `holds`."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if found := holds():
            return found
        time.sleep(0.2)
    raise AssertionError("waited in vain")
