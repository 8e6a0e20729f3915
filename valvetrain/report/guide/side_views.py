"""The guide's drawings of the rocker in its plane, its dimensions marked."""

from collections.abc import Callable

import numpy as np

from valvetrain.report.drawing import Drawing
from valvetrain.report.guide.example import EXAMPLE, Side, at_lift

__all__ = ["SIDE_VIEWS"]

_HEAD = 2.2
_ARC = 0.55


def _rocker(drawing: Drawing, side: Side, style: str = "part") -> None:
    """Draw shaft, arms, pad and upper ball."""
    e = EXAMPLE
    drawing.arc(side.shaft, e.shaft_radius, style=style)
    drawing.line([side.socket, side.shaft, side.pad], style)
    drawing.arc(side.pad, e.pad_radius, -np.pi / 2 - _ARC, -np.pi / 2 + _ARC, style)
    for end in (-np.pi / 2 - _ARC, -np.pi / 2 + _ARC):
        tip = (side.pad[0] + e.pad_radius * np.cos(end), side.pad[1] + e.pad_radius * np.sin(end))
        drawing.line([side.pad, tip], "thin")
    drawing.arc(side.socket, 2.2, style=style)
    _cross(drawing, side.shaft)
    _cross(drawing, side.pad)


def _cross(drawing: Drawing, at: tuple[float, float], size: float = 1.6) -> None:
    drawing.line([(at[0] - size, at[1]), (at[0] + size, at[1])], "thin")
    drawing.line([(at[0], at[1] - size), (at[0], at[1] + size)], "thin")


def _valve(drawing: Drawing, tip: float, depth: float = 22.0, retainer: bool = True) -> None:
    """Draw the stem with its tip at `tip`, its axis, and the retainer below."""
    e = EXAMPLE
    r, c = e.stem_radius, e.chamfer
    drawing.line(
        [(-r, tip - depth), (-r, tip - c), (c - r, tip), (r - c, tip), (r, tip - c), (r, tip - depth)]
    )
    drawing.line([(0.0, tip - depth - 2), (0.0, tip + 6)], "hidden")
    if retainer:
        drawing.line([(-r, tip - 6), (-13.0, tip - 6), (-13.0, tip - 9), (-9.0, tip - 11), (-r, tip - 14)])
        drawing.line([(r, tip - 6), (13.0, tip - 6), (13.0, tip - 9), (9.0, tip - 11), (r, tip - 14)])


def _pushrod(drawing: Drawing, side: Side, share: float = 1.0) -> None:
    top, low = np.array(side.socket), np.array(side.tappet)
    end = top + share * (low - top)
    drawing.line([tuple(top), tuple(end)], "thin")


def setback() -> Drawing:
    """Draw shaft and stem with the setback square to the stem."""
    e, side = EXAMPLE, at_lift()
    drawing = Drawing("Shaft and valve stem seen along the shaft: setback is square to the stem")
    drawing.arc(side.shaft, e.shaft_radius)
    _cross(drawing, side.shaft)
    _valve(drawing, 0.0)
    low = -28.0
    drawing.line([(side.shaft[0], side.shaft[1] - 12), (side.shaft[0], low - 2)], "thin")
    drawing.line([(0.0, -24), (0.0, low - 2)], "thin")
    drawing.measure("setback", (side.shaft[0], low), (0.0, low), _HEAD, -1.2)
    over = side.shaft[1] - 11.0
    far = side.shaft[0] - e.shaft_radius
    top = side.shaft[1] + e.shaft_radius + 6
    drawing.line([(far, side.shaft[1]), (far, top + 2)], "thin")
    drawing.line([(e.stem_radius, over), (e.stem_radius, top + 2)], "thin")
    drawing.measure("caliper reading", (far, top), (e.stem_radius, top), _HEAD, 1.2)
    return drawing


def height() -> Drawing:
    """Draw the height of the shaft over the tip, with a straightedge on it."""
    e, side = EXAMPLE, at_lift()
    drawing = Drawing("Straightedge over the closed tip: height of the shaft's axis above it")
    drawing.arc(side.shaft, e.shaft_radius)
    _cross(drawing, side.shaft)
    _valve(drawing, 0.0)
    drawing.box(side.shaft[0] - 24, 0.0, 9.0, 2.5, "thin")
    drawing.say("straightedge", 11.0, 1.5)
    x = side.shaft[0] - 16
    drawing.line([(side.shaft[0], side.shaft[1]), (x - 2, side.shaft[1])], "thin")
    drawing.measure("height", (x, 0.0), (x, side.shaft[1]), _HEAD, 1.2)
    top = side.shaft[1] + e.shaft_radius
    x = side.shaft[0] + 14
    drawing.line([(side.shaft[0], top), (x + 2, top)], "thin")
    drawing.measure("reading", (x, 0.0), (x, top), _HEAD, -1.2)
    foot = -22.0
    drawing.box(side.shaft[0] - 9, foot, side.shaft[0] + 9, -1.5, "thin")
    drawing.say("stand", side.shaft[0], -10.0, "middle")
    drawing.box(side.shaft[0] - 11, foot - 1.8, side.shaft[0] + 11, foot)
    drawing.say("stand shim", side.shaft[0], foot - 5.0, "middle")
    return drawing


