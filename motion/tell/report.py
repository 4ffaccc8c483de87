"""report.html: one review on paper, for the dancer and the teacher. One file, nothing loaded from outside, printable on A4.

It is made from the dictionary that review.json holds, so that a stored review can be printed again. "Give or take" always means two
standard deviations, about 19 times in 20.
"""

from __future__ import annotations

import json
import math
import re
from html import escape
from typing import Any

from motion.review.settings import SETTINGS
from motion.tell.class_words import class_figures, class_told, moments_told, together_rows, walls_figures, walls_told
from motion.tell.count_line import FONT_STACK, FOOT, INK, QUIET, chart_legend, count_chart
from motion.tell.habit_words import habits_told, walls_timing_told
from motion.tell.html import bullets, cell, details, rows_table, table, told_html
from motion.tell.questions import own_told, phrasing_told
from motion.tell.range_words import range_groups, sides_told
from motion.tell.sheet_words import phrase_told, sheet_told, spread_rows
from motion.tell.words import (
    clock,
    degrees,
    finding_words,
    listed,
    measured,
    named_flags,
    place_words,
    section_of,
    share_words,
    signed_ms,
    told_day,
    why_not,
)

STYLE = f"""
@page {{ size: A4; margin: 14mm }}
* {{ box-sizing: border-box }}
body {{ margin: 0 auto; padding: 1.5rem 1.25rem 3rem; max-width: 62rem; background: #fff; color: {INK};
  font: 1rem/1.55 {FONT_STACK} }}
h1, h2, h3 {{ font-family: Georgia, 'Liberation Serif', serif; font-weight: 600; line-height: 1.2; break-after: avoid }}
h1 {{ font-size: 2rem; margin: .2rem 0 .4rem; overflow-wrap: anywhere }}
h2 {{ font-size: 1.45rem; margin: 2.4rem 0 .5rem; padding-left: .7rem; border-left: .45rem solid {FOOT["left"]} }}
h3 {{ font-size: 1.1rem; margin: 1.4rem 0 .3rem }}
p, ul, ol, table {{ margin: .4rem 0 .8rem }} li {{ margin: .2rem 0 }}
.quiet {{ color: {QUIET} }}
.lead {{ font-size: 1.12rem; max-width: 46rem }}
.count-line {{ overflow-x: auto }} .count-line svg {{ display: block; width: 100%; min-width: 40rem; break-inside: avoid }}
.legend {{ list-style: none; padding: 0; display: grid; grid-template-columns: repeat(auto-fill, minmax(19rem, 1fr)); gap: 0 1rem;
  font-size: .9rem }}
.legend li {{ display: flex; gap: .5rem; align-items: center }} .legend svg {{ flex: none }}
.found {{ list-style: none; padding: 0 }} .found li {{ display: flex; gap: .8rem; break-inside: avoid; margin: .5rem 0 }}
.found b.mark {{ flex: none; width: 1.7rem; height: 1.7rem; border: 2px solid {INK}; text-align: center; line-height: 1.4rem }}
table {{ border-collapse: collapse; font-variant-numeric: tabular-nums; font-size: .92rem }}
caption {{ text-align: left; font-weight: 600; padding: .3rem 0 }}
th, td {{ text-align: left; vertical-align: top; padding: .25rem .9rem .25rem 0; border-bottom: 1px solid #d5d6dc }}
tr {{ break-inside: avoid }}
details {{ margin: .8rem 0; border-top: 1px solid #d5d6dc; padding-top: .4rem }}
summary {{ cursor: pointer; font-weight: 600 }}
pre {{ white-space: pre-wrap; overflow-wrap: anywhere; font-size: .8rem }}
@media print {{ html {{ font-size: 9.5pt }} body {{ padding: 0; max-width: none }} .count-line {{ overflow: visible }}
  .count-line svg {{ min-width: 0 }} .legend {{ grid-template-columns: repeat(2, 1fr); break-inside: avoid }}
  table {{ break-inside: avoid }} .dancer ~ .dancer {{ break-before: page }} details:not([open]) {{ display: none }}
  .joints td:not([colspan]), .joints th[scope=row] {{ white-space: nowrap }} h2 {{ margin-top: 1.6rem }} h3 {{ margin-top: 1rem }} }}
"""

