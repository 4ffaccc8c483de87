"""The cards of the film that a student takes along: two sentences to begin with, the name of each speed, and small words below."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from motion.base.settings import HandoutSettings
from motion.film.covers import LIGHT, PLATE, Colour, Image, write

BACKDROP: Colour = (234, 230, 221)
QUIET: Colour = (90, 96, 112)
RULE: Colour = (86, 56, 163)
LARGEST_PX, LEAST_PX = 40, 20  # of the sentences' letters, in a film 480 px wide that a phone shows 60 to 70 mm wide
EDGE_PX = 32


def opening_card(lines: Sequence[str], head: str, settings: HandoutSettings) -> Image:
    """The card (height_px, width_px, 3): head small, each line as large as all of them fit, a rule between them."""
    image = np.full((settings.height_px, settings.width_px, 3), LIGHT, np.uint8)
    wide, high = settings.width_px - 2 * EDGE_PX, settings.height_px - 4 * EDGE_PX
    head_rows = wrapped(head, 20, wide)
    for k, row in enumerate(head_rows):
        left_aligned(image, row, EDGE_PX + 16 + 26 * k, 20, QUIET, 400)
    size = LARGEST_PX
    while size > LEAST_PX and _height(lines, size, wide) > high:
        size -= 2
    y = 2.2 * EDGE_PX + 26 * len(head_rows)
    for n, line in enumerate(lines):
        if n:
            y += 0.5 * size
            image[round(y) : round(y) + 4, EDGE_PX : EDGE_PX + 96] = RULE
            y += 1.3 * size
        for row in wrapped(line, size, wide):
            left_aligned(image, row, y + 0.4 * size, size, PLATE, 600)
            y += 1.35 * size
    return image


def reading_s(lines: Sequence[str], settings: HandoutSettings) -> float:
    """How long the opening card stays, in whole seconds: long enough for a child to read its lines once."""
    return max(settings.card_s, float(math.ceil(sum(len(line.split()) for line in lines) / settings.read_words_s)))


def title_card(words: str, settings: HandoutSettings) -> Image:
    """A dark card (height_px, width_px, 3) with a few words in its middle."""
    image = np.full((settings.height_px, settings.width_px, 3), PLATE, np.uint8)
    rows = wrapped(words, 40, settings.width_px - 2 * EDGE_PX)
    for k, row in enumerate(rows):
        write(image, row, (settings.width_px / 2, settings.height_px / 2 + 54 * (k - (len(rows) - 1) / 2)), 40, LIGHT)
    return image


def small_words(image: Image, words: Sequence[str]) -> None:
    """Small words at the picture's lower edge."""
    if words:
        text, low = " · ".join(words), image.shape[0] - 16
        image[low - 20 : low + 8, EDGE_PX - 8 : EDGE_PX + _wide(text, 18) + 8] = BACKDROP
        left_aligned(image, text, low, 18, QUIET, 600)


def wrapped(text: str, size_px: int, wide_px: int) -> list[str]:
    """Text in rows that are not wider than wide_px; a word that is wider alone stays whole."""
    rows: list[str] = []
    for word in text.split():
        longer = f"{rows[-1]} {word}" if rows else word
        if rows and _wide(longer, size_px) <= wide_px:
            rows[-1] = longer
        else:
            rows.append(word)
    return rows


def left_aligned(image: Image, text: str, baseline_px: float, size_px: int, colour: Colour, weight: int) -> None:
    """One row of text from the left edge on, drawn into the image (H, W, 3)."""
    import cv2

    cv2.putText(image, text, (EDGE_PX, round(baseline_px)), colour, cv2.FontFace("sans"), size_px, weight)


def _height(lines: Sequence[str], size_px: int, wide_px: int) -> float:
    return sum(1.35 * size_px * len(wrapped(line, size_px, wide_px)) for line in lines) + 1.8 * size_px * (len(lines) - 1)


def _wide(text: str, size_px: int) -> int:
    import cv2

    return int(cv2.getTextSize((0, 0), text, (0, 0), cv2.FontFace("sans"), size_px, 600)[2])
