"""The parts of the lesson's page as HTML: before, plan, warm-up, count-in, pulse and breath, cool-down, record."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

from motion.base.types import NotMeasured
from motion.lesson.cooldown import PACE_CARE
from motion.lesson.countin import count_in_s
from motion.lesson.energy import MET_HIGH, MET_LOW, TALKS, kcal, met_words, talk_words
from motion.lesson.floor_drawing import floor_svg
from motion.lesson.plan import minutes_words
from motion.lesson.pulse import (
    COUNT_SECONDS,
    FIRST_BEAT,
    FOX,
    MEDICINES,
    READS_LOW,
    TANAKA,
    ZoneSource,
    half_up,
    quarter_minute,
    resting_breaths,
    top_rate,
    zones,
)
from motion.lesson.safety import ASK_FIRST, CAUTIONS, checks, extra_words, stop_words
from motion.lesson.space import layout_words
from motion.lesson.warmup import Item
from motion.review.settings import SETTINGS
from motion.tell.html import bullets, details, told_html
from motion.tell.lesson_plan import Lesson
from motion.tell.lesson_words import BESIDE, SHARES, usual_breaths
from motion.tell.words import Told

#: Ages of the printed target tables.
_AGES = (20, 30, 40, 50, 60, 70, 80)
_CHILD_AGES = (6, 8, 12, 15)
#: Sources of the printed target tables; the reserve needs a pulse at rest.
_TABLES: tuple[ZoneSource, ...] = ("AHA", "CDC")
#: Whose energy is told as an example: kilogrammes, minutes.
_KG, _DANCED_MIN = 60.0, 30.0
#: Counts of 15 s in the printed table: 64 to 192 a minute.
_COUNTS = range(16, 49)


def before(lesson: Lesson) -> str:
    """What to look at, the floor plan, and when to stop."""
    rows = "".join(
        f"<li><label><input type='checkbox'> <b>{escape(check.about)}.</b> {escape(check.question)}</label>"
        f"<br><span class='quiet'>{escape(check.help)}</span></li>"
        for check in checks(lesson.wish.audience)
    )
    extra = extra_words(lesson.wish.audience)
    return (
        f"<h2>Before the music</h2><ul class='checks'>{rows}</ul><p>{escape(ASK_FIRST)}</p>"
        + (f"<p>{escape(extra)}</p>" if extra else "")
        + _floor(lesson)
        + stop_box(lesson)
    )


def _floor(lesson: Lesson) -> str:
    if lesson.floor is None:
        return ""
    told = "".join(f"<p>{escape(words)}</p>" for words in layout_words(lesson.floor))
    legend = (
        "Dots are dancers facing the front, rings their reach, the broken amber box the way that the dance takes one of them, the violet "
        "frame the floor that all need. Numbers count the rows."
    )
    return (
        f"<h3>Floor and lines</h3><div class='floor'><div>{told}<p class='quiet'>{legend}</p></div>"
        f"<div>{floor_svg(lesson.floor)}</div></div>"
    )


def stop_box(lesson: Lesson) -> str:
    """Stop signs, in a frame of their own."""
    lines = "".join(f"<p>{escape(words)}</p>" for words in stop_words(lesson.wish.audience))
    return f"<aside class='stop'><h3>When to stop</h3>{lines}</aside>"


def cautions() -> str:
    """What the tool is not."""
    return "<footer class='quiet'>" + "".join(f"<p>{escape(words)}</p>" for words in CAUTIONS) + "</footer>"


def plan_table(lesson: Lesson) -> str:
    """The plan with a timer for every part."""
    rows = "".join(
        f"<tr><td>{minutes_words(part.begins_s)}</td><td>{minutes_words(part.seconds)}</td><td><b>{escape(part.title)}</b><br>"
        f"{escape(part.words)}</td><td class='act'>{_timer([(part.title, part.seconds)], 'Time it')}</td></tr>"
        for part in lesson.parts
    )
    total = minutes_words(lesson.parts[-1].ends_s)
    return (
        "<h2>Plan</h2><table class='plan'><thead><tr><th>from</th><th>for</th><th>what</th><td class='act'></td></tr></thead>"
        f"<tbody>{rows}<tr><td>{total}</td><td></td><td>end</td><td class='act'></td></tr></tbody></table>"
        "<p class='quiet'>Minutes and seconds. All parts together are as long as the lesson.</p>"
    )


def warm_up(lesson: Lesson) -> str:
    """The games joint by joint, then the dance's own steps."""
    own = (
        f"<h3>The dance’s own steps, slowly</h3>{_items(lesson.steps)}"
        if lesson.steps
        else "<p>In this short lesson the own steps wait.</p>"
    )
    about = f"“{lesson.title}”" if lesson.title else "a plain line dance"
    return (
        f"<h2>Warm-up</h2><p>Chosen for {escape(about)}: joints and muscles that its moves ask most of get most time. You lead in "
        "mirror: facing the class, your left is their right.</p>"
        f"<p class='act'>{_timer(_pieces(lesson.warm), 'Run the whole warm-up')}</p>{_items(lesson.warm)}{own}"
    )


