"""One page to print before filming: what is filmed, where it stays, who sees it, when it goes; with a guardian's and a child's slip.

It is a draft to be adapted to the rules of one's own school or club, which come first, as local law does: opened in a browser, every
word of it can be changed by clicking into it.
"""

from __future__ import annotations

from datetime import date
from html import escape

from motion.review.settings import SETTINGS
from motion.tell.words import told_day

STYLE = """
@page { size: A4; margin: 14mm 16mm; }
/* One sheet whatever fonts there are: another one is set no larger than Arial looks (its small letters are 0.519 of its size). */
body { font: 10pt/1.35 "Liberation Sans", Arial, sans-serif; font-size-adjust: 0.519; color: #20242e;
  max-width: 178mm; margin: 0 auto; padding: 4mm; }
h1 { font: bold 17pt Georgia, "Liberation Serif", serif; margin: 0 0 2mm; border-bottom: 0.6mm solid #20242e; }
h2 { font-size: 11pt; margin: 2.4mm 0 0.4mm; }
p { margin: 0 0 1mm; }
.slip { border-top: 0.4mm dashed #5a6070; margin-top: 4mm; padding-top: 1mm; break-inside: avoid; }
.slip p { margin-bottom: 1.5mm; }
.child { font-size: 11.5pt; }
.line { display: inline-block; border-bottom: 0.3mm solid #20242e; min-width: 58mm; height: 6mm; vertical-align: -0.8mm; }
.short { min-width: 30mm; }
.drawn { display: inline-block; width: 70mm; height: 17mm; border: 0.3mm solid #20242e; border-radius: 2mm; vertical-align: top; }
.box { display: inline-block; width: 3.6mm; height: 3.6mm; border: 0.35mm solid #20242e; margin-right: 1.5mm; vertical-align: -0.4mm; }
.adapt { background: #f7ecd8; border: 0.3mm solid #8f5200; padding: 1.5mm 2.5mm; margin-bottom: 2mm; }
@media print { .adapt { display: none; } body { padding: 0; max-width: none; } }
"""
TOLD: tuple[tuple[str, str], ...] = (
    ("What is filmed, and what for",
     "Short clips of dance practice, whole body, with the music and whatever else is heard in the room. A program measures when feet come "
     "down against the beat, and how far hips, knees and ankles bend, so that the teacher sees which counts to practise again. There "
     "are no marks by the program, no order of dancers and no recognising of faces, and nobody is looked for in other clips."),
    ("Where it stays",
     "On the teacher’s computer, in a folder that only the teacher can open. Nothing is sent anywhere. Dancers stand in it under short "
     "labels, such as a colour, not under their names. At the latest a day after a clip was measured, the program keeps it only "
     "with every head covered that the program found; its sound stays."),
    ("Who sees it",
     "The teacher. In the lesson the group may watch moments of it together. You or your child may see what concerns them at any "
     "time, and have a copy of it. A film that is handed out shows that one dancer, and everybody else covered."),
    ("When it goes",
     "By {until} at the latest: clip, points, figures and reports. The program deletes what it keeps the next time it is opened; the "
     "teacher deletes the clip from phone, card and computer. What the teacher writes down about a lesson or a dancer goes {days} days "
     "after it was written."),
    ("Saying no",
     "Saying no has no drawback: whoever does so dances along in a place that is not filmed. A yes can be taken back at any time, without "
     "giving reasons: then the dancer is deleted from everything that is kept. A clip may show others too; in those the dancer is "
     "covered from head to foot. Whatever was handed out before has to be asked back."),
    ("What you may ask",
     "To see what is kept, to have it put right or deleted, and that it is used no longer. If you are not content with the answer, you "
     "may turn to the data protection authority where you live."),
)  # fmt: skip


def consent_html(class_name: str, until: date) -> str:
    """The page as one HTML file without anything from elsewhere, made to fit one sheet of A4. until: the last day of what is agreed."""
    last = escape(told_day(until))
    words = {"until": told_day(until), "days": SETTINGS.library.records_kept_days}
    told = "".join(f"<h2>{escape(title)}</h2><p>{escape(text.format_map(words))}</p>" for title, text in TOLD)
    name = escape(class_name)
    return f"""<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>Filming in {name}</title><style>{STYLE}</style></head>
<body contenteditable="true" spellcheck="false">
<p class="adapt">A draft. Click into any line to change it, and then print; what you change is not kept. Adapt it to the rules of your
school or club and to the law where you are; both come first. Say who is responsible and whom to ask. This box is not printed.</p>
<h1>Filming in the class {name}</h1>
{told}
<p>Responsible for all this: <span class="line"></span></p>
<p>Questions, or a yes taken back: <span class="line"></span></p>
<div class="slip"><h2>For a parent or guardian (grown-up dancers: for yourself)</h2>
<p>Dancer <span class="line"></span> Label in the class <span class="line short"></span></p>
<p><span class="box"></span>Yes, as written above, until {last}. &emsp; <span class="box"></span>No.</p>
<p>Name <span class="line"></span> Date and signature <span class="line"></span></p></div>
<div class="slip child"><h2>For the child: your own yes or no</h2>
<p>We film how we dance, to see which counts to practise. Your teacher looks at it, and our group may watch bits of it together. You may
see yourself whenever you ask. You can say no, and you can change your mind later. Nobody will mind, and you dance just the same, only
out of the picture.</p>
<p><span class="box"></span>Yes, you may film me. &emsp; <span class="box"></span>No, please not.</p>
<p>My name or a drawing: <span class="drawn"></span></p></div>
</body></html>
"""
