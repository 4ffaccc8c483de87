"""Make motion/body/contact.npz: the network that tells when a foot lands.

    python tests/bench/train_contact.py REAL DRAWN [--folds FOLDER] [--rounds N] [--out FILE]

REAL holds captured motions (NAME.npz), DRAWN the truth of drawn clips (NAME.json.gz); see contact_motions.py. Needs torch, which the
product does not. With --folds, groups of captured people and dances of drawn ones are held out in turn, the figures for what no network
saw are printed, and the weights are written to
FOLDER as DANCE.npz. Seeds are fixed: the same data and torch give the same file.
"""

from __future__ import annotations

import argparse
import multiprocessing
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
from contact_made import made_motion
from contact_motions import LANDS, Motion, described, read_all
from contact_views import Seen, covered_at_times, filmed, misread, varied

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from motion.body.contact_network import CHANNELS, LOG_SPREAD, NEAR_S, RATE_HZ, channels, even_times, run_network
from motion.body.foot_contacts import leg_px_of, peaks

WIDTHS, TAPS = (64, 64, 64, 64), 9
MEMBERS = 3  # networks whose mean is taken, against the chance of one start
BUMP_S = 0.022  # half width of the target around a landing: less than a frame at 30 a second
UNSURE_S = 0.2  # around a contact that counts neither way
WINDOW_S, BATCH, FRESH = 5.0, 64, 200
PICKED, MADE = 320, 0.25  # motions seen anew every FRESH rounds, and share of them that are made
FAR = 1e3  # in place of how far off a landing is, where none is near
#: Held out together, by group of captured people and by dance of drawn ones.
FOLDS: dict[str, tuple[str, ...]] = {
    "salsa": ("cmu60_61", "slipway", "millpond"),
    "walks": ("cmux_walking", "cmux_walking_extra", "cmu07", "cmu12", "gravel"),
    "dances": ("cmu131", "cmu_jj", "cmux_jumping", "cmu01", "lantern"),
    "others": ("cmux_basketball", "cmux_soccer", "cmux_basketball_signal", "cmux_directing_traffic", "cmu10", "cmu11", "shingle"),
    "arts": ("cmu135", "cmu14", "fair1", "porchlight"),
}


