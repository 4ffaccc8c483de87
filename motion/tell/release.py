"""Before a dance is released: does its demonstration clip show what its sheet says? One printable page, line by line.

    lines = release_lines(review, review["dancers"][0])
    write_release(Path("release.html"), release_html(review, review["dancers"][0]))

Every line agrees, differs (with the moment to play), or cannot be told; nothing is called agreed that was not seen.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import Any, Literal

from motion.base.atomic import write_whole
from motion.base.errors import BadInput, BadStore, SheetError
from motion.base.types import DanceSheet
from motion.dance.check import check_sheet
from motion.dance.sheet import parse_sheet
from motion.dance.unroll import intro_counts
from motion.review.settings import SETTINGS, Settings
from motion.tell.choreographer import Shown, against_sheet, moment_of, not_judged, sheet_doubted, sheet_told, walls_danced, when
from motion.tell.count_line import FONT_STACK
from motion.tell.review_words import dancer_name
from motion.tell.sheet_words import phrase_told
from motion.tell.teacher import count_table
from motion.tell.unwritten_restart import unwritten_restart
from motion.tell.words import clock, listed, view_words, why_not

Verdict = Literal["agrees", "differs", "cannot tell"]
#: A mark of its own for each verdict, told apart by shape: level, broken, open.
MARKS: dict[Verdict, str] = {
    "agrees": '<path d="M2 8H18M2 13H18" stroke="#20242e" stroke-width="2.4"/>',
    "differs": '<path d="M2 8H18M2 13H18M14 2L6 19" stroke="#20242e" stroke-width="2.4"/>',
    "cannot tell": '<path d="M2 10.5H18" stroke="#5a6070" stroke-width="2.4" stroke-dasharray="2.5 3.5"/>',
}
NO_SHEET = "the clip was reviewed without a dance sheet: judge it again with one"
FRONT_DEG, BACK_DEG = 30.0, 150.0  # how view_words divides what faces the camera, what has its back to it, and what is between


@dataclass(frozen=True)
class Line:
    """One line of the page: what was looked at, the verdict, why in words, and moments that show it (none where nothing differs)."""

    name: str
    verdict: Verdict
    words: str
    play: tuple[Shown, ...] = ()


def release_lines(review: dict[str, Any], dancer: dict[str, Any], *, settings: Settings = SETTINGS) -> tuple[Line, ...]:
    """Every line for one dancer's clip, in the order of the page."""
    dance = review.get("dance")
    try:
        sheet = parse_sheet(dance["written"], dance["title"]) if dance else None
    except SheetError:
        sheet = None
    return (
        *_of_the_sheet(sheet),
        _tempo(review, sheet, settings),
        _intro(review, sheet),
        _walls(review, dancer, sheet),
        _restarts(review, dancer, sheet, settings),
        _foot(review, dancer),
        _facing(review, dancer),
        _mirror(review, dancer),
        _steps(review, dancer, settings),
        _phrases(review, sheet),
        _feet(review, dancer, settings),
    )


def _of_the_sheet(sheet: DanceSheet | None) -> Iterator[Line]:
    if sheet is None:
        yield Line("The sheet adds up", "cannot tell", f"{NO_SHEET}.".capitalize())
        yield Line("Version", "cannot tell", f"{NO_SHEET}.".capitalize())
        return
    found = check_sheet(sheet)
    errors = [one.words for one in found if one.grade == "error"]
    doubts = len(found) - len(errors)
    more = f" {doubts} arguable: see the sheet's own page." if doubts else ""
    if errors:
        yield Line("The sheet adds up", "differs", f"{' '.join(f'{words}.' for words in errors[:2])}{more}")
    else:
        yield Line("The sheet adds up", "agrees", f"Counts, weight and walls close.{more}")
    if sheet.version:
        yield Line("Version", "agrees", f"The sheet is version {sheet.version}; the clip was set against this one.")
    else:
        yield Line("Version", "cannot tell", "The sheet names no version: write one, so that a later one can be told from it.")


