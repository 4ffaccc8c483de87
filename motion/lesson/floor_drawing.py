"""The floor plan as a drawing: lines, travel, room and phone. Plain inline SVG."""

from __future__ import annotations

from html import escape

from motion.lesson.space import Layout

INK, QUIET, VIOLET, AMBER, PAPER = "#20242e", "#5a6070", "#5638a3", "#8f5200", "#ffffff"
_FONT = "font-family=\"'Segoe UI', system-ui, Arial, 'Liberation Sans', sans-serif\""
#: Drawn pixels across, whatever the hall's size, the margin for words around it, and what the longest of them need.
ACROSS, MARGIN, LEAST_WIDE = 440.0, 34.0, 460.0
#: Letters, pixels: still some 15 where a tablet held upright leaves 480 for the drawing.
WORDS, LINE = 16, 22


def floor_svg(one: Layout) -> str:
    """The layout seen from above, front and phone at the top: a dot a dancer with the reach of the arms around it, the front row's
    path as a box, the floor needed as a frame, and the room around it where one was given."""
    travel, xs, ys = one.travel, [x for x, _ in one.spots], [y for _, y in one.spots]
    wall = one.reach_m + 0.5
    left, right = min(xs) - travel.left_m - wall, max(xs) + travel.right_m + wall
    top, bottom = max(ys) + travel.ahead_m + wall, min(ys) - travel.behind_m - wall
    frame = (left, top, right, bottom)
    if one.room_m is not None:
        over_x, over_y = (one.room_m[0] - (right - left)) / 2, (one.room_m[1] - (top - bottom)) / 2
        frame = (left - max(0.0, over_x), top + max(0.0, over_y), right + max(0.0, over_x), bottom - max(0.0, over_y))
    scale = ACROSS / max(frame[2] - frame[0], (frame[1] - frame[3]) * 1.1)
    phone_y = max(ys) + one.phone_m

    def at(x: float, y: float) -> tuple[float, float]:
        return (x - frame[0]) * scale + MARGIN, (frame[1] - y) * scale + 2 * MARGIN

    def box(x0: float, y0: float, x1: float, y1: float, style: str) -> str:
        (px, py), (qx, qy) = at(x0, y0), at(x1, y1)
        return f'<rect x="{px:.1f}" y="{py:.1f}" width="{qx - px:.1f}" height="{qy - py:.1f}" {style}/>'

    shapes = [box(*frame, f'fill="{PAPER}" stroke="{INK}" stroke-width="2"')] if one.room_m is not None else []
    shapes.append(box(left, top, right, bottom, f'fill="#f0ecf7" stroke="{VIOLET}" stroke-dasharray="6 4"'))
    for x, y in one.spots:
        px, py = at(x, y)
        shapes.append(
            f'<circle cx="{px:.1f}" cy="{py:.1f}" r="{one.reach_m * scale:.1f}" fill="none" stroke="{QUIET}" opacity="0.45"/>'
        )
    x, y = one.spots[0]
    path = (x - travel.left_m, y + travel.ahead_m, x + travel.right_m, y - travel.behind_m)
    shapes.append(box(*path, f'fill="none" stroke="{AMBER}" stroke-width="2" stroke-dasharray="2 3"'))
    for n, (x, y) in enumerate(one.spots):
        px, py = at(x, y)
        size = min(0.22 * scale, 11.0)
        row_starts = {sum(one.rows[:k]): k + 1 for k in range(len(one.rows))}
        shapes.append(f'<circle cx="{px:.1f}" cy="{py:.1f}" r="{max(size, 3.0):.1f}" fill="{VIOLET}"/>')
        nose = py - size - 1
        shapes.append(f'<path d="M{px - 3:.1f} {nose:.1f}L{px:.1f} {nose - 5:.1f}L{px + 3:.1f} {nose:.1f}Z" fill="{VIOLET}"/>')
        if n in row_starts:
            rx = at(left, y)[0] - 6
            shapes.append(_words(rx, py + 5, str(row_starts[n]), "end", QUIET))
    cx = at(0.0, 0.0)[0]
    inside = phone_y <= frame[1]
    cy = at(0.0, phone_y)[1] if inside else 2 * MARGIN - 14
    shapes.append(f'<rect x="{cx - 9:.1f}" y="{cy - 6:.1f}" width="18" height="11" rx="2" fill="{INK}"/>')
    far = f"phone, {one.phone_m:.0f} m from the front row" + ("" if inside else " (outside this floor)")
    middle = at((frame[0] + frame[2]) / 2, 0.0)[0]
    shapes.append(_words(middle, cy - 13, far, "middle"))
    bottom_y = at(0.0, frame[3])[1]
    sizes = [f"{one.width_m:.1f} m wide, {one.depth_m:.1f} m deep needed"]
    if one.room_m is not None:
        sizes.append(f"the room is {one.room_m[0]:g} by {one.room_m[1]:g} m")
    for k, line in enumerate(sizes, 1):
        shapes.append(_words(middle, bottom_y + k * LINE, line, "middle"))
    high = bottom_y + len(sizes) * LINE + 10
    wide = (frame[2] - frame[0]) * scale + 2 * MARGIN
    aside = max(0.0, (LEAST_WIDE - wide) / 2)
    about = f"Floor plan: {len(one.spots)} dancers in {len(one.rows)} rows, {one.stagger}; {'; '.join(sizes)}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{-aside:.0f} 0 {wide + 2 * aside:.0f} {high:.0f}" '
        f'width="{wide + 2 * aside:.0f}" height="{high:.0f}" role="img" aria-label="{escape(about, quote=True)}">{"".join(shapes)}</svg>'
    )


def _words(x: float, y: float, text: str, anchor: str, colour: str = INK) -> str:
    """A line of words at a place, pixels."""
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="{WORDS}" text-anchor="{anchor}" fill="{colour}" {_FONT}>{escape(text)}</text>'
