"""Below Python: neither runtime of the pose model opens a socket to the network."""

import re
import shutil
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest
from pose_model import pose_model

ROOT = Path(__file__).resolve().parents[2]


def internet_sockets(command: list[str], trace_file: Path) -> list[str]:
    """Run a command to its end under strace and give every system call that makes an internet socket, or connects one."""
    traced = ["strace", "-f", "-qq", "-e", "trace=network", "-o", str(trace_file), *command]
    done = subprocess.run(traced, capture_output=True, timeout=300, check=False, cwd=trace_file.parent, env={**_environment()})
    assert done.returncode == 0, done.stderr.decode()[-2000:]
    return [line for line in trace_file.read_text().splitlines() if re.search(r"\bAF_INET6?\b", line)]


def _environment() -> dict[str, str]:
    import os

    return {**os.environ, "PYTHONPATH": str(ROOT)}


def _traceable() -> None:
    if shutil.which("strace") is None:
        pytest.skip("strace is not installed, so nothing below Python can be seen")


@pytest.mark.slow
def test_the_trace_sees_a_socket(tmp_path):
    _traceable()
    script = "import socket; socket.socket(socket.AF_INET, socket.SOCK_STREAM).close()"
    assert internet_sockets([sys.executable, "-c", script], tmp_path / "trace")


@pytest.mark.slow
@pytest.mark.parametrize("quality", ["fine", "fast"])
def test_both_runtimes_open_no_internet_socket(tmp_path, quality):
    _traceable()
    model = pose_model(quality)
    script = tmp_path / "both.py"
    script.write_text(
        textwrap.dedent(f"""
        import time
        from pathlib import Path
        import numpy as np
        from motion.clip.pose_model import detector_network, landmark_network
        path = Path({str(model.path)!r})
        from ai_edge_litert.interpreter import Interpreter
        for network in (landmark_network(path), detector_network(path)):
            run = Interpreter(model_content=network, num_threads=2)
            run.allocate_tensors()
            run.set_tensor(0, np.zeros(run.get_input_details()[0]["shape"], np.float32))
            run.invoke()
        import mediapipe as mp
        from mediapipe.tasks.python import BaseOptions, vision
        options = vision.PoseLandmarkerOptions(base_options=BaseOptions(model_asset_path=str(path)))
        with vision.PoseLandmarker.create_from_options(options) as landmarker:
            landmarker.detect(mp.Image(image_format=mp.ImageFormat.SRGB, data=np.zeros((384, 384, 3), np.uint8)))
            time.sleep(5.0)
        """)
    )
    assert internet_sockets([sys.executable, str(script)], tmp_path / "trace") == []