def music(lesson: Lesson) -> str:
    """Metronome, ladder, tapped tempo."""
    own, limits = SETTINGS.lesson, SETTINGS.dance
    words = "4-5-6" if lesson.section == 6 else "5-6-7-8"
    says = ", ".join(str(n) for n in lesson.says if n is not None)
    rungs = "".join(f"<button type='button' data-bpm-set='{bpm:g}'>{bpm:g}</button>" for bpm in lesson.tempos)
    ladder = ", ".join(f"{bpm:g}" for bpm in lesson.tempos)
    return (
        f"<h2>Count-in and tempo</h2><p>Full tempo {lesson.bpm:g} beats a minute. Say “{says}” in the tempo that follows: from the first "
        f"of the last {words} to count 1 it takes {count_in_s(lesson.section, lesson.bpm):.1f} s. Ladder: {ladder}. "
        "Go one tempo up when two walls in a row held; go one down when they did not.</p>"
        f"<div class='metronome' data-section='{lesson.section}' data-bpm='{lesson.bpm:g}' data-least='{limits.slowest_bpm:g}' "
        f"data-most='{limits.fastest_bpm:g}' data-fast='{own.fast_bpm:g}' data-pause='{own.tap_longest_s:g}' data-taps='{own.tap_fewest}'>"
        "<div class='face' aria-live='off'>–</div><div class='controls'>"
        f"<label>Beats a minute <input type='number' inputmode='numeric' min='{limits.slowest_bpm:g}' max='{limits.fastest_bpm:g}' "
        f"value='{lesson.tempos[0]:g}'></label><span class='rungs'>{rungs}</span>"
        "<button type='button' class='main' data-do='start'>Start</button><button type='button' data-do='tap'>Tap the tempo</button>"
        "<label><input type='checkbox'> with drums</label></div></div>"
        "<p class='quiet'>The screen counts, the sound clicks. Four taps or more set the tempo.</p>"
    )


def pulse(lesson: Lesson) -> str:
    """Timers for pulse and breath, what counts are worth, and what they are not."""
    timers = " ".join(_timer([("Find the beat, finger still", 5), ("Count now", n)], f"{n} seconds") for n in COUNT_SECONDS)
    parts = [
        f"<h2>Pulse and breath</h2><p>{escape(FIRST_BEAT)} At the wrist below the thumb, or at the side of the neck with a light finger; "
        f"never both sides of the neck.</p><p class='act'>{timers}</p>",
        _children_pulse() if lesson.wish.audience == "children" else _adult_pulse(lesson),
        f"<p>{escape(READS_LOW)} {escape(MEDICINES)}</p>",
        _breath(lesson),
    ]
    return "".join(parts)


def _children_pulse() -> str:
    steps = "; ".join(f"{60 // n} for {n} s" for n in COUNT_SECONDS)
    return (
        "<p class='lead'>Count at rest and remember it. Dance. Count again at once. Hands up: whose heart beats faster now than at rest? "
        "Count a minute later: whose is slower again?</p>"
        f"<p>Times four makes a minute of 15 seconds; one beat more or less then is 4 a minute ({steps}). Nobody tells a number who "
        "does not want to, and nothing is written down but how many hands went up.</p>" + _talk(children=True)
    )