def arms() -> Drawing:
    """Draw the rocker with both arms and the pad's radius."""
    e, side = EXAMPLE, at_lift()
    drawing = Drawing("Rocker: arms from the shaft's axis to the pad's center and to the upper ball")
    _rocker(drawing, side)
    up = side.shaft[1] + 17
    for x, y in (side.socket, side.shaft, side.pad):
        drawing.line([(x, y), (x, up + 2)], "thin")
    drawing.measure("socket_arm", (side.socket[0], up), (side.shaft[0], up), _HEAD, 1.2)
    drawing.measure("pad_arm", (side.shaft[0], up), (side.pad[0], up), _HEAD, 1.2)
    around = -np.pi / 2 + 0.25
    edge = (side.pad[0] + e.pad_radius * np.cos(around), side.pad[1] + e.pad_radius * np.sin(around))
    drawing.measure("pad_radius", side.pad, edge, _HEAD, 1.4)
    first = np.arctan2(side.pad[1] - side.shaft[1], side.pad[0] - side.shaft[0])
    drawing.arc(side.shaft, 13.0, first, first + e.arm_angle, "mark")
    drawing.say("arm_angle (over the top)", side.shaft[0] - 3.0, side.shaft[1] - 14.0, "middle")
    return drawing


def tappet() -> Drawing:
    """Draw the tappet's line with its setback from the shaft axis and its lean."""
    e, side = EXAMPLE, at_lift()
    drawing = Drawing("The tappet's line: its setback from the shaft's axis, square to it, and its lean")
    _rocker(drawing, side)
    _pushrod(drawing, side)
    lean = np.array([-np.sin(e.tappet_angle), np.cos(e.tappet_angle)])
    low = np.array(side.tappet)
    high = low + lean * (side.shaft[1] - low[1] + 8) / lean[1]
    drawing.line([tuple(low - 18 * lean), tuple(high)], "hidden")
    left = low - 12 * lean
    square = np.array([lean[1], -lean[0]])
    corners = [left + square * 7, low + square * 7, low - square * 7, left - square * 7, left + square * 7]
    drawing.line([tuple(corner) for corner in corners])
    drawing.say("tappet", float(low[0]) + 10, float(low[1]) - 8)
    foot = np.array(side.shaft) - square * e.tappet_setback
    shift = lean * -26.0
    drawing.line([side.shaft, tuple(np.array(side.shaft) + shift * 1.1)], "thin")
    drawing.measure("tappet setback", tuple(foot + shift), tuple(np.array(side.shaft) + shift), _HEAD, -1.2)
    drawing.line([tuple(low + 4 * lean), (float(low[0]), float(low[1]) + 44)], "thin")
    drawing.say("angle", float(low[0]) + 2, float(low[1]) + 40)
    drawing.say("parallel to the stem", float(low[0]) + 2, float(low[1]) + 33)
    _valve(drawing, 0.0)
    return drawing


def pushrod() -> Drawing:
    """Draw the pushrod between the centers of its balls."""
    e = EXAMPLE
    drawing = Drawing("Pushrod: length is between the centers of its two balls")
    length, ball = e.pushrod, 3.0
    drawing.arc((0.0, 0.0), ball)
    drawing.arc((length, 0.0), ball)
    drawing.box(2.4, -1.8, length - 2.4, 1.8)
    for x in (0.0, length):
        drawing.line([(x, 0.0), (x, 14.0)], "thin")
    drawing.measure("length", (0.0, 12.0), (length, 12.0), _HEAD, 1.2)
    for x in (-ball, length + ball):
        drawing.line([(x, 0.0), (x, -14.0)], "thin")
    drawing.measure("over the balls", (-ball, -12.0), (length + ball, -12.0), _HEAD, -1.6)
    return drawing


def valve_lift() -> Drawing:
    """Draw the rocker closed and at full lift, a dial on the retainer."""
    e = EXAMPLE
    closed, full = at_lift(), at_lift(e.lobe_lift)
    drawing = Drawing("Dial on the retainer, in line with the stem: closed (dashed) and at full lift")
    _rocker(drawing, full)
    drawing.line([closed.socket, closed.shaft, closed.pad], "hidden")
    _valve(drawing, full.tip)
    drawing.line([(-e.stem_radius, 0.0), (e.stem_radius, 0.0)], "hidden")
    x = 11.0
    drawing.line([(x, full.tip - 6), (x, 8.0)], "thin")
    drawing.arc((x, 15.0), 7.0, style="thin")
    drawing.line([(x, 15.0), (x + 3.5, 19.0)], "thin")
    drawing.say("dial", x, 26.0, "middle")
    drawing.line([(0.0, 0.0), (24.0, 0.0)], "thin")
    drawing.line([(e.stem_radius, full.tip), (24.0, full.tip)], "thin")
    drawing.measure("lift", (22.0, full.tip), (22.0, 0.0), _HEAD, -1.2)
    return drawing