SOURCES = {
    "sound": "It was heard in the clip's own sound.",
    "taps": "It was tapped by hand.",
    "given": "It was given, not heard.",
    "song": "It was taken from the song.",
}
ZEROS = {
    "standing": "this dancer's own quiet standing",
    "stored": "the standing of an earlier range check",
    "stance": "how this dancer stands on one foot while dancing, since quiet standing could not be read in this clip",
    "anatomical": "a straight, upright body, since quiet standing could not be read in this clip",
}
NOT_JUDGED = (
    "Arms, hands, head, face and expression.",
    "Style, and what a dance is worth. There are no marks here, and no order of dancers.",
    "Anyone who was hidden, or whose feet were out of the picture: nothing is said rather than guessed.",
)
CAUTIONS = (
    "This is a practice aid. It is not medical advice and not a medical device, and it finds no illness or injury.",
    "Pain is never a target. If something hurts, stop, and tell a grown-up or ask a health professional.",
    "How far a joint moved describes this clip. It is not a measure of how far it can move, and no norm to reach.",
    "Compare a dancer with their own earlier clips only, filmed in the same way. Children are not compared with each other.",
    "The rules of your school, club and country come first. To film children, have the agreement of a parent and of the child, for "
    "a purpose and until a date; keep the clip locked away, do not post it, and delete it with this review when the date comes.",
)


def report_html(review: dict[str, Any], *, only: int | None = None) -> str:
    """The whole report as HTML text, from the dictionary of review.json (as `review_json` builds it or a folder holds it).

    only: the number of one dancer, to hand out: nothing of the others is in it.
    """
    if only is not None:
        review = _of_one(review, only)
    clip, dancers = review["clip"], review["dancers"]
    title = f"Practice review: {clip['name']}"
    parts = [
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">',
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">",
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{escape(title)}</title><style>{STYLE}</style></head><body><header>",
        f'<p class="quiet">Countfall · practice review</p><h1>{escape(clip["name"])}</h1></header><main>',
        _filmed(review),
        _beat(review),
        _notes(review.get("notes", [])),
        _class(review),
        *(_dancer(one, review) for one in dancers),
        f"<section><h2>What is not judged</h2>{bullets(NOT_JUDGED)}</section>",
        f"<section><h2>Please keep in mind</h2>{bullets(CAUTIONS)}</section>",
        _made(review),
        "</main></body></html>\n",
    ]
    return "".join(parts)


def _of_one(review: dict[str, Any], number: int) -> dict[str, Any]:
    """A review as if it were of one dancer: without the class, the others, and notes that name them."""
    named = [re.findall(r"[Dd]ancers? (\d+(?:(?:, | and )\d+)*)", note) for note in review.get("notes", [])]
    told = zip(review.get("notes", []), named, strict=True)
    notes = [note for note, who in told if set(re.findall(r"\d+", " ".join(who))) <= {str(number)}]
    mine = [one for one in review["dancers"] if int(one["id"]) == number]
    judged = dict(review["made_by"].get("judged", {}))
    if "own_version" in judged:
        judged["own_version"] = [one for one in judged["own_version"] if int(one) == number]
    made_by = review["made_by"] | ({"judged": judged} if judged else {})
    return review | {"dancers": mine, "class": None, "notes": notes, "only": number, "made_by": made_by}


def _filmed(review: dict[str, Any]) -> str:
    clip, people, dance = review["clip"], len(review["dancers"]), review.get("dance")
    said = [f"The clip lasts {clock(clip['duration_s'])}."]
    if clip["stretches"]:
        said.append("There was dancing " + listed([f"from {clock(a)} to {clock(b)}" for a, b in clip["stretches"]]) + ".")
    if people > 1:
        said.append(f"{people} dancers were followed, numbered from the picture's left.")
    else:
        said.append("Nobody else is on this page." if "only" in review else "One dancer was followed.")
    if dance:
        walls = "1 wall" if dance["walls"] == 1 else f"{dance['walls']} walls"
        said.append(f"The dance is “{dance['title']}”: {dance['counts']} counts, {walls}.")
    else:
        said.append(
            "No dance sheet was given. Each landing is set against the nearest beat or half beat; "
            "whether a step was missing or was another step cannot be told."
        )
    if clip["damaged_pictures"]:
        said.append(f"{clip['damaged_pictures']} of the clip's pictures were damaged and were left out.")
    if clip.get("cut_short"):
        said.append("The clip breaks off before its end; it was reviewed as far as it goes.")
    keep = (
        f"To be deleted, with the clip, by {told_day(clip['expires'])}."
        if clip["expires"]
        else "No date is set for deleting this clip."
    )
    contents = ""
    if people > 1:
        links = (f'<li><a href="#dancer-{one["id"]}">{escape(_name(one))}</a></li>' for one in review["dancers"])
        contents = f'<nav aria-label="Dancers"><ul>{"".join(links)}</ul></nav>'
    lead = f'<p class="lead">{escape(" ".join(said))}</p><p class="quiet">{escape(keep)}</p>'
    return f"<section><h2>What was filmed</h2>{lead}{contents}</section>"