def _adult_pulse(lesson: Lesson) -> str:
    cells = "".join(f"<td><b>{n}</b><br>{4 * n}</td>" for n in _COUNTS)
    parts = [
        "<h3>What a count is worth</h3><p>Beats in 15 s (bold) and a minute; one beat more or less is ±4 a minute. In 10 s it is ±6, "
        f"in 30 s ±2.</p><table class='counts'><tr>{cells}</tr></table>",
        _talk(children=False),
    ]
    if lesson.wish.age is not None and lesson.wish.age >= SETTINGS.lesson.adult_age:
        parts.append(told_html(_highest(lesson.wish.age), "the highest pulse"))
    parts += [_zone_table(source) for source in _TABLES]
    parts.append(
        "<p>The two tables differ because their sources do; choose one and stay with it. Use the talk test beside them.</p>"
        + details("Show the figures: where the targets come from", bullets(_zone_figures()))
    )
    if lesson.wish.audience == "adults":
        parts.append(f"<h3>Energy</h3>{told_html(_energy(), 'what dancing takes')}")
    return "".join(parts)


def _highest(age: int) -> Told:
    """The highest pulse that is usual at an age, as a whole number, and by which formulas."""
    top = top_rate(age, settings=SETTINGS.lesson)
    return Told(
        f"At {age} years the highest pulse is usually about {half_up(round(10 * top.tanaka), 10)} a minute. {BESIDE}",
        (f"The age-predicted highest pulse is {top.tanaka:g} by {TANAKA}; for comparison {top.fox} by {FOX}.",),
    )


def _energy() -> Told:
    """What dancing takes, for an example of a body and a time."""
    low, high = (round(kcal(met, _KG, _DANCED_MIN)) for met in (MET_LOW, MET_HIGH))
    return Told(
        f"For grown-ups of 19 to 59 years: with {_KG:g} kg about {low} to {high} kcal in {_DANCED_MIN:g} minutes, rest included; less for "
        "a slow line of beginners, more for lively dancing. That is what many people spend on the whole, and no measurement of anybody.",
        (f"{MET_LOW:g} to {MET_HIGH:g} MET × kg × hours. {met_words()}",),
    )


def _zone_table(source: ZoneSource) -> str:
    """Targets of one source for ages in tens, with beats in 15 s at their edges."""
    first = zones(source, _AGES[0], settings=SETTINGS.lesson)
    heads = "".join(f"<th>{band.name}, a minute</th>" for band in first.bands)
    rows = ""
    for age in _AGES:
        bands = zones(source, age, settings=SETTINGS.lesson).bands
        cells = "".join(f"<td>{band.low} to {band.high}</td>" for band in bands)
        rows += f"<tr><td>{age}</td>{cells}</tr>"
    return (
        f"<table><caption>{escape(first.source)}</caption><thead><tr><th>age</th>{heads}</tr></thead><tbody>{rows}</tbody></table>"
    )


def _zone_figures() -> tuple[str, ...]:
    """The formula of each source, and beats of 15 s by the first."""
    quarter = "; ".join(
        f"age {age}: {', '.join(str(quarter_minute(age, share, settings=SETTINGS.lesson)) for share in (60, 70, 80))}"
        for age in (20, 30, 65)
    )
    both = (zones(source, _AGES[0], settings=SETTINGS.lesson) for source in _TABLES)
    return (
        *(f"{one.source}: {SHARES[source]} of {one.formula}." for source, one in zip(_TABLES, both, strict=True)),
        f"Beats in 15 s at 60, 70 and 80 % of 220 − age: {quarter}.",
    )


def _talk(*, children: bool) -> str:
    names = {"sings": "You can sing.", "talks": "You can talk, not sing.", "few words": "Only a few words go."}
    lines = "".join(f"<li><b>{names[talk]}</b> {escape(talk_words(talk, children=children))}</li>" for talk in TALKS)
    return f"<h3>Talk test</h3><ul>{lines}</ul>"


