"""The warm-up's games, one joint at a time, and which joints and muscles every move of a sheet asks for.

The games are big, playful and slow enough for six to eight easy repeats. `seated` is the same game on a chair, `hold` the standing one
with a hand on a chair. No game forces a range, bounces, or asks for balance without a way to hold on.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

Joint = Literal["whole body", "ankles", "knees", "hips", "spine", "shoulders"]
#: In the order in which they are prepared: pulse first, then from the floor up.
JOINTS: tuple[Joint, ...] = get_args(Joint)

CALF, SHIN, THIGH_FRONT, THIGH_BACK, HIP_FRONT, HIP_SIDE, HIP_IN, SEAT, ROTATORS, BELLY, TRUNK, SHOULDER, FOOT = (
    "calves (gastrocnemius, soleus)", "front of the shins (tibialis anterior)", "front of the thighs (quadriceps)",
    "back of the thighs (hamstrings)", "front of the hips (iliopsoas)", "outside of the hips (gluteus medius)",
    "inside of the thighs (adductors)", "seat (gluteus maximus)", "deep turners of the hips (lateral rotators)",
    "belly (abdominals)", "sides and back of the trunk (obliques, erector spinae)", "shoulders (deltoids, trapezius)",
    "soles of the feet (short foot muscles)",
)  # fmt: skip


@dataclass(frozen=True)
class Game:
    """One game. plain: the same for grown-ups; sides: it is done with the right and with the left for equal times; stop: what not to
    do; muscles: what it always prepares, whatever the dance."""

    name: str
    joint: Joint
    story: str
    plain: str
    seated: str
    sides: bool
    stop: str
    muscles: tuple[str, ...]


GAMES: tuple[Game, ...] = (
    Game("Tide on the shore", "whole body",
         "The sea is coming: walk on the spot as small waves. Louder sea, bigger steps and swinging arms. Then the sea goes out, and the "
         "steps get small and quiet.",
         "Walk on the spot, small steps first. Let steps and arms grow over half the time, then let them get small again.",
         "Sit tall at the front of the chair and walk with feet and arms; grow and shrink with the sea.",
         False, "Talking goes all the time; nobody stamps.", (CALF, THIGH_FRONT)),
    Game("Postman's stamp", "ankles",
         "You are a rubber stamp. Rise slowly on both toes, look over the counter, and come down so softly that the letter does not "
         "tear. Then lift all toes to show whether ink is on them.",
         "Rise slowly on both toes and come down softly; then lift the toes with the heels down.",
         "Feet flat: lift both heels slowly, set them down; lift both toes, set them down.",
         False, "A hand on a chair for whoever sways.", (CALF, SHIN, FOOT)),
    Game("The slow clock", "ankles",
         "Lift one foot a little: the big toe is the hand of a clock. Draw round from twelve to twelve, then the clock runs backwards.",
         "Lift one foot a little and draw a large slow circle with the toes, then the other way round.",
         "Lift one foot from the floor and draw the circle with the toes.",
         True, "Hold on if you stand; the foot draws, the knee stays still.", (SHIN, CALF)),
    Game("The careful lift", "knees",
         "You are a lift with a glass of water on the roof. Go half a floor down, heels on the ground and knees over the toes, and up "
         "again. Nothing spills. This lift has no cellar.",
         "Bend both knees a little, heels down and knees over the toes, and straighten softly.",
         "Slide one foot forward along the floor and back under the chair, slowly, then the other.",
         False, "Never deep and never locked straight; knees point where toes point.", (THIGH_FRONT, SEAT)),
    Game("Foot to the mailbox", "knees",
         "The mailbox is behind you. Pick a letter up with one heel and post it behind, slowly, knee beside knee; then the next.",
         "Bend one knee and bring the heel up behind, knee beside knee, and set the foot down quietly.",
         "Slide one heel back under the chair as far as is easy, and forward again.",
         True, "A hand on a chair; the back stays straight.", (THIGH_BACK,)),
    Game("The garden gate", "hips",
         "Lift one knee: the gate is shut in front. Open it to the side, let a sheep through, shut it in front, and set the foot down.",
         "Lift one knee in front, open it to the side, bring it back to the front and set the foot down.",
         "Lift one foot, set it down further out, lift it and bring it home.",
         True, "Only as high as is easy; the upper body does not lean away.", (HIP_FRONT, HIP_SIDE, ROTATORS)),
    Game("Wading bird", "hips",
         "You wade through shallow water. Slide one foot to the side without a splash, shift over it, and draw the other foot in. Then "
         "one step behind, and home.",
         "Step wide to the side, shift over, close; then a step behind and close. Small steps first.",
         "Slide one foot out to the side and home, then back under the chair and home.",
         True, "Feet stay near the floor.", (HIP_SIDE, HIP_IN, SEAT)),
    Game("Lighthouse lamp", "spine",
         "Arms folded on the chest, feet planted: you are a lighthouse. Turn the lamp slowly to one wall, rest, and slowly to the other.",
         "Arms folded on the chest, feet still: turn slowly to one side, rest, and to the other.",
         "Sit tall, arms folded: turn slowly to one side, rest, and to the other.",
         False, "Slow, breath going on; the hips come along a little.", (TRUNK, BELLY)),
    Game("Tall grass", "spine",
         "Wind comes from one side: one arm long overhead, lean away like grass. The wind drops, stand up, and it comes from the other.",
         "One arm overhead, lean gently away to the other side, come up. In turns.",
         "One arm overhead, the other hand on the chair: lean gently away, come up. In turns.",
         True, "No bouncing, no leaning back.", (TRUNK,)),
    Game("Reeling in the kite", "shoulders",
         "Your kite is far up. Reel it in with big slow circles of both shoulders, forwards; let it fly again, backwards.",
         "Large slow circles of both shoulders forwards, then backwards; then with bent arms.",
         "Sit tall: large slow circles of both shoulders forwards, then backwards.",
         False, "Shoulders come down between circles.", (SHOULDER,)),
)  # fmt: skip

#: Moves of a sheet to joints and muscles that do the work, for the leg that moves and the one that stands.
WORK: dict[str, tuple[tuple[Joint, str], ...]] = {
    "side": (("hips", HIP_SIDE), ("hips", HIP_IN)),
    "behind": (("hips", ROTATORS), ("hips", SEAT), ("ankles", CALF)),
    "cross": (("hips", HIP_IN), ("hips", HIP_FRONT), ("ankles", CALF)),
    "together": (("hips", HIP_IN),),
    "forward": (("ankles", CALF), ("knees", THIGH_FRONT), ("hips", HIP_FRONT)),
    "back": (("ankles", CALF), ("hips", SEAT), ("knees", THIGH_BACK)),
    "in place": (("ankles", CALF), ("knees", THIGH_FRONT)),
    "stomp": (("knees", THIGH_FRONT), ("ankles", CALF)),
    "touch": (("ankles", CALF), ("hips", HIP_SIDE)),
    "heel": (("ankles", SHIN), ("knees", THIGH_FRONT)),
    "toe": (("ankles", CALF), ("ankles", FOOT)),
    "stomp up": (("knees", THIGH_FRONT), ("ankles", CALF)),
    "recover": (("hips", HIP_SIDE), ("knees", THIGH_FRONT)),
    "sway": (("hips", HIP_SIDE), ("spine", TRUNK)),
    "kick": (("hips", HIP_FRONT), ("knees", THIGH_FRONT)),
    "hitch": (("hips", HIP_FRONT), ("hips", HIP_SIDE)),
    "scuff": (("ankles", SHIN), ("hips", HIP_FRONT)),
    "brush": (("ankles", FOOT), ("hips", HIP_FRONT)),
    "hook": (("knees", THIGH_BACK), ("hips", ROTATORS)),
    "flick": (("knees", THIGH_BACK),),
    "strut drop": (("ankles", SHIN), ("ankles", CALF)),
    "swivel": (("hips", ROTATORS), ("ankles", FOOT)),
    "unwind": (("hips", ROTATORS), ("spine", TRUNK), ("ankles", FOOT)),
    "hold": (),
}
#: What every turn asks for besides.
TURNING: tuple[tuple[Joint, str], ...] = (("hips", ROTATORS), ("spine", TRUNK))
#: Without a sheet: what a plain dance of vines, walks, touches and quarter turns asks for.
PLAIN_MOVES: tuple[tuple[str, float], ...] = (
    ("side", 0), ("behind", 0), ("side", 0), ("touch", 0), ("forward", 0), ("back", 0), ("forward", 90), ("together", 0),
)  # fmt: skip