def _beat(review: dict[str, Any]) -> str:
    beats = review["beats"]
    reason = why_not(beats)
    if reason:
        text = f"<p>The beat was not measured: {escape(reason)}. So nothing can be said about early or late.</p>"
        return f"<section><h2>The beat</h2>{text}</section>"
    desk, sure = SETTINGS.desk, float(beats["confidence"])
    if sure >= desk.beat_clear:
        how = "It is clear."
    elif sure >= desk.beat_fair:
        how = "It is fairly clear."
    else:
        how = "It is hard to hear: play the clip and listen whether the counts fall with the music."
    one = beats["first_count_s"]
    first = f"Count 1 of the dance falls at {clock(one)}." if one is not None else "Where count 1 of the dance falls is not known."
    gap_ms = 60_000 / beats["tempo_bpm"]
    tempo = f"{beats['tempo_bpm']:.0f} beats a minute, so one count lasts {gap_ms:.0f} ms (thousandths of a second)."
    doubts = bullets(beats.get("doubts", []))
    phrase = told_html(phrase_told(review), "the music's phrases")
    figures = (
        f"<p>{len(beats['times_s'])} beats; sure to {sure:.2f} on a scale from 0 to 1; & lies {beats['half_at']:.2f} of the way "
        f"from one count to the next.</p>"
    ).replace("; & ", "; &amp; ")
    said = f"{SOURCES[beats['source']]} {how} {tempo} {first}"
    return (
        f"<section><h2>The beat</h2><p>{escape(said)}</p>{doubts}{details('Show the figures: the beat', figures)}{phrase}</section>"
    )


def _notes(notes: list[str]) -> str:
    return f"<section><h2>Good to know about this clip</h2>{bullets(notes)}</section>" if notes else ""


def _class(review: dict[str, Any]) -> str:
    told = class_told(review)
    if not told:
        return ""
    moments = moments_told(review)
    watch = f"<h3>Moments to watch</h3>{bullets(moments)}" if moments else ""
    counts = bullets(class_figures(review)) + rows_table("How together, count by count", together_rows(review))
    return f"<section><h2>The class</h2>{bullets(told)}{watch}{details('Show the figures: how together, count by count', counts)}</section>"


def _dancer(one: dict[str, Any], review: dict[str, Any]) -> str:
    beats, dance = review["beats"], review.get("dance")
    # Without timing the paragraph above has already said why there is nothing to draw.
    chart = "" if why_not(one["timing"]) else count_chart(one, beats, dance) + chart_legend()
    return (
        f'<section class="dancer" id="dancer-{one["id"]}"><h2>{escape(_name(one))}</h2>'
        f"{_followed(one, review['clip'])}<h3>With the beat</h3>{_with_the_beat(one, beats)}"
        f"{told_html(habits_told(one, beats), 'how many counts are on the beat')}"
        f"{told_html(phrasing_told(one), 'how this dancer phrases it')}{chart}"
        f"<h3>Moments to look at</h3>{_findings(one, beats, dance)}"
        f"<h3>How far the joints moved</h3>{_ranges(one)}{_range_check(one)}"
        f"{_walls(one, beats)}{details('Show all figures of this dancer', _figures(one, dance, beats))}</section>"
    )


def _walls(one: dict[str, Any], beats: dict[str, Any]) -> str:
    told, timed = walls_told(one, beats), told_html(walls_timing_told(one, beats), "early or late, wall by wall")
    spread = details(
        "Show the figures: how far the walls lie apart, count by count",
        bullets(walls_figures(one)) + rows_table("How far apart the walls lie", spread_rows(one)),
    )
    walls = f"<h3>Wall against wall</h3>{bullets(told)}{timed}{spread}" if told or timed else ""
    sheet = told_html(sheet_told(one), "clip and sheet")
    return f"{walls}<h3>The clip against the sheet</h3>{sheet}" if sheet else walls


