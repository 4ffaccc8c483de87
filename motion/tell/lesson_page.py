"""The lesson as one HTML file for a tablet or for paper: nothing loaded from outside, timers and metronome in it."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from pathlib import Path

from motion.base.atomic import write_whole
from motion.base.errors import BadInput, BadStore
from motion.tell import lesson_parts as parts
from motion.tell.lesson_plan import Lesson

_PAGE_STYLE = (
    "@page { size: A4; margin: 14mm } html { background: #fbf9f5 } body { margin: 0 auto; padding: 1.2rem 1.25rem 0; max-width: 68rem } "
    "@media print { html { background: #fff; font-size: 9.5pt } body { padding: 0; max-width: none } }"
)
TIMER_BAR = (
    "<div class='timerbar' hidden><span class='left'></span><span class='said' role='status'></span><span>"
    "<button type='button' data-do='hold'>Pause</button> <button type='button' data-do='more'>30 s more</button> "
    "<button type='button' data-do='end'>End</button></span></div>"
)
#: Parts of the page by the name that links and the program's own page use.
SECTIONS: dict[str, tuple[str, Callable[[Lesson], str]]] = {
    "before": ("Before", parts.before),
    "plan": ("Plan", parts.plan_table),
    "warm-up": ("Warm-up", parts.warm_up),
    "music": ("Count-in", parts.music),
    "pulse": ("Pulse and breath", parts.pulse),
    "cool-down": ("Cool-down", parts.cool),
}


def lesson_script() -> str:
    """The page's only script: defines lessonWidgets(root), which brings everything inside root to life."""
    return Path(__file__).with_name("lesson_page.js").read_text(encoding="utf-8")


def lesson_style() -> str:
    """The look of everything inside an element of class "lesson"."""
    return Path(__file__).with_name("lesson_page.css").read_text(encoding="utf-8")


def section_html(lesson: Lesson, name: str) -> str:
    """One part with a timer bar of its own, for showing it elsewhere with `lesson_style` and `lesson_script`."""
    return f"<div class='lesson'>{SECTIONS[name][1](lesson)}{TIMER_BAR}</div>"


def lesson_html(lesson: Lesson) -> str:
    """The whole lesson as one HTML file: every part, a bar for the timer, what the tool is not."""
    wish = lesson.wish
    title = f"Lesson: {lesson.title}" if lesson.title else "Lesson"
    about = [
        f"{wish.minutes:g} minutes",
        {"children": "for children", "adults": "for grown-ups", "seniors": "for seniors"}[wish.audience],
    ]
    about += ["sitting"] if wish.seated else []
    about += [f"{wish.dancers} dancers"] if wish.dancers is not None else []
    about.append(f"{lesson.bpm:g} beats a minute{', in threes' if lesson.section == 6 else ''}")
    links = "".join(f"<a href='#{name}'>{escape(words)}</a>" for name, (words, _) in SECTIONS.items())
    body = "".join(f"<section id='{name}'>{make(lesson)}</section>" for name, (_, make) in SECTIONS.items())
    policy = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'"
    return (
        '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)}</title><style>{_PAGE_STYLE}{lesson_style()}</style></head><body><main class='lesson'>"
        f"<h1>{escape(title)}</h1><p class='lead'>{escape(' · '.join(about))}</p><nav>{links}</nav>{body}"
        f"<section>{parts.record_lines()}</section>{parts.cautions()}{TIMER_BAR}</main>"
        f"<script>{lesson_script()}\nlessonWidgets(document.querySelector('.lesson'));</script></body></html>"
    )


def write_lesson(path: Path, lesson: Lesson) -> None:
    """Write the lesson's file, whole or not at all. BadInput for another ending, BadStore when it cannot be written there."""
    if path.suffix.lower() not in (".html", ".htm"):
        raise BadInput(f"'{path.name}' does not end in .html", "Give the file a name such as lesson.html")
    try:
        write_whole(path, lesson_html(lesson))
    except OSError as error:
        why = (error.strerror or "the disk gave no reason").lower()
        raise BadStore(f"The lesson cannot be written to {path}: {why}", "Choose another place") from error