def _tempo(review: dict[str, Any], sheet: DanceSheet | None, settings: Settings) -> Line:
    beats = review["beats"]
    if why := why_not(beats):
        return Line("Tempo", "cannot tell", f"The beat was not measured: {why}.")
    heard = float(beats["tempo_bpm"])
    if sheet is None or sheet.bpm is None:
        none = "there is no sheet" if sheet is None else "the sheet names none: write it down"
        return Line("Tempo", "cannot tell", f"The clip has {heard:.0f} beats a minute; {none}.")
    apart = abs(heard - sheet.bpm)
    if apart <= settings.release.tempo_bpm:
        return Line("Tempo", "agrees", f"{heard:.0f} beats a minute in the clip, {sheet.bpm:g} on the sheet.")
    kin = [name for by, name in ((2.0, "twice"), (0.5, "half")) if abs(heard - by * sheet.bpm) <= by * settings.release.tempo_bpm]
    counted = f" That is {kin[0]} as fast: the same dance, counted otherwise?" if kin else ""
    return Line("Tempo", "differs", f"{heard:.0f} beats a minute in the clip, {sheet.bpm:g} on the sheet.{counted}", _start(review))


def _intro(review: dict[str, Any], sheet: DanceSheet | None) -> Line:
    beats = review["beats"]
    said = intro_counts(sheet) if sheet else None
    if why_not(beats) or beats["first_count_s"] is None:
        return Line("Intro", "cannot tell", "Where count 1 falls in the clip is not known.")
    times, gap_s = [float(t) for t in beats["times_s"]], 60 / float(beats["tempo_bpm"])
    before = sum(t < float(beats["first_count_s"]) - gap_s / 2 for t in times)
    cut = times[0] <= 1.5 * gap_s  # a beat so early leaves open whether there were more before the clip
    play = (Shown(times[0], "the intro", until_count=1.0), *_start(review))
    if said is None:
        named = f"The sheet says: {sheet.intro}." if sheet and sheet.intro else "The sheet names no number of counts."
        heard = f"{_counts(before)} heard before count 1 in the clip{', which may begin after the music' if cut else ''}."
        return Line("Intro", "cannot tell", f"{named} {heard} Play it and listen.", play)
    if cut:
        words = f"The music may have begun before the clip: {_counts(before)} heard before count 1, {said} are on the sheet."
        return Line("Intro", "cannot tell", words, play)
    verdict: Verdict = "agrees" if before == said else "differs"
    return Line(
        "Intro", verdict, f"{_counts(before)} heard before count 1 in the clip, {said} on the sheet.", play * (before != said)
    )


def _counts(number: int) -> str:
    return "1 count is" if number == 1 else f"{number} counts are"


def _walls(review: dict[str, Any], dancer: dict[str, Any], sheet: DanceSheet | None) -> Line:
    rows = walls_danced(review, dancer)
    if sheet is None or not rows:
        return Line("Walls", "cannot tell", "It needs a dance sheet and a beat.")
    odd = [
        (row, one) for row in dancer.get("walls") or [] for one in row["differs"] if one["what"] == "facing"
    ]  # fmt: skip
    if odd:
        walls = sorted({int(one["wall"]) for _, one in odd})
        play = tuple(s for row, one in odd[:2] if (s := _at(review, int(one["wall"]), float(row["count"]), "facing")) is not None)
        return Line("Walls", "differs", f"Faced elsewhere than the sheet turns, on wall {listed([str(w) for w in walls])}.", play)
    seen = {int(e["wall"]) for r in dancer.get("walls") or [] for e in r.get("each", []) if e["facing_deg"] is not None}
    told = ", ".join(f"wall {row.wall} {row.facing}" for row in rows if row.wall in seen)
    if len(seen) < 2 or len(seen) < min(sheet.walls, 4):
        return Line("Walls", "cannot tell", f"The sheet has {sheet.walls} walls; facing could be read on {len(seen)} of them.")
    return Line("Walls", "agrees", f"Facing as the sheet turns: {told}.")