def _name(one: dict[str, Any]) -> str:
    return f"Dancer {one['id']}" + (f" · {one['label']}" if one["label"] else "")


def _followed(one: dict[str, Any], clip: dict[str, Any]) -> str:
    said = f"Seen in {len(one['track']['times_s'])} of {clip['pictures']} pictures."
    unsure = [f"{clock(a)} to {clock(b)}" for a, b in one["track"]["unsure"] if b - a >= SETTINGS.desk.told_unsure_s]
    if unsure:
        said += f" Hidden, or crossing someone, and so less certain: {listed(unsure)}."
    return f'<p class="quiet">{escape(said)}</p>'


def _with_the_beat(one: dict[str, Any], beats: dict[str, Any]) -> str:
    timing = one["timing"]
    reason = why_not(timing)
    if reason:
        return f"<p>Not measured: {escape(reason)}.</p>"
    usual, (low, high), n = float(timing["bias_ms"]), timing["bias_interval_ms"], int(timing["n"])
    known = f"{n} landings put it between {signed_ms(low)} and {signed_ms(high)}, 19 times in 20"
    if low <= 0 <= high or abs(usual) < SETTINGS.desk.told_offset_ms:
        first = f"As a rule this dancer lands with the beat: no steady lead or lag that anyone would notice ({known})."
    else:
        way = "after" if usual > 0 else "before"
        share = share_words(usual, beats["tempo_bpm"])
        first = f"As a rule this dancer lands {abs(usual):.0f} ms {way} the beat, {share} ({known})."
        if usual < 0:
            first += " A small steady lead is how most people keep time, and no fault."
    spread, give = float(timing["steadiness_ms"]), 2 * float(timing["steadiness_ms"]) / math.sqrt(2 * max(1, n - 1))
    second = f"Two landings in three fall within {spread:.0f} ms of their mean, give or take {give:.0f} ms."
    return f"<p>{escape(first)} {escape(second)} {escape(_reading(one))}</p>"


def _reading(one: dict[str, Any]) -> str:
    sigmas = sorted(float(s["sigma_ms"]) for s in one["steps"] if s["sigma_ms"]) if isinstance(one["steps"], list) else []
    return f"A single landing can be read to about {2 * sigmas[len(sigmas) // 2]:.0f} ms either way." if sigmas else ""


def _findings(one: dict[str, Any], beats: dict[str, Any], dance: dict[str, Any] | None) -> str:
    reason = why_not(one["flags"])
    if reason:
        return f"<p>Not measured: {escape(reason)}.</p>"
    named = named_flags(one)
    if not named:
        return f"<p>{escape(own_told(one) or 'Nothing that is sure enough to be put to a dancer.')}</p>"
    starts, section = _layout(dance, beats)
    items, figures = [], []
    for mark, flag in named:
        where = place_words(flag["count"], flag["until_count"], starts, section)
        sure = "quite sure" if flag["sure"] >= SETTINGS.desk.flag_sure else "fairly sure"
        about = " · ".join(part for part in (clock(flag["time_s"]), where, sure) if part)
        items.append(
            f'<li><b class="mark">{mark}</b><div>{escape(finding_words(flag, one))}<br>'
            f'<span class="quiet">{escape(about)}</span></div></li>'
        )
        figures += [f"{mark}: {size}." for size in [measured(flag, one, beats)] if size and flag["unit"] != "steps"]
    return f'<ol class="found">{"".join(items)}</ol>{details("Show the figures: moment by moment", bullets(figures))}'


def _ranges(one: dict[str, Any]) -> str:
    groups = range_groups(one)
    if isinstance(groups, str):
        return f"<p>{escape(groups)}</p>"
    body = ""
    for heading, rows in groups:
        body += f'<tr><th scope="colgroup" colspan="5">{escape(heading)}</th></tr>'
        for row in rows:
            if row.why:
                told = f'<td colspan="4">not measured: {escape(row.why)}</td>'
            else:
                told = "".join(f"<td>{escape(cell)}</td>" for cell in (row.moved, row.give_or_take, row.seen, row.pictures))
            body += f'<tr><th scope="row">{row.joint}</th>{told}</tr>'
    head = "".join(f'<th scope="col">{word}</th>' for word in ("Joint", "Moved through", "Give or take", "Seen", "Pictures used"))
    notes = [
        sides_told(one),
        "More than 0° is bent (hip: knee towards the chest; ankle: toes towards the shin), less is stretched. " + _zero(one),
    ]
    said = "".join(f'<p class="quiet">{escape(note)}</p>' for note in notes if note)
    return f'<table class="joints"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>{said}'


