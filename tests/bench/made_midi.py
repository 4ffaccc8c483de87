"""Music played by a General MIDI synthesiser, every beat known: the made styles of tests/music, and accompaniments from the patterns
of musicians. Needs fluidsynth, a soundfont and mma, as Debian has them: apt-get install fluidsynth timgm6mb-soundfont mma
"""

from __future__ import annotations

import re
import struct
import subprocess
import tempfile
import wave
import zlib
from pathlib import Path

import numpy as np
from made_music import RATE_HZ, Made, make, surrounded

FONTS = [path for name in ("TimGM6mb.sf2", "FluidR3_GM.sf2") if (path := Path("/usr/share/sounds/sf2") / name).is_file()]
PATTERNS = Path("/usr/share/mma/lib")
#: A quarter lasts half a second, so that a tick is a twentieth of a millisecond.
TICKS = 10_000
DRUMS = {"kick": 36, "snare": 38, "hi-hat": 42, "wood block": 76}
NOTE_NAMES = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
CHORDS = {0: "", 2: "m7", 5: "", 7: "7", 9: "m"}
TURNS = ((0, 5, 7, 0), (0, 9, 5, 7), (0, 0, 5, 7), (0, 5, 0, 7), (2, 7, 0, 0), (0, 7, 9, 5))