def feeler() -> Drawing:
    """Draw the lash, larger than life, with the feeler in it."""
    wide = 2.2
    side = at_lift(0.0, wide)
    drawing = Drawing("Feeler between pad and tip, on the base circle; the lash is drawn larger than life")
    _rocker(drawing, side)
    _valve(drawing, 0.0, 16.0)
    drawing.box(-7.0, 0.35, 26.0, wide - 0.35, "thin")
    drawing.say("feeler", 28.0, 1.2)
    drawing.measure("lash", (-8.5, 0.0), (-8.5, wide), 1.4, 1.6)
    _pushrod(drawing, side, 0.25)
    return drawing


def hot_cold() -> Drawing:
    """Draw the pair of readings: the same valve cold and hot, two gaps."""
    drawing = Drawing("The same valve cold and hot: the difference of the two lashes, larger than life")
    for shift, wide, name in ((0.0, 1.6, "cold"), (62.0, 3.2, "hot, stopped")):
        side = at_lift(0.0, wide)
        part = Drawing("")
        part.arc(side.pad, EXAMPLE.pad_radius, -np.pi / 2 - 0.75, -np.pi / 2 + 0.75)
        _valve(part, 0.0, 14.0)
        part.measure("lash", (7.5, 0.0), (7.5, wide), 1.3, -1.6)
        part.say(name, 0.0, -19.0, "middle")
        for points, style in part.lines:
            drawing.lines.append((points + np.array([shift, 0.0]), style))
        drawing.words += [(text, x + shift, y, anchor) for text, x, y, anchor in part.words]
    return drawing


def turns() -> Drawing:
    """Draw the adjuster with its thread, exposure and pitch."""
    drawing = Drawing("Adjuster: thread showing under the rocker, pitch, locknut")
    pitch, radius, boss = 2.2, 4.0, 11.0
    drawing.box(-13.0, 0.0, 13.0, boss)
    drawing.box(-7.0, boss, 7.0, boss + 6.0)
    drawing.say("locknut", 9.0, boss + 3.0)
    drawing.say("rocker", 15.0, boss / 2)
    drawing.line([(-radius, boss + 12.0), (radius, boss + 12.0)])
    for foot, top in ((-12.0, 0.0), (boss + 6.0, boss + 12.0)):
        for edge in (-1, 1):
            count = int((top - foot) / pitch * 2)
            zigzag = [
                (edge * (radius - 0.9 * (index % 2)), foot + index * pitch / 2) for index in range(count + 1)
            ]
            drawing.line([*zigzag, (edge * radius, top)])
    drawing.line([(-radius, -12.0), (-2.2, -13.5)])
    drawing.line([(radius, -12.0), (2.2, -13.5)])
    drawing.arc((0.0, -16.5), 3.6)
    drawing.line([(-radius, -12.0), (-19.0, -12.0)], "thin")
    drawing.line([(-13.0, 0.0), (-19.0, 0.0)], "thin")
    drawing.measure("exposure", (-17.0, -12.0), (-17.0, 0.0), 1.8, 1.2)
    drawing.measure("pitch", (10.0, -12.0 + pitch), (10.0, -12.0 + 2 * pitch), 1.0, -1.4)
    drawing.arc((0.0, boss + 15.0), 6.0, np.radians(200), np.radians(340), "mark")
    drawing.say("turns = lash / (pitch x ratio)", 0.0, boss + 17.0, "middle")
    return drawing


def shapes() -> Drawing:
    """Draw what passes close by under the rocker, at full lift."""
    side = at_lift(EXAMPLE.lobe_lift)
    drawing = Drawing("Full lift: where the rocker's underside and the retainer come near each other")
    _rocker(drawing, side)
    _valve(drawing, side.tip, 34.0)
    top = side.tip - 26
    drawing.box(-7.0, top - 10, 7.0, top)
    drawing.say("seal", 9.0, top - 5)
    drawing.measure("retainer to seal", (10.0, top), (10.0, side.tip - 14), 1.8, -1.4)
    middle = (0.5 * (side.shaft[0] + side.pad[0]), 0.5 * (side.shaft[1] + side.pad[1]))
    drawing.measure("", middle, (middle[0] - 1.0, middle[1] - 6.0), 1.4, -1.4)
    drawing.say("rocker_depth", middle[0] + 3.0, middle[1] + 4.0)
    drawing.measure("retainer_below_tip", (17.0, side.tip - 6), (17.0, side.tip), 1.4, -1.4)
    drawing.line([(4.0, side.tip), (18.0, side.tip)], "thin")
    drawing.line([(13.0, side.tip - 6), (18.0, side.tip - 6)], "thin")
    return drawing


SIDE_VIEWS: dict[str, Callable[[], Drawing]] = {
    each.__name__: each
    for each in (
        setback,
        height,
        arms,
        tappet,
        pushrod,
        valve_lift,
        feeler,
        hot_cold,
        turns,
        shapes,
    )
}