def _zero(one: dict[str, Any]) -> str:
    zeros = one.get("angles", {}).get("zero", {})
    kinds = [kind for kind in ZEROS if kind in zeros.values()]
    if len(kinds) == 1:
        return f"0° is {ZEROS[kinds[0]]}."
    named = (f"{listed([key.replace('_', ' ') for key, v in zeros.items() if v == kind])}: {ZEROS[kind]}" for kind in kinds)
    return f"0° is, for {'; for '.join(named)}." if kinds else ""


def _range_check(one: dict[str, Any]) -> str:
    block = one.get("range_check")
    if block is None:
        return ""
    reason = why_not(block)
    if reason:
        return f"<h3>Range check</h3><p>Not measured: {escape(reason)}.</p>"
    rows = [
        (
            str(r.get("task", "")),
            str(r.get("side", "")),
            cell(r.get("repetitions")),
            "not measured" if r.get("range_deg") is None else degrees(r["range_deg"]),
            " to ".join(degrees(edge) for edge in r["interval_deg"]) if r.get("interval_deg") else "",
        )
        for r in block
    ]
    return "<h3>Range check</h3>" + table("", ("Task", "Side", "Repetitions", "Range", "Surely between (19 times in 20)"), rows)


def _layout(dance: dict[str, Any] | None, beats: dict[str, Any]) -> tuple[list[int], int]:
    """First count of every wall (none without a dance), and how many counts a section has."""
    return (dance["wall_starts"] if dance else [], section_of(dance, beats))


def _figures(one: dict[str, Any], dance: dict[str, Any] | None, beats: dict[str, Any]) -> str:
    starts, section = _layout(dance, beats)
    parts = []
    timing = one["timing"]
    if not why_not(timing):
        low, high = timing["bias_interval_ms"]
        parts.append(
            table(
                "Timing (late is positive)",
                ("Landings", "Usual place, 19 times in 20", "Spread", "Gathered at one place, 0 to 1", "Drift"),
                [
                    (
                        str(timing["n"]),
                        f"{cell(timing['bias_ms'])} ms, {cell(low)} to {cell(high)}",
                        f"{cell(timing['steadiness_ms'])} ms",
                        cell(timing["vector_length"]),
                        f"{cell(timing['drift_ms_per_count'])} ms a count",
                    )
                ],
            )
        )
    if isinstance(one["flags"], list) and one["flags"]:
        rows = [
            (
                clock(f["time_s"]),
                place_words(f["count"], f["until_count"], starts, section),
                f["kind"],
                f"{cell(f['size'])} {f['unit'] or ''}".strip(),
                cell(f["sure"]),
                "yes" if f["named"] else "no, not sure enough",
            )
            for f in one["flags"]
        ]
        parts.append(table("All findings", ("Time", "Where", "Kind", "Size", "How plain, 0 to 1", "Put to the dancer"), rows))
    if isinstance(one["steps"], list):
        rows = [
            (
                clock(s["time_s"]),
                place_words(s["count"], None, starts, section) or "none fits",
                s["foot"],
                s["kind"],
                cell(s["offset_ms"]),
                cell(s["sigma_ms"]),
            )
            for s in one["steps"]
        ]
        parts.append(
            table("All landings", ("Time", "Where", "Foot", "Kind", "Against the beat (ms)", "Spread of a reading (ms)"), rows)
        )
    return "".join(parts)


def _made(review: dict[str, Any]) -> str:
    clip = review["clip"]
    said = (
        f"{clip['pictures']} pictures of {clip['width_px']} × {clip['height_px']} pixels, "
        f"{'unevenly' if clip['uneven_times'] else 'evenly'} spaced in time. Fingerprint of the clip (SHA-256): {clip['sha256']}."
    )
    made = json.dumps(review["made_by"], ensure_ascii=False, indent=1)
    return details("How this review was made", f"<p>{escape(said)}</p><pre>{escape(made)}</pre>")
