"""Make motion/body/contact.npz: the network that tells when a foot lands.

    python tests/bench/train_contact.py REVIEWS CLIPS [CLIPS ...] [--folds FOLDER] [--out FILE]

REVIEWS holds NAME/landmarks.npz (or NAME.npz) of reviewed clips, CLIPS their truth NAME.json.gz. Needs torch, which the product
does not. With --folds each dance is held out in turn, its figures are printed, and the weights that never saw it are written to
FOLDER as DANCE.npz (the accuracy bench takes them). Clips without counted events (range checks) are left out, and so are pictures in
which somebody in front hides the feet.

Every sequence is varied: stretched in time, slowed to fewer pictures, shaken, drifted, turned a little, with wild points, with legs
exchanged, with swings that glide low before they land, and with steps in place whose foot stays on the floor (weight without a
landing, as people recover and sway), so that the network learns feet and not the drawing.
"""

from __future__ import annotations

import argparse
import gzip
import json
from pathlib import Path
from typing import Any

import numpy as np
import torch
from torch import nn

from motion.base.types import Landmarks
from motion.body.contact_network import RATE_HZ, channels, even_times
from motion.body.foot_contacts import leg_px_of
from motion.body.leg_swaps import fix_leg_swaps
from motion.body.occlusion import hidden_pictures
from motion.review.settings import SETTINGS

WIDTHS, TAPS = (32, 32, 32), 9
MEMBERS = 2  # networks whose mean is taken, against the chance of one start; the gain measured is within chance (DEVELOPERS.md)
BUMP_S = 0.022  # half width of the target around a landing: less than a picture at 30 a second
LANDS = ("weight", "touch", "heel", "toe")


