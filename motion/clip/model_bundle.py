"""The pose model's file: a stored zip of two networks, with what the runtime must know about their inputs. Bytes in, bytes out.

The zip's comment carries where the networks came from and their SHA-256 sums, so one file can be checked by itself.
"""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
import zlib
from pathlib import Path

DETECTOR, LANDMARKS = "pose_detector.tflite", "pose_landmarks_detector.tflite"
#: How the networks want pixels: (value - mean) / std. Landmarks see 0..1, the detector -1..1.
LANDMARK_SCALE, DETECTOR_SCALE = (0.0, 255.0), (127.5, 127.5)
_METADATA = b"TFLITE_METADATA"
#: No network of this family is larger; a zip that claims more is not one of ours.
_LARGEST_BYTES = 100_000_000


def with_metadata(network: bytes, scale: tuple[float, float]) -> bytes:
    """The same network with a note of its input's scaling (mean, std), which mediapipe's tasks ask for. Unchanged if it has one.

    The note is a TensorFlow Lite ModelMetadata table: one RGB image in, unnamed tensors out. Same bytes for the same input.
    """
    import flatbuffers
    from mediapipe.tasks.metadata import metadata_schema_py_generated as notes
    from mediapipe.tasks.metadata import schema_py_generated as schema

    if _METADATA in network:
        return network
    model = schema.ModelT.InitFromObj(schema.Model.GetRootAsModel(network, 0))
    image = notes.TensorMetadataT()
    image.name = "image"
    image.content = notes.ContentT()
    image.content.contentPropertiesType = notes.ContentProperties.ImageProperties
    image.content.contentProperties = notes.ImagePropertiesT()
    image.content.contentProperties.colorSpace = notes.ColorSpaceType.RGB
    scaling = notes.ProcessUnitT()
    scaling.optionsType = notes.ProcessUnitOptions.NormalizationOptions
    scaling.options = notes.NormalizationOptionsT()
    scaling.options.mean, scaling.options.std = [scale[0]], [scale[1]]
    image.processUnits = [scaling]
    outputs = []
    for n in range(len(model.subgraphs[0].outputs)):
        output = notes.TensorMetadataT()
        output.name = f"output {n}"
        outputs.append(output)
    graph = notes.SubGraphMetadataT()
    graph.inputTensorMetadata, graph.outputTensorMetadata = [image], outputs
    about = notes.ModelMetadataT()
    about.subgraphMetadata = [graph]
    inner = flatbuffers.Builder(0)
    inner.Finish(about.Pack(inner), b"M001")
    buffer = schema.BufferT()
    buffer.data = list(inner.Output())
    model.buffers.append(buffer)
    entry = schema.MetadataT()
    entry.name, entry.buffer = _METADATA.decode(), len(model.buffers) - 1
    model.metadata = [*(model.metadata or []), entry]
    outer = flatbuffers.Builder(0)
    outer.Finish(model.Pack(outer), b"TFL3")
    return bytes(outer.Output())


def packed(detector: bytes, landmarks: bytes, made_from: str) -> bytes:
    """The bundle as bytes; the same input gives the same bytes."""
    members = {DETECTOR: with_metadata(detector, DETECTOR_SCALE), LANDMARKS: with_metadata(landmarks, LANDMARK_SCALE)}
    sums = {name: hashlib.sha256(data).hexdigest() for name, data in members.items()}
    into = io.BytesIO()
    with zipfile.ZipFile(into, "w", zipfile.ZIP_STORED) as bundle:
        for name, data in members.items():
            bundle.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), data)
        bundle.comment = json.dumps({"made_from": made_from, "sha256": sums}, sort_keys=True).encode()
    return into.getvalue()


def fault_of(path: Path) -> str | None:
    """What is wrong with a bundle, in plain words; None if it is whole."""
    try:
        with zipfile.ZipFile(path) as bundle:
            sums = _note(bundle).get("sha256", {})
            for name in (DETECTOR, LANDMARKS):
                if name not in bundle.namelist():
                    return "it does not hold the two parts of a pose model"
                if bundle.getinfo(name).file_size > _LARGEST_BYTES:
                    return "it is far too large"
                data = bundle.read(name)
                if data[4:8] != b"TFL3" or _METADATA not in data:
                    return "its parts are not those of a pose model"
                if isinstance(sums, dict) and sums.get(name, digest := hashlib.sha256(data).hexdigest()) != digest:
                    return "it is damaged"
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, RuntimeError, EOFError):
        return "it is damaged, or not a pose model at all"
    except OSError as error:
        return f"it cannot be read ({error.strerror or 'unknown reason'})"
    return None


def made_from(path: Path) -> str | None:
    """Where the networks of a whole bundle came from, None if it was not built here."""
    with zipfile.ZipFile(path) as bundle:
        said = _note(bundle).get("made_from")
    return said if isinstance(said, str) else None


def member(path: Path, name: str) -> bytes:
    """One network (.tflite bytes) of a whole bundle."""
    with zipfile.ZipFile(path) as bundle:
        return bundle.read(name)


def _note(bundle: zipfile.ZipFile) -> dict[str, object]:
    """What the comment says; empty for a bundle that was not built here."""
    if not bundle.comment:
        return {}
    try:
        said = json.loads(bundle.comment)
    except ValueError as error:
        raise zipfile.BadZipFile("comment") from error
    return said if isinstance(said, dict) else {}