def played(style: str, seed: int) -> Made:
    """The piece of that style and seed with its notes played by instruments that the seed chooses."""
    piece, rng = make(style, seed), np.random.default_rng([seed, 77])
    # Keys and guitars for chords, basses, and anything that begins at once for the tune.
    programs = {"chord": int(rng.choice([0, 4, 16, 24, 25, 27])), "bass": int(rng.integers(32, 38)),
                "tune": int(rng.choice([0, 11, 24, 25, 56, 65, 105]))}  # fmt: skip
    channels = {"chord": 0, "bass": 1, "tune": 2}
    events = [(0, bytes([0xC0 | channels[part], program])) for part, program in programs.items()]
    loudest = max(gain for _, _, gain, _ in piece.notes)
    for time_s, part, gain, pitch_hz in piece.notes:
        # Loudness goes with the square of a velocity.
        loud = int(np.clip(127 * np.sqrt(gain / loudest), 1, 127))
        channel, key = (9, DRUMS[part]) if pitch_hz is None else (channels[part], round(69 + 12 * np.log2(pitch_hz / 440)))
        on = round(max(0.0, time_s) * 2 * TICKS)
        events += [(on, bytes([0x90 | channel, key, loud])), (on + TICKS // 2, bytes([0x80 | channel, key, 0]))]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "piece.mid"
        path.write_bytes(written(events))
        track = sounded(path, rng)[: len(piece.samples)]
    track = surrounded(track.astype(float), style, rng)
    return Made(track.astype(np.float32), piece.beats_s, piece.first_count, piece.beats_per_bar, piece.half_at, piece.bpm)


def written(events: list[tuple[int, bytes]]) -> bytes:
    """A MIDI file of one track (Standard MIDI Files 1.0, format 0) from (tick, message)s."""
    body, before = b"", 0
    for tick, message in sorted(events):
        wait, before = tick - before, tick
        digits = [wait & 0x7F]
        while wait := wait >> 7:
            digits.insert(0, wait & 0x7F | 0x80)
        body += bytes(digits) + message
    body += b"\x00\xff\x2f\x00"
    return b"MThd" + struct.pack(">IHHH", 6, 0, 1, TICKS) + b"MTrk" + struct.pack(">I", len(body)) + body


def sounded(path: Path, rng: np.random.Generator) -> np.ndarray:
    """A MIDI file played (n,), mono at RATE_HZ, with one of the soundfonts that are here."""
    out = path.with_suffix(".wav")
    font = str(rng.choice([str(f) for f in FONTS]))
    subprocess.run(["fluidsynth", "-ni", "-q", "-F", str(out), "-r", str(RATE_HZ), "-g", "0.5", font, str(path)], check=True,
                   capture_output=True)  # fmt: skip
    with wave.open(str(out)) as file:
        both = np.frombuffer(file.readframes(file.getnframes()), np.int16).reshape(-1, 2)
    return both.mean(axis=1).astype(np.float32) / 32768


def patterns(library: str) -> list[tuple[str, int, list[str]]]:
    """(name, beats in the bar, its variants) of every pattern in threes or fours in a library of mma."""
    found = []
    for path in sorted((PATTERNS / library).glob("*.mma")):
        text = path.read_text(errors="replace")
        told = re.findall(r"^Time\s+(\d)", text, re.M)
        bar = int(told[0]) if told else 4
        variants = [v for v in re.findall(r"^\s*DefGroove\s+(\S+)", text, re.M) if not re.search("Intro|End|Fill|Slow$|Break", v)]
        # Six eighths may be danced in two or in six; a metronome is no music.
        if bar in (3, 4) and variants and not re.search("68|metronome", path.stem):
            found.append((path.stem, bar, [v if library == "stdlib" else f"{library}:{v}" for v in variants]))
    return found


def accompanied(name: str, bar: int, variants: list[str], seed: int, beats: int = 64) -> Made | None:
    """Two variants of a pattern over a turn of chords at a tempo that goes with its name; None when mma refuses it."""
    rng = np.random.default_rng([seed, zlib.crc32(name.encode())])
    bpm = float(np.clip(118 * 2 ** rng.normal(0, 0.3), 75, 190))
    for words, low, high in (("waltz", 84, 185), ("slow|ballad|lullaby|hymn", 60, 100), ("fast|quickstep", 150, 205)):
        bpm = float(rng.uniform(low, high)) if re.search(words, name) else bpm
    key, turn = int(rng.integers(12)), TURNS[int(rng.integers(len(TURNS)))]
    lines, bars = [f"RndSeed {seed + 1}", f"Tempo {bpm:.2f}"], beats // bar
    for b in range(bars):
        lines += [f"Groove {rng.choice(variants)}"] if b in (0, bars // 2) else []
        lines.append(f"{b + 1} {NOTE_NAMES[(key + turn[b % 4]) % 12]}{CHORDS[turn[b % 4]]}")
    with tempfile.TemporaryDirectory() as folder:
        sheet, path = Path(folder) / "piece.mma", Path(folder) / "piece.mid"
        sheet.write_text("\n".join(lines) + "\n")
        subprocess.run(["mma", str(sheet), "-f", str(path)], capture_output=True)
        if not path.is_file():
            return None
        beats_s = quarters(path.read_bytes())
        track = sounded(path, rng)
    top = float(np.max(np.abs(track)))
    return Made((track / top * 0.6).astype(np.float32), beats_s, 0, bar, 0.5, bpm) if top > 0 else None


def quarters(file: bytes) -> np.ndarray:
    """Times in seconds of the quarters of a MIDI file, from the first to the last note."""
    division, at = struct.unpack(">H", file[12:14])[0], 14
    tempi, notes = [(0, 500_000)], []
    while at < len(file):
        size = struct.unpack(">I", file[at + 4 : at + 8])[0]
        track, at = file[at + 8 : at + 8 + size], at + 8 + size
        i = tick = status = 0
        while i < len(track):
            wait, i = number(track, i)
            tick += wait
            if track[i] >= 0x80:
                status, i = track[i], i + 1
            if status == 0xFF:
                kind = track[i]
                length, i = number(track, i + 1)
                if kind == 0x51:
                    tempi.append((tick, int.from_bytes(track[i : i + length], "big")))
                i += length
            elif status in (0xF0, 0xF7):
                length, i = number(track, i)
                i += length
            else:
                if status >> 4 == 9 and track[i + 1]:
                    notes.append(tick)
                i += 1 if status >> 4 in (0xC, 0xD) else 2
    tempi.sort(key=lambda pair: pair[0])
    edges, each_us = np.array([t for t, _ in tempi]), np.array([us for _, us in tempi])
    start_us = np.concatenate([[0], np.cumsum(np.diff(edges) * each_us[:-1])])
    ticks = np.arange(min(notes) // division * division, max(notes) + division // 2, division)
    k = np.searchsorted(edges, ticks, side="right") - 1
    return np.asarray((start_us[k] + (ticks - edges[k]) * each_us[k]) / division / 1e6)


def number(track: bytes, i: int) -> tuple[int, int]:
    """A number of varying length that begins at i, and where it ends."""
    value = 0
    while True:
        value, i = value << 7 | track[i] & 0x7F, i + 1
        if track[i - 1] < 0x80:
            return value, i