def _restarts(review: dict[str, Any], dancer: dict[str, Any], sheet: DanceSheet | None, settings: Settings) -> Line:
    if sheet is None:
        return Line("Restarts and tags", "cannot tell", f"{NO_SHEET}.".capitalize())
    name, told = "Restarts and tags", "" if sheet.restarts or sheet.tags else "The sheet has none. "
    found = (dancer.get("sheet") or {}).get("restarts", [])
    lost = [one for one in found if one["caught"] is False]
    if lost:
        play = tuple(Shown(float(one["time_s"]), f"Wall {one['wall']}, after the {one['after']}") for one in lost)
        return Line(name, "differs", f"{len(lost)} of {len(found)} were not danced as written.", play)
    more = unwritten_restart(review, dancer, sheet, settings.timing)
    if more.at is not None:
        wall, after, time_s = more.at
        words = f"{told}After count {after} of wall {wall} the dance begins anew, and the sheet has no restart there."
        return Line(name, "differs", words, (Shown(time_s, f"Wall {wall}, after count {after}"),))
    open_ = len(sheet.restarts) + len(sheet.tags) - sum(one["caught"] is True for one in found)
    if open_:
        return Line(name, "cannot tell", f"{open_} of them lie outside the clip, or too little was seen there.")
    held = told or f"All {len(found)} were danced as written. "
    if more.until is None:
        return Line(name, "cannot tell", f"{held}Too little was seen to say whether the clip has one more.")
    if more.open:
        wall, after = more.open[0]
        many = f" (and at {len(more.open) - 1} more)" if len(more.open) > 1 else ""
        why = (
            "the steps after it are too much like those at the beginning"
            if more.alike
            else "too little was seen for certain after it"
        )
        words = f"{held}Whether the clip has one more after count {after} of wall {wall}{many} cannot be told: {why}."
        return Line(name, "cannot tell", words)
    wall, after = more.until
    return Line(name, "agrees", f"{held}No other restart was danced up to count {after} of wall {wall}.")


def _foot(review: dict[str, Any], dancer: dict[str, Any]) -> Line:
    steps = dancer["steps"] if isinstance(dancer["steps"], list) else []
    opening = next((s for s in steps if s["count"] is not None and abs(s["count"] - 1.0) < 0.05), None)
    due = next((row for row in dancer.get("walls") or [] if abs(row["count"] - 1.0) < 0.05), None)
    name, differs = "Starting foot", (dancer.get("sheet") or {}).get("differs", [])
    wrong = any(
        abs(r["count"] - 1.0) < 0.05 and {"other foot", "danced in mirror"} & set(r["what"]) and 1 in r["walls"] for r in differs
    )
    if opening is None or due is None:
        return Line(name, "cannot tell", "The landing on count 1 of the first wall was not seen, or there is no sheet.")
    play = (Shown(float(opening["time_s"]), "the first landing"),)
    if wrong or opening["foot"] != due["foot"]:
        return Line(
            name, "differs", f"The {opening['foot']} foot opens the dance in the clip, the {due['foot']} foot on the sheet.", play
        )
    return Line(name, "agrees", f"The {opening['foot']} foot opens the dance, in the clip and on the sheet.")


def _facing(review: dict[str, Any], dancer: dict[str, Any]) -> Line:
    views = [
        e["view_deg"]
        for r in dancer.get("walls") or [] if r["count"] <= 2.01
        for e in r.get("each", []) if e["wall"] == 1 and e.get("view_deg") is not None
    ]  # fmt: skip
    if not views:
        return Line("Starting facing", "cannot tell", "From which side the dancer is seen on counts 1 and 2 could not be read.")
    seen, away = view_words(float(views[0])), abs(float(views[0]))
    if away <= FRONT_DEG:
        return Line("Starting facing", "agrees", f"The dance opens seen {seen}: 12:00 is where the camera stands.")
    if away >= BACK_DEG:
        return Line(
            "Starting facing",
            "agrees",
            f"The dance opens seen {seen}, as one follows it: 12:00 lies away from the camera.",
        )
    return Line(
        "Starting facing",
        "differs",
        f"The dance opens seen {seen}: say so, or film it from the front.",
        _start(review),
    )


