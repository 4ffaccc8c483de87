"""The copy of a clip that is kept once its review is done: heads covered, in the place of what was filmed. Here only how it is known.

viewing.mp4    the copy            viewing.json    {"format", "of": sha256 of the clip as filmed, "sha256": of the copy,
                                            "covered": how many people are covered whole}
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

VIEWING, RECORD = "viewing.mp4", "viewing.json"
FORMAT = 1


def stands_for(path: Path, sha256: str, of: str) -> bool:
    """Whether the file at `path` with this fingerprint is the kept copy of the clip whose fingerprint is `of`."""
    if path.name != VIEWING:
        return False
    record = read_record(path)
    return (record.get("of"), record.get("sha256")) == (of, sha256)


def read_record(path: Path) -> dict[str, Any]:
    """What viewing.json says of the copy at `path`; nothing if it is missing or damaged: such a film is not trusted to be the clip."""
    try:
        record = json.loads(path.with_name(RECORD).read_text(encoding="utf-8"))
    except (FileNotFoundError, ValueError):
        return {}
    return record if isinstance(record, dict) else {}


def record_of(of: str, sha256: str, covered: int) -> str:
    """The text of viewing.json."""
    return json.dumps({"format": FORMAT, "of": of, "sha256": sha256, "covered": covered}) + "\n"