def network(inputs: int) -> Any:
    from torch import nn

    layers: list[Any] = []
    for k, width in enumerate(WIDTHS):
        layers += [
            nn.Conv1d(inputs, width, TAPS, padding=(TAPS - 1) // 2 * 2**k, dilation=2**k, padding_mode="replicate"),
            nn.ReLU(),
            nn.Dropout(0.1),
        ]
        inputs = width
    return nn.Sequential(*layers, nn.Conv1d(inputs, 5, 1))


def pictured(seen: Seen, real: bool, covered: np.ndarray | None = None) -> list[tuple[np.ndarray, np.ndarray]]:
    """Channels (C, T) and targets (7, T) of both feet: landing, weight, shift, where each of these counts; how far off a landing is."""
    grid = even_times(seen.times_s)
    leg = leg_px_of(seen.times_s, seen.points)
    out = []
    for right in (False, True):
        foot = "R" if right else "L"
        target = np.zeros((7, len(grid)))
        target[6] = FAR
        known = np.ones(len(grid), bool)
        for a, b, of in seen.unknown:
            if of in (foot, "both"):
                known &= ~((grid > a) & (grid < b))
        for t, of in seen.unsure:
            if of == foot:
                known &= np.abs(grid - t) > UNSURE_S
        for t, of, kind in seen.events:
            if of != foot:
                continue
            if kind in LANDS:
                target[0] = np.maximum(target[0], np.exp(-0.5 * ((grid - t) / BUMP_S) ** 2))
                near = np.abs(grid - t) < 0.06
                nearest = near & (np.abs(grid - t) < np.abs(target[6]) * NEAR_S)
                target[6, nearest] = (t - grid[nearest]) / NEAR_S
                known |= near & (np.abs(grid - t) < UNSURE_S)
                if kind != "land":
                    target[1, near], target[4, near] = float(kind == "weight"), 0.4 if real else 1.0
            else:
                target[2] = np.maximum(target[2], np.exp(-0.5 * ((grid - t) / 0.05) ** 2))
        target[3], target[5] = known, known & (not real)
        target[4] *= known
        target[6, ~known] = FAR
        out.append((channels(seen.times_s, seen.points, leg, right, covered).T.astype(np.float32), target.astype(np.float32)))
    return out


def windows(job: tuple[Motion | None, int]) -> list[tuple[np.ndarray, np.ndarray]]:
    """One motion, or a made one, seen anew and cut into windows of WINDOW_S."""
    motion, seed = job
    chance, length = np.random.default_rng(seed), int(WINDOW_S * RATE_HZ)
    motion = motion or made_motion(seed)
    seen = varied(motion, chance)
    if len(seen.times_s) < 20:
        return []
    out = []
    covered = covered_at_times(seen.times_s, chance)
    for x, y in pictured(seen, motion.real, covered):
        for _ in range(max(1, round(x.shape[1] / length))):
            a = int(chance.integers(0, max(1, x.shape[1] - length + 1)))
            short = max(0, length - x.shape[1])
            part = (
                np.pad(x[:, a : a + length], ((0, 0), (0, short)), mode="edge"),
                np.pad(y[:, a : a + length], ((0, 0), (0, short))),
            )
            if part[1][3].any():
                out.append(part)
    return out


def train(
    motions: list[Motion], seed: int, rounds: int, pool: Any, begin: dict[str, np.ndarray] | None = None
) -> dict[str, np.ndarray]:
    """One network's weights; begin: those that it goes on from, at a tenth of the pace."""
    import torch
    from torch import nn

    torch.manual_seed(seed)
    device = "cuda" if torch.cuda.is_available() else "cpu"
    chance, net = np.random.default_rng(seed), network(CHANNELS).to(device)
    if begin is not None:
        for k, layer in enumerate([m for m in net if isinstance(m, nn.Conv1d)]):
            layer.weight.data = torch.tensor(begin[f"kernel{k}"].astype(np.float32), device=device)
            layer.bias.data = torch.tensor(begin[f"bias{k}"].astype(np.float32), device=device)
    steps = torch.optim.AdamW(net.parameters(), lr=2e-3, weight_decay=1e-3)
    plan = torch.optim.lr_scheduler.OneCycleLR(steps, 3e-3 if begin is None else 1e-3, total_steps=rounds)
    # as much of people as of drawings; of each group no more than its length's root, so that two salsa dancers are not half of it
    length: dict[str, float] = {}
    for m in motions:
        length[m.group] = length.get(m.group, 0.0) + m.seconds
    worth = np.array([m.seconds / length[m.group] * length[m.group] ** 0.6 * (1.0 if m.real else 0.6) for m in motions])

    def fresh(at: int) -> Any:
        picked = chance.choice(len(motions), PICKED, p=worth / worth.sum())
        made = chance.random(PICKED) < MADE
        jobs = [(None if m else motions[int(k)], int(chance.integers(2**31))) for k, m in zip(picked, made, strict=True)]
        return pool.map_async(windows, jobs, chunksize=4)

    coming, xs, ys = fresh(0), None, None
    for k in range(rounds):
        if k % FRESH == 0:
            made = [w for one in coming.get() for w in one]
            coming = fresh(k)
            xs = torch.tensor(np.array([w[0] for w in made]), device=device)
            ys = torch.tensor(np.array([w[1] for w in made]), device=device)
        picked = torch.tensor(chance.integers(0, len(xs), BATCH), device=device)
        x, y = xs[picked], ys[picked]
        out = net(x)
        loss = torch.zeros((), device=device)
        for c, (value, where, push, worth_of) in enumerate(((0, 3, 4.0, 1.0), (1, 4, 0.0, 0.2), (2, 5, 4.0, 0.5))):
            each = nn.functional.binary_cross_entropy_with_logits(out[:, c], y[:, value], reduction="none")
            weight = y[:, where] * (1 + push * y[:, value])
            loss = loss + (each * weight).sum() / weight.sum().clamp(min=1) * worth_of
        near = (y[:, 6].abs() < 2).float()
        spread = out[:, 4].clamp(*LOG_SPREAD)
        away = (out[:, 3] - y[:, 6]).abs() * near
        loss = loss + 0.15 * ((away * torch.exp(-spread) + spread) * near).sum() / near.sum().clamp(min=1)
        steps.zero_grad()
        loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        steps.step()
        plan.step()
        if k % 1000 == 999:
            print(f"  round {k + 1}: loss {loss.item():.4f}", flush=True)
    coming.get()
    made = {}
    for k, layer in enumerate([m for m in net.eval().cpu() if isinstance(m, nn.Conv1d)]):
        made[f"kernel{k}"] = layer.weight.detach().numpy().astype(np.float16)
        made[f"bias{k}"] = layer.bias.detach().numpy().astype(np.float32)
    return made


def several(
    motions: list[Motion], members: int, rounds: int, pool: Any, begin: dict[str, np.ndarray] | None = None
) -> dict[str, np.ndarray]:
    """The weights of several networks, each from a start and views of its own, stacked by layer; begin: as many to go on from."""
    begins = [{name: stack[k] for name, stack in begin.items()} for k in range(members)] if begin else [None] * members
    first = 1 if begin is None else 101
    made = [train(motions, first + k, rounds, pool, begins[k]) for k in range(members)]
    return {name: np.stack([one[name] for one in made]) for name in made[0]}


def looked(job: tuple[Motion | None, float, float, dict[str, np.ndarray], float, int, bool]) -> dict[str, Any]:
    """How the landings of a motion fare that is seen from one side: found, invented, how late, by what touched first."""
    motion, yaw_deg, rate_hz, weights, least, seed, hide = job
    motion = motion or made_motion(seed)
    seen = filmed(motion, yaw_deg, rate_hz=rate_hz)
    chance = np.random.default_rng(seed)
    unit = float(np.median(leg_px_of(seen.times_s, seen.points)))
    misread(seen, unit, chance)
    grid, leg = even_times(seen.times_s), leg_px_of(seen.times_s, seen.points)
    late, strength, hit, invented, how, spread, raw = [], [], [], 0, [], [], []
    covered = np.full((len(seen.times_s), 2), hide)
    for foot in ("L", "R"):
        out = run_network(channels(seen.times_s, seen.points, leg, foot == "R", covered), weights)
        peak, high = peaks(grid, out[:, 0], least)
        at = peak + np.interp(peak, grid, out[:, 3])
        order = np.argsort(-high)
        kept: list[int] = []
        for i in order:
            if all(abs(at[i] - at[j]) > 0.12 for j in kept):
                kept.append(int(i))
        true = [(t, h) for (t, f, k), h in zip(seen.events, motion.how, strict=True) if f == foot and k in LANDS]
        pairs = sorted((abs(at[i] - t), i, j) for i in kept for j, (t, _) in enumerate(true) if abs(at[i] - t) <= 0.07)
        used_i: set[int] = set()
        used_j: set[int] = set()
        for _, i, j in pairs:
            if i not in used_i and j not in used_j:
                used_i.add(i)
                used_j.add(j)
                late.append(1000 * (at[i] - true[j][0]))
                spread.append(1000 * float(np.interp(peak[i], grid, out[:, 4])))
                raw.append(1000 * (peak[i] - true[j][0]))
                strength.append((float(min(high[i], 1.0)), True))
        for j, (_, kind) in enumerate(true):
            hit.append(j in used_j)
            how.append(kind)
        for i in kept:
            free = any(a - 0.05 <= at[i] <= b + 0.05 for a, b, f in seen.unknown if f in (foot, "both"))
            free |= any(abs(at[i] - t) < 0.2 for t, f in seen.unsure if f == foot)
            free |= any(abs(at[i] - t) < 0.15 for t, f, k in seen.events if f == foot and k == "shift")
            if i not in used_i and not free:
                invented += 1
                strength.append((float(min(high[i], 1.0)), False))
    return {"late": late, "hit": hit, "how": how, "invented": invented, "strength": strength, "spread": spread, "raw": raw,
            "yaw": yaw_deg, "name": motion.name, "group": motion.group, "real": motion.real, "rate": rate_hz, "hide": hide}  # fmt: skip


def line(name: str, rows: list[dict[str, Any]]) -> str:
    hit, late = [h for r in rows for h in r["hit"]], np.array([v for r in rows for v in r["late"]])
    invented = sum(r["invented"] for r in rows)
    if not len(late):
        return f"{name:28s} true {len(hit)} found 0 invented {invented}"
    recall, precision = np.mean(hit), len(late) / (len(late) + invented)
    return (
        f"{name:28s} true {len(hit):5d} P {precision:.2f} R {recall:.2f} F {2 * precision * recall / (precision + recall):.3f} "
        f"bias {np.median(late):+.0f} MAD {np.median(np.abs(late - np.median(late))):.0f} p90 {np.percentile(np.abs(late), 90):.0f}"
    )


def judged(motions: list[Motion], weights: dict[str, np.ndarray], pool: Any, least: float = 0.5) -> list[dict[str, Any]]:
    """Every motion from eight sides, with the pose model's errors; from two sides at other rates, and with both feet covered."""
    weights = {k: v.astype(np.float64) for k, v in weights.items()}
    jobs: list[Any] = [(m, yaw, 30.0, weights, least, n, False) for n, m in enumerate(motions) for yaw in range(0, 360, 45)]
    jobs += [(m, yaw, rate, weights, least, n, False) for n, m in enumerate(motions) for yaw in (20, 110) for rate in (15.0, 60.0)]
    jobs += [(m, yaw, 30.0, weights, least, n, True) for n, m in enumerate(motions) for yaw in (20, 110)]
    return list(pool.map(looked, jobs, chunksize=4))


def judged_made(weights: dict[str, np.ndarray], pool: Any, least: float = 0.5) -> list[dict[str, Any]]:
    """Made dancers whom no training has met."""
    weights = {k: v.astype(np.float64) for k, v in weights.items()}
    jobs = [(None, yaw, 30.0, weights, least, 2**32 + n, False) for n in range(40) for yaw in (0, 45, 90, 180)]
    return list(pool.map(looked, jobs, chunksize=4))


def told(rows: list[dict[str, Any]]) -> None:
    """The table: people, drawings and made ones, by view, by rate, by what touches first, walks along the line of sight."""
    made = [r for r in rows if r["group"] == "made"]
    rows = [r for r in rows if r["group"] != "made"]
    usual = [r for r in rows if r["rate"] == 30 and not r["hide"]]
    for real, name in ((True, "people"), (False, "drawings")):
        part = [r for r in usual if r["real"] == real]
        if not part:
            continue
        print(line(f"{name}, all views", part))
        for yaw in (0, 45, 90, 135, 180):
            print(line(f"{name}, yaw {yaw}", [r for r in part if r["yaw"] in (yaw, 360 - yaw)]))
        for group in sorted({r["group"] for r in part}):
            print(line(f"{name}, {group}", [r for r in part if r["group"] == group]))
        for rate in (15, 60):
            print(line(f"{name}, {rate} a second", [r for r in rows if r["rate"] == rate and r["real"] == real]))
        print(line(f"{name}, feet covered", [r for r in rows if r["hide"] and r["real"] == real]))
    walks = [r for r in usual if "walk" in r["name"]]
    for yaw in (0, 90, 180):
        print(line(f"walks, yaw {yaw}", [r for r in walks if r["yaw"] == yaw]))
    if made:
        print(line("made", made))
    for name, part in (
        ("people", [r for r in rows if r["real"]]),
        ("drawings", [r for r in rows if not r["real"]]),
        ("made", made),
    ):
        reliable([r for r in part if not r["hide"]], name)


def reliable(rows: list[dict[str, Any]], name: str) -> None:
    """Whether strength is the share that is there, and how far off the times are against what was told of it."""
    strength = [pair for r in rows for pair in r["strength"]]
    print(f"{name}: strength, share that is there, number")
    for low in np.arange(0.1, 1.0, 0.1):
        here = [ok for s, ok in strength if low <= s < low + 0.1 or (low > 0.89 and s >= 1.0)]
        if here:
            print(f"  {low:.1f}-{low + 0.1:.1f} {np.mean(here):.2f} {len(here)}")
    late, spread, raw = (np.array([v for r in rows for v in r[key]]) for key in ("late", "spread", "raw"))
    if not len(late):
        return
    print(
        f"{name}: spread told ms, median of off, 95th percentile of off / spread, number; MAD of peaks {np.median(np.abs(raw)):.1f}"
    )
    for low, high in ((0, 5), (5, 8), (8, 12), (12, 18), (18, 27), (27, 40), (40, 99)):
        here = (spread >= low) & (spread < high)
        if here.sum() > 20:
            off = np.abs(late[here])
            print(f"  {low}-{high} {np.median(off):.1f} {np.percentile(off / spread[here], 95):.2f} {here.sum()}")


def main() -> None:
    parse = argparse.ArgumentParser(description=__doc__)
    parse.add_argument("real", type=Path)
    parse.add_argument("drawn", type=Path)
    parse.add_argument("--folds", type=Path)
    parse.add_argument("--only", nargs="*")
    parse.add_argument("--rounds", type=int, default=6000)
    parse.add_argument("--begin", type=Path, help="weights to go on from, such as those of a run without it")
    parse.add_argument("--out", type=Path, default=Path("motion/body/contact.npz"))
    ask = parse.parse_args()
    motions = read_all(ask.real, ask.drawn)
    print(described(motions), flush=True)
    began = time.monotonic()
    with multiprocessing.get_context("spawn").Pool() as pool:
        if ask.folds:
            ask.folds.mkdir(parents=True, exist_ok=True)
            rows = []
            for name, out in FOLDS.items():
                if ask.only and name not in ask.only:
                    continue
                begin = dict(np.load(ask.begin / f"{name}.npz")) if ask.begin else None
                weights = several([m for m in motions if m.group not in out], 1, ask.rounds, pool, begin)
                np.savez_compressed(ask.folds / f"{name}.npz", **weights)
                for dance in [g for g in out if any(m.group == g and not m.real for m in motions)]:  # as accuracy.py asks for them
                    np.savez_compressed(ask.folds / f"{dance}.npz", **weights)
                rows += judged([m for m in motions if m.group in out], weights, pool, 0.1)
                print(f"{name} held out, {time.monotonic() - began:.0f} s", flush=True)
            rows += judged_made(weights, pool, 0.1)  # the last fold's: nobody is made twice
            told([filtered(r, 0.5) for r in rows])
        else:
            begin = dict(np.load(ask.begin)) if ask.begin else None
            np.savez_compressed(ask.out, **several(motions, MEMBERS, ask.rounds, pool, begin))
            print(f"written to {ask.out}, {time.monotonic() - began:.0f} s")


def filtered(row: dict[str, Any], least: float) -> dict[str, Any]:
    """As if only landings of this strength had been looked for; reliability keeps all."""
    hits = [ok for _, ok in row["strength"]]
    strong = [s >= least for s, _ in row["strength"]]
    late_kept = [s for s, ok in zip(strong, hits, strict=True) if ok]
    return row | {
        "strength": row["strength"],
        **{name: [v for v, keep in zip(row[name], late_kept, strict=True) if keep] for name in ("late", "spread", "raw")},
        "hit": [True] * sum(late_kept) + [False] * (len(row["hit"]) - sum(late_kept)),
        "invented": sum(s and not ok for s, ok in zip(strong, hits, strict=True)),
    }


if __name__ == "__main__":
    main()