def _mirror(review: dict[str, Any], dancer: dict[str, Any]) -> Line:
    block = dancer.get("sheet")
    if not block or not block["judged"]:
        return Line("Mirror", "cannot tell", not_judged(review, dancer))
    turned = [row for row in block["differs"] if {"danced in mirror", "other foot"} & set(row["what"])]
    landings = sum(len(row["walls"]) for row in turned)
    if landings > block["judged"] / 2:
        return Line(
            "Mirror", "differs", "Left and right are exchanged throughout: the clip was saved as in a mirror?", _start(review)
        )
    part = f" (but for {landings} of {block['judged']} landings: see the steps)" if landings else ""
    return Line("Mirror", "agrees", f"Left and right are as the sheet has them{part}.")


def _steps(review: dict[str, Any], dancer: dict[str, Any], settings: Settings) -> Line:
    block = dancer.get("sheet")
    if not block or not block["judged"]:
        return Line("Steps", "cannot tell", not_judged(review, dancer))
    asked = sheet_doubted(dancer, settings=settings)
    told = asked or f"{block['as_written']} of the {block['judged']} landings that could be judged are as written."
    found = against_sheet(review, dancer)
    if not found:
        return Line("Steps", "cannot tell" if asked else "agrees", told)
    shown = () if asked else found[: settings.release.most_told]
    if rest := len(found) - len(shown):
        more = f"{rest}{' more' if shown else ''} difference{'s stand' if rest > 1 else ' stands'} in the choreographer's view."
    words = [told, *(one.words for one in shown), *([f"{'And ' if shown else ''}{more}"] if rest else [])]
    return Line("Steps", "differs", " ".join(words), tuple(one.left for one in found if one.left))


def _phrases(review: dict[str, Any], sheet: DanceSheet | None) -> Line:
    told, block = phrase_told(review), review.get("phrase")
    if told is None or block is None or why_not(block):
        return Line("Phrases of the music", "cannot tell", told.words if told else "It needs a dance sheet and a beat.")
    off = [w for w in block["walls"] if w["after"]]
    whole, plain = block["phrase_counts"], sheet is not None and not (sheet.parts or sheet.restarts or sheet.tags)
    if off and plain and sheet and whole % sheet.counts == 0 and all(w["after"] % sheet.counts == 0 for w in off):
        fits = f"{whole // sheet.counts} walls of {sheet.counts} counts fill a phrase of {whole}"
        return Line("Phrases of the music", "agrees", f"{fits}, and none begins elsewhere in one.")
    play = tuple(Shown(float(w["time_s"]), f"Wall {w['wall']} begins") for w in off)
    return Line("Phrases of the music", "differs" if off else "agrees", told.words, play)


def _feet(review: dict[str, Any], dancer: dict[str, Any], settings: Settings) -> Line:
    table = count_table({**review, "dancers": [dancer]}, settings=settings)
    cells = [cell for row in table.rows for cell in row.cells]
    if not cells:
        return Line("Feet in view", "cannot tell", "No landing fits a count.")
    hidden = [cell.words.partition(":")[0] for cell in cells if cell.state == "unseen"]
    if not hidden:
        return Line("Feet in view", "agrees", f"On all {len(cells)} counts.")
    share = len(hidden) / len(cells)
    first = listed(hidden[:4]) + (" and more" if len(hidden) > 4 else "")
    words = f"Seen for certain on {len(cells) - len(hidden)} of {len(cells)} counts; not on {first}."
    return Line("Feet in view", "differs" if share > settings.release.hidden_share else "agrees", words)


def _at(review: dict[str, Any], wall: int, count: float, about: str) -> Shown | None:
    time_s = moment_of(review, wall, count)
    return None if time_s is None else Shown(time_s, f"Wall {wall}, count {count:g}: {about}")


def _start(review: dict[str, Any]) -> tuple[Shown, ...]:
    first = None if why_not(review["beats"]) else review["beats"]["first_count_s"]
    return (Shown(float(first or 0.0), "the beginning"),)