def _breath(lesson: Lesson) -> str:
    timer = _timer([("Sit quietly", 5), ("Count breaths: in and out is one", 30)], "30 seconds of breathing")
    head = (
        f"<h3>Breathing at rest</h3><p class='act'>{timer}</p><p>Breaths in 30 s, times two; one more or less is ±2 a minute.</p>"
    )
    if lesson.wish.audience != "children":
        return head + told_html(usual_breaths(lesson.wish.age or 40), "breathing at rest")
    rows = ""
    source = ""
    for age in _CHILD_AGES:
        found = resting_breaths(age, settings=SETTINGS.lesson)
        if isinstance(found, NotMeasured):
            continue
        source = found.source
        low, high = found.middle
        rows += f"<tr><td>{found.from_age} to {found.below_age - 1}</td><td>{low} to {high}</td><td>{found.values[3]}</td></tr>"
    return (
        f"{head}<table><caption>Breaths a minute at rest, as a band</caption><thead><tr><th>years</th>"
        f"<th>eight in ten children</th><th>the middle child</th></tr></thead><tbody>{rows}</tbody></table>"
        "<p>A class question, no test: is it more or less after dancing? Whoever is outside the band counts again after sitting for two "
        "minutes; counting one’s own breath changes it.</p>"
        + details("Show the figures: breathing at rest", bullets((f"{source}.",)))
    )


def cool(lesson: Lesson) -> str:
    """The cool-down with the paced breathing."""
    pace = lesson.pace
    return (
        f"<h2>Cool-down</h2><p class='act'>{_timer(_pieces(lesson.cool), 'Run the whole cool-down')}</p>"
        f"<div class='breath' data-in='{pace.in_s:g}' data-out='{pace.out_s:g}' data-in-words='{escape(pace.in_words, quote=True)}' "
        f"data-out-words='{escape(pace.out_words, quote=True)}'><div class='pond'><div class='ball'></div><p class='words'></p></div>"
        f"<button type='button'>Breathe with it</button><p class='quiet'>{pace.a_minute:.1f} breaths a minute. "
        f"{escape(PACE_CARE)}</p></div>"
        f"{_items(lesson.cool)}"
    )


def record_lines() -> str:
    """Lines to fill in on paper."""
    lines = ("Date and class", "Health notes: how many ok / adapted / rest", "Pulse faster after the dance: how many of how many",
             "Tempo that held", "What went well, what to take next")  # fmt: skip
    return "<h2>Record</h2><p>No names, nothing about anybody’s health.</p>" + "".join(
        f"<p class='line'>{escape(line)}</p>" for line in lines
    )


def _items(items: Sequence[Item]) -> str:
    return "<div class='items'>" + "".join(_item(item) for item in items) + "</div>"


def _item(item: Item) -> str:
    prepares = f"<p class='quiet'>{escape(item.joint)}: {escape('; '.join(item.muscles))}</p>" if item.muscles else ""
    sides = "".join(f"<li>{escape(name)}, {seconds} s</li>" for name, seconds in item.sides)
    care = f"<p class='quiet'>{escape(item.care)}</p>" if item.care else ""
    return (
        f"<section class='item'><h4>{escape(item.name)} <span class='quiet'>{minutes_words(item.seconds)}</span></h4>{prepares}"
        f"<p>{escape(item.words)}</p>{f'<ul>{sides}</ul>' if sides else ''}{care}"
        f"<p class='act'>{_timer(list(_of_item(item)), 'Time it')}</p></section>"
    )


def _pieces(items: Sequence[Item]) -> list[tuple[str, int]]:
    return [piece for item in items for piece in _of_item(item)]


def _of_item(item: Item) -> Iterator[tuple[str, int]]:
    if not item.sides:
        yield item.name, item.seconds
    for side, seconds in item.sides:
        yield f"{item.name}, {side}", seconds


def _timer(pieces: Sequence[tuple[str, int]], words: str) -> str:
    told = "|".join(f"{name.replace('|', ' ')}={seconds}" for name, seconds in pieces)
    return f'<button type="button" data-timer="{escape(told, quote=True)}">{escape(words)}</button>'
