"""Reports read as strictly as they must be written, and a made review with something of its first dancer changed."""

from __future__ import annotations

import dataclasses
from html.parser import HTMLParser
from typing import Any

from motion.base.types import Review

VOID = {"meta", "br"}


class Reader(HTMLParser):
    """Tags must close in order; keeps the text outside <style> and closed <details>, and the attributes."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.text: list[str] = []
        self.attributes: list[tuple[str, str, str]] = []
        self.ids: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.attributes += [(tag, name, value or "") for name, value in attrs]
        self.ids += [value or "" for name, value in attrs if name == "id"]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.attributes += [(tag, name, value or "") for name, value in attrs]

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        hidden = {"style", "title", "desc"} & set(self.open) or ("details" in self.open and "summary" not in self.open)
        if not hidden:
            self.text.append(data)


def read(html: str) -> Reader:
    reader = Reader()
    reader.feed(html)
    reader.close()
    assert reader.open == []
    return reader


def changed(review: Review, **parts: Any) -> Review:
    return dataclasses.replace(review, dancers=(dataclasses.replace(review.dancers[0], **parts), *review.dancers[1:]))