STYLE = f"""
body {{ font: 12pt/1.45 {FONT_STACK}; color: #20242e; background: #fff; max-width: 46rem; margin: 2rem auto; padding: 0 1rem }}
h1 {{ font-size: 1.5rem; border-bottom: 3px solid #20242e; padding-bottom: .3rem }}
table {{ border-collapse: collapse; width: 100% }} caption {{ text-align: left; color: #5a6070; padding-bottom: .4rem }}
th, td {{ text-align: left; vertical-align: top; padding: .45rem .6rem .45rem 0; border-bottom: 1px solid #8d8a99 }}
tr {{ break-inside: avoid }} th[scope=row] {{ width: 9rem }} .verdict {{ width: 8rem; white-space: nowrap; font-weight: 600 }}
.verdict svg {{ width: 1.25rem; height: 1.3rem; vertical-align: -.25rem; margin-right: .4rem }} .play, .quiet {{ color: #5a6070 }}
@page {{ size: A4; margin: 16mm }} @media print {{ body {{ margin: 0; padding: 0; font-size: 9.5pt; line-height: 1.35 }}
  th, td {{ padding-block: .25rem }} }}
"""


def verdict_html(verdict: Verdict) -> str:
    """A verdict with its mark, which differs in shape."""
    return f'<svg viewBox="0 0 20 21" aria-hidden="true" fill="none">{MARKS[verdict]}</svg>{verdict}'


def release_html(review: dict[str, Any], dancer: dict[str, Any], *, settings: Settings = SETTINGS) -> str:
    """The page as one HTML file that prints on A4 and needs nothing else."""
    lines, dance = release_lines(review, dancer, settings=settings), review.get("dance")
    title = f"Before release: {dance['title'] if dance else review['clip']['name']}"
    rows = "".join(
        f'<tr><th scope="row">{escape(line.name)}</th><td class="verdict">{verdict_html(line.verdict)}</td><td>{escape(line.words)}'
        + (f'<br><span class="play">Play: {escape("; ".join(when(one) for one in line.play[:4]))}</span>' if line.play else "")
        + "</td></tr>"
        for line in lines
    )
    differing = sum(line.verdict == "differs" for line in lines)
    unknown = sum(line.verdict == "cannot tell" for line in lines)
    told = f"{len(lines)} lines: {len(lines) - differing - unknown} agree, {differing} differ, {unknown} cannot be told."
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        f'<meta name="viewport" content="width=device-width, initial-scale=1"><title>{escape(title)}</title><style>{STYLE}</style></head>'
        f"<body><main><h1>{escape(title)}</h1><p>{escape(dancer_name(dancer))} in {escape(review['clip']['name'])}, "
        f"{clock(review['clip']['duration_s'])} long{f', beside {escape(sheet_told(review))}' if dance else ''}. {told}</p><table>"
        "<caption>The sheet beside the clip, line by line</caption>"
        f'<thead><tr><th scope="col">What</th><th scope="col">Verdict</th><th scope="col">Seen</th></tr></thead>'
        f"<tbody>{rows}</tbody></table>"
        '<p class="quiet">A line agrees only where it was seen. What cannot be told is for your own eye. Times are those of the '
        "clip; Countfall plays each of them.</p></main></body></html>\n"
    )


def default_release(folder: Path) -> Path:
    """Where the page goes unless the person says otherwise: "demo.release.html" beside "demo.review" """
    stem = folder.stem if folder.suffix == ".review" else folder.name
    return folder.with_name(f"{stem}.release.html")


def write_release(path: Path, html: str) -> None:
    """Write the page, whole or not at all. BadInput for another ending, so that no clip or sheet is lost to it; BadStore if it cannot
    be written there."""
    if path.suffix.lower() not in (".html", ".htm"):
        raise BadInput(f"'{path.name}' does not end in .html", "Give the page a name such as demo.release.html")
    try:
        write_whole(path, html)
    except OSError as error:
        why = (error.strerror or "the disk gave no reason").lower()
        raise BadStore(f"The page cannot be written to {path}: {why}", "Choose another place") from error