def network(inputs: int) -> nn.Sequential:
    layers: list[nn.Module] = []
    for k, width in enumerate(WIDTHS):
        layers += [
            nn.Conv1d(inputs, width, TAPS, padding=(TAPS - 1) // 2 * 2**k, dilation=2**k, padding_mode="replicate"),
            nn.ReLU(),
        ]
        layers.append(nn.Dropout(0.1))
        inputs = width
    layers.append(nn.Conv1d(inputs, 3, 1))
    return nn.Sequential(*layers)


def read(reviews: Path, clips: list[Path]) -> list[dict[str, Any]]:
    """One entry a dancer: name, dance, times_s, points (F, 33, 2), events."""
    out = []
    for folder in clips:
        for path in sorted(folder.glob("*.json.gz")):
            name = path.name.removesuffix(".json.gz")
            stored = next((p for p in (reviews / name / "landmarks.npz", reviews / f"{name}.npz") if p.exists()), None)
            with gzip.open(path, "rt") as file:
                truth = json.load(file)
            if stored is None or truth["range"]:
                continue
            with np.load(stored) as z:
                marks = fix_leg_swaps(Landmarks(z["times_s"], z["ids"], z["image_px"], z["visibility"]), SETTINGS.body)
            times = np.array(truth["frame_times"])
            for j, dancer in enumerate(truth["dancers"]):
                at = np.array([row[j]["pelvis"][3:5] for row in truth["frames"]])
                hips = marks.image_px[:, :, 23:25].mean(2)
                gap = [
                    np.nanmedian(
                        np.hypot(*(np.stack([np.interp(marks.times_s, times, at[:, k]) for k in (0, 1)], 1) - hips[:, p]).T)
                    )
                    for p in range(hips.shape[1])
                ]
                p = int(np.argmin(gap))
                points = marks.image_px[:, p]
                seen = ~np.isnan(points[:, 0, 0])
                if gap[p] > 25 or seen.mean() < 0.5:
                    continue
                ends = np.array([[row[j][n][3:5] for n in ("head", "ankleL", "ankleR")] for row in truth["frames"]])
                inside = ((ends > 0) & (ends < np.array(truth["size"]))).all((1, 2))
                hidden = hidden_pictures(marks, p, SETTINGS.body)
                trusted = (np.interp(marks.times_s, times, inside.astype(float)) > 0.99) & ~hidden
                out.append({"name": name, "dance": truth["dance"], "times": marks.times_s[seen], "points": points[seen],
                                "trusted": trusted[seen], "events": dancer["events"]})  # fmt: skip
    return out


def varied(
    entry: dict[str, Any], chance: np.random.Generator | None
) -> tuple[list[np.ndarray[Any, Any]], list[np.ndarray[Any, Any]]]:
    """Channels and targets of both feet, varied by chance (None: as they are)."""
    times, points, trusted = entry["times"], entry["points"].copy(), entry["trusted"]
    events = [(e["t"], e["foot"], e["kind"]) for e in entry["events"]]
    leg = leg_px_of(times, points)
    unit = float(np.median(leg))
    if chance is not None:
        keep = np.arange(len(times))
        pick = chance.random()
        if pick < 0.25:  # fewer pictures a second
            keep = np.sort(chance.choice(len(times), int(len(times) * chance.uniform(0.75, 0.95)), replace=False))
        times, points, trusted, leg = times[keep], points[keep], trusted[keep], leg[keep]
        stretch = chance.uniform(0.75, 1.3)
        times = times * stretch
        events = [(t * stretch, f, k) for t, f, k in events]
        angle = chance.normal(0, 0.05)
        turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        points = points @ turn.T * np.array([1.0, chance.uniform(0.85, 1.15)])
        shape = points.shape
        points += chance.normal(0, unit * chance.uniform(0, 0.012), shape)
        walk = np.cumsum(chance.normal(0, 1, (shape[0], 11, 2)), 0)
        walk -= (
            np.array([np.convolve(walk[:, i, k], np.ones(31) / 31, "same") for i in range(11) for k in (0, 1)])
            .reshape(11, 2, -1)
            .transpose(2, 0, 1)
        )
        points[:, 22:33] += walk / (walk.std() + 1e-9) * unit * chance.uniform(0, 0.02)
        sway = np.cumsum(np.cumsum(chance.normal(0, 1, (shape[0], 1, 2)), 0), 0)
        sway -= sway.mean(0)
        points += sway / (np.abs(np.diff(sway, axis=0)).max() + 1e-9) * unit * chance.uniform(0, 0.01)
        points = low_swings(times, points, unit, events, chance)
        points, events = planted(times, points, unit, events, chance)
        for _ in range(chance.poisson(len(times) / 250)):
            a = int(chance.integers(0, len(times) - 4))
            n = int(chance.integers(1, 4))
            if chance.random() < 0.5:
                left, right = [25, 27, 29, 31], [26, 28, 30, 32]
                block = points[a : a + n].copy()
                points[a : a + n, left], points[a : a + n, right] = block[:, right], block[:, left]
            else:
                which = [[27, 29, 31], [28, 30, 32]][int(chance.integers(2))]
                points[a : a + n][:, which] += chance.normal(0, 0.12 * unit, 2)
    grid = even_times(times)
    inside = np.interp(grid, times, trusted.astype(float)) > 0.99
    first, last = min(e[0] for e in events), max(e[0] for e in events)
    known = inside & (grid > first - 1.5) & (grid < last + 0.5)
    xs, ys = [], []
    for right in (False, True):
        target = np.zeros((len(grid), 6))  # landing, weight, shift; and where each counts
        for t, foot, kind in events:
            if (foot == "R") != right:
                continue
            bump = np.exp(-0.5 * ((grid - t) / BUMP_S) ** 2)
            if kind in LANDS:
                target[:, 0] = np.maximum(target[:, 0], bump)
                near = np.abs(grid - t) < 0.06
                target[near, 1], target[near, 4] = float(kind == "weight"), 1.0
            elif kind == "shift":
                target[:, 2] = np.maximum(target[:, 2], np.exp(-0.5 * ((grid - t) / 0.05) ** 2))
        target[:, 3], target[:, 5] = known, known
        target[:, 4] *= known
        xs.append(channels(times, points, leg, right).T)
        ys.append(target.T)
    return xs, ys


def low_swings(
    times: np.ndarray[Any, Any],
    points: np.ndarray[Any, Any],
    unit: float,
    events: list[tuple[float, str, str]],
    chance: np.random.Generator,
) -> np.ndarray[Any, Any]:
    """Swings whose height is gone before their travel is: in walking the foot glides low for a tenth of a second before it lands, and
    a landing is where the travel ends. Only steps that travel are changed, else the landing itself would move."""
    out = points.copy()
    most = chance.uniform(0.0, 0.15)
    flat = chance.uniform(0.0, 1.0)
    for t, foot, kind in events:
        if kind not in LANDS:
            continue
        feet = [28, 30, 32] if foot == "R" else [27, 29, 31]
        x = np.interp([t - 0.3, t - 0.1, t], times, points[:, feet[0], 0])
        if abs(x[2] - x[0]) < 0.25 * unit or abs(x[2] - x[1]) < 0.06 * unit:
            continue
        swing = (times > t - 0.35) & (times < t)
        early = most * np.clip((times[swing] - (t - 0.35)) / 0.2, 0, 1)
        early = np.minimum(early, np.maximum(0.0, t - times[swing]) + most)
        for k in feet:
            later = np.interp(times[swing] + early, times, points[:, k, 1])
            rest = float(np.interp(t + 0.03, times, points[:, k, 1]))
            later = np.where(times[swing] + early >= t, rest, later)
            out[swing, k, 1] = later + flat * 0.3 * (rest - later)
    return out


def planted(
    times: np.ndarray[Any, Any],
    points: np.ndarray[Any, Any],
    unit: float,
    events: list[tuple[float, str, str]],
    chance: np.random.Generator,
) -> tuple[np.ndarray[Any, Any], list[tuple[float, str, str]]]:
    """Some steps in place with the foot left on the floor, and their events as shifts: hips and knees move as they did, the foot goes
    straight from where it stood to where it stands, with a standing foot's unrest and maybe a little of the heel's rise."""
    out, kept = points.copy(), []
    share = chance.choice([0.0, 0.5, 1.0])
    for t, foot, kind in events:
        kept.append((t, foot, kind))
        if kind != "weight" or chance.random() > share:
            continue
        knee, ankle, heel, toe = (26, 28, 30, 32) if foot == "R" else (25, 27, 29, 31)
        last = max((u for u, side, _ in events if side == foot and u < t - 0.05), default=-np.inf)
        from_s, until_s = max(t - 0.55, last + 0.08), t + 0.05
        ends = {k: np.array([[np.interp(w, times, points[:, k, c]) for c in (0, 1)] for w in (from_s, until_s)]) for k in
                (knee, ankle, heel, toe)}  # fmt: skip
        swing = np.flatnonzero((times > from_s) & (times < until_s))
        if t - from_s < 0.15 or len(swing) < 3 or np.hypot(*np.diff(ends[ankle], axis=0)[0]) > 0.12 * unit:
            continue
        way = ((times[swing] - from_s) / (until_s - from_s))[:, None]
        unrest, risen, bent = unit * chance.uniform(0.002, 0.008), chance.uniform(0, 0.25), chance.uniform(0.1, 0.5)
        for k, keep in ((ankle, 0.0), (toe, 0.0), (heel, risen), (knee, bent)):
            line = ends[k][0] + way * (ends[k][1] - ends[k][0])
            out[swing, k] = line + keep * (points[swing, k] - line) + chance.normal(0, unrest, (len(swing), 2))
        kept[-1] = (t, foot, "shift")
    return out, kept


def train(entries: list[dict[str, Any]], seed: int, rounds: int) -> nn.Sequential:
    torch.manual_seed(seed)
    torch.set_num_threads(2)
    chance = np.random.default_rng(seed)
    net = network(26)
    steps = torch.optim.AdamW(net.parameters(), lr=3e-3, weight_decay=1e-3)
    plan = torch.optim.lr_scheduler.OneCycleLR(steps, 4e-3, total_steps=rounds)
    length, batch = int(6 * RATE_HZ), 24
    pool: list[tuple[Any, Any]] = []
    for k in range(rounds):
        if k % 40 == 0:  # fresh variations of every dancer
            pool = [pair for e in entries for pair in zip(*varied(e, chance), strict=True)]
        xs, ys = [], []
        for _ in range(batch):
            x, y = pool[int(chance.integers(len(pool)))]
            a = int(chance.integers(0, max(1, x.shape[1] - length)))
            xs.append(np.pad(x[:, a : a + length], ((0, 0), (0, max(0, length - x.shape[1]))), mode="edge"))
            ys.append(np.pad(y[:, a : a + length], ((0, 0), (0, max(0, length - y.shape[1])))))
        x, y = torch.tensor(np.array(xs), dtype=torch.float32), torch.tensor(np.array(ys), dtype=torch.float32)
        out = net(x)
        loss = torch.zeros(())
        for c, (value, where, push) in enumerate(((0, 3, 4.0), (1, 4, 1.0), (2, 5, 4.0))):
            each = nn.functional.binary_cross_entropy_with_logits(out[:, c], y[:, value], reduction="none")
            weight = y[:, where] * (1 + push * y[:, value] * (c != 1))
            loss = loss + (each * weight).sum() / weight.sum().clamp(min=1) * (1.0, 0.15, 0.5)[c]
        steps.zero_grad()
        loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        steps.step()
        plan.step()
        if k % 200 == 199:
            print(f"  round {k + 1}: loss {loss.item():.4f}", flush=True)
    return net.eval()


def weights_of(net: nn.Sequential) -> dict[str, Any]:
    out = {}
    for k, layer in enumerate([m for m in net if isinstance(m, nn.Conv1d)]):
        out[f"kernel{k}"] = layer.weight.detach().numpy().astype(np.float16)
        out[f"bias{k}"] = layer.bias.detach().numpy().astype(np.float32)
    return out


def several(entries: list[dict[str, Any]], rounds: int) -> dict[str, Any]:
    """The weights of MEMBERS networks, each from a start and variations of its own, stacked by layer."""
    made = [weights_of(train(entries, seed, rounds)) for seed in range(1, MEMBERS + 1)]
    return {name: np.stack([one[name] for one in made]) for name in made[0]}


def judged(entries: list[dict[str, Any]], weights: dict[str, Any]) -> dict[str, list[Any]]:
    """Landings by plain peak picking against truth, pooled over the entries."""
    from motion.body.contact_network import run_network
    from motion.body.foot_contacts import peaks

    tally: dict[str, list[Any]] = {
        k: [] for k in ("errors", "hit", "found", "true", "weight", "shift_hit", "shift_found", "shift_true")
    }
    weights = {k: v.astype(np.float64) for k, v in weights.items()}
    for e in entries:
        xs, _ = varied(e, None)
        grid = even_times(e["times"])
        for right, x in zip((False, True), xs, strict=True):
            out = run_network(x.T, weights)
            at, high = peaks(grid, out[:, 0], 0.3)
            true = np.array([v["t"] for v in e["events"] if (v["foot"] == "R") == right and v["kind"] in LANDS])
            kind = [v["kind"] for v in e["events"] if (v["foot"] == "R") == right and v["kind"] in LANDS]
            at, high = at[(at > true[0] - 0.3) & (at < true[-1] + 0.3)], high[(at > true[0] - 0.3) & (at < true[-1] + 0.3)]
            for k, t in enumerate(true):
                gap = at - t
                if len(gap) and abs(gap).min() < 0.07:
                    i = int(abs(gap).argmin())
                    tally["errors"].append(1000 * gap[i])
                    said = np.interp(at[i], grid, out[:, 1])
                    tally["weight"].append((said > 0.5) == (kind[k] == "weight"))
            tally["hit"].append(sum(len(at) > 0 and abs(at - t).min() < 0.07 for t in true))
            tally["found"].append(len(at))
            tally["true"].append(len(true))
            sh, _ = peaks(grid, out[:, 2], 0.3)
            want = np.array([v["t"] for v in e["events"] if (v["foot"] == "R") == right and v["kind"] == "shift"])
            tally["shift_hit"].append(sum(len(sh) > 0 and abs(sh - t).min() < 0.15 for t in want))
            tally["shift_found"].append(len(sh))
            tally["shift_true"].append(len(want))
    return tally


def told(name: str, t: dict[str, list[Any]]) -> None:
    err = np.array(t["errors"])
    hit, found, true = sum(t["hit"]), sum(t["found"]), sum(t["true"])
    precision, recall = hit / max(1, found), hit / max(1, true)
    print(f"{name:16s} true {true:4d} P {precision:.3f} R {recall:.3f} F {2 * precision * recall / max(1e-9, precision + recall):.3f} "
          f"bias {np.median(err):+.1f} MAD {np.median(abs(err - np.median(err))):.1f} p90 {np.percentile(abs(err), 90):.0f} "
          f"weight {np.mean(t['weight']):.3f} "
          f"shifts {sum(t['shift_hit'])}/{sum(t['shift_true'])} of {sum(t['shift_found'])}", flush=True)  # fmt: skip


def main() -> None:
    parse = argparse.ArgumentParser()
    parse.add_argument("reviews", type=Path)
    parse.add_argument("clips", type=Path, nargs="+")
    parse.add_argument("--folds", type=Path)
    parse.add_argument("--rounds", type=int, default=700)
    parse.add_argument("--out", type=Path, default=Path("motion/body/contact.npz"))
    ask = parse.parse_args()
    entries = read(ask.reviews, ask.clips)
    print(len(entries), "dancers in", len({e["name"] for e in entries}), "clips")
    if ask.folds:
        for dance in sorted({e["dance"] for e in entries}):
            weights = several([e for e in entries if e["dance"] != dance], ask.rounds)
            ask.folds.mkdir(parents=True, exist_ok=True)
            np.savez_compressed(ask.folds / f"{dance}.npz", **weights)
            for name in sorted({e["name"] for e in entries if e["dance"] == dance}):
                told(name, judged([e for e in entries if e["name"] == name], weights))
    else:
        weights = several(entries, ask.rounds)
        told("seen in training", judged(entries, weights))
        np.savez_compressed(ask.out, **weights)


if __name__ == "__main__":
    main()
