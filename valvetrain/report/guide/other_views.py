"""The guide's drawings of springs, tip, shaft from above, lobe, wheel and piston."""

from collections.abc import Callable

import numpy as np

from valvetrain.mechanics.piston.crank_slider import piston_drop
from valvetrain.report.drawing import Drawing
from valvetrain.report.guide.example import EXAMPLE, lobe_motion, lobe_outline, witness_band

__all__ = ["OTHER_VIEWS"]

_HEAD = 2.0


def _stem(drawing: Drawing, low: float, tip: float) -> None:
    r, c = EXAMPLE.stem_radius, EXAMPLE.chamfer
    drawing.line([(-r, low), (-r, tip - c), (c - r, tip), (r - c, tip), (r, tip - c), (r, low)])


def installed_height() -> Drawing:
    """Draw the spring between its seat and the retainer."""
    drawing = Drawing("Valve spring: installed height from the seat, on top of the shims, to the retainer")
    top, shim = 42.0, 1.5
    drawing.box(-22.0, -6.0, 22.0, -shim, "thin")
    drawing.box(-15.0, -shim, 15.0, 0.0)
    drawing.say("shim", -23.5, -0.8, "end")
    drawing.line([(-15.0, top), (15.0, top), (15.0, top + 3.0), (9.0, top + 5.0), (-9.0, top + 5.0)])
    drawing.line([(-9.0, top + 5.0), (-15.0, top + 3.0), (-15.0, top)])
    # The coils in front, as a helix is seen from the side.
    turn = np.linspace(0.0, 5.5 * 2 * np.pi, 221)
    helix = zip(12.5 * np.cos(turn), top * turn / turn[-1], strict=True)
    drawing.line(list(helix), "thin")
    _stem(drawing, top + 5.0, top + 12.0)
    drawing.line([(15.0, top), (27.0, top)], "thin")
    drawing.line([(15.0, 0.0), (27.0, 0.0)], "thin")
    drawing.measure("installed_height", (25.0, 0.0), (25.0, top), _HEAD, -1.2)
    drawing.box(-6.5, -shim, 6.5, 22.0, "hidden")
    drawing.measure("retainer_to_seal", (-18.0, 22.0), (-18.0, top), _HEAD, 1.2)
    drawing.line([(-6.5, 22.0), (-20.0, 22.0)], "hidden")
    drawing.line([(-15.0, top), (-20.0, top)], "thin")
    return drawing


def stem_height() -> Drawing:
    """Draw the stem over the bare spring seat."""
    drawing = Drawing("Stem height: from the bare spring seat, shims out, to the valve's tip")
    drawing.box(-24.0, -7.0, 24.0, 0.0, "thin")
    drawing.box(-7.0, 0.0, 7.0, 14.0)
    drawing.say("guide", -9.0, 7.0, "end")
    _stem(drawing, 14.0, 46.0)
    drawing.line([(4.0, 46.0), (22.0, 46.0)], "thin")
    drawing.measure("stem_height", (20.0, 0.0), (20.0, 46.0), _HEAD, -1.2)
    drawing.say("bare spring seat", -22.0, -3.5)
    return drawing


def ink() -> Drawing:
    """Draw the tip from above with two bands: a narrow one, and that of a wrong shaft height."""
    e = EXAMPLE
    drawing = Drawing("The tip from above: the band that the pad wipes, shaft height right and wrong")
    # Larger than life: the band of the right height is a third of a millimeter.
    scale = 3.0
    for shift, height, words in ((0.0, e.height, "shaft right"), (56.0, e.height - 5.0, "shaft too low")):
        near, far = witness_band(height)
        r = e.stem_radius * scale
        drawing.arc((shift, 0.0), r)
        drawing.arc((shift, 0.0), r - e.chamfer * scale, style="thin")
        low, high = scale * near, scale * far
        for x in np.linspace(low, high, max(2, int((high - low) / 0.5))):
            half = np.sqrt(max((r - e.chamfer * scale) ** 2 - x**2, 0.0))
            drawing.line([(shift + x, -half), (shift + x, half)], "thin")
        drawing.say(words, shift, -r - 3.0, "middle")
        if shift:
            drawing.line([(shift - r, 0.0), (shift - r, r + 12)], "thin")
            drawing.line([(shift + low, 0.0), (shift + low, r + 6)], "thin")
            drawing.line([(shift + high, 0.0), (shift + high, r + 12)], "thin")
            drawing.measure("", (shift - r, r + 4), (shift + low, r + 4), _HEAD)
            drawing.say("near_edge", shift - r - 2.0, r + 4, "end")
            drawing.measure("", (shift - r, r + 10.5), (shift + high, r + 10.5), _HEAD)
            drawing.say("far_edge", shift - r - 2.0, r + 10.5, "end")
    drawing.say("shaft is", -16.0, 2.5, "end")
    drawing.say("on this side", -16.0, -3.5, "end")
    return drawing


def offset() -> Drawing:
    """Draw a shaft from above: rockers, shims, stems, offset and end clearance."""
    drawing = Drawing("The shaft from above: offset of the pad from the stem, and end clearance")
    e = EXAMPLE
    for y in (-e.shaft_radius, e.shaft_radius):
        drawing.line([(-8.0, y), (96.0, y)], "thin")
    for left, right, name in ((-6.0, 8.0, "stand"), (80.0, 94.0, "stand")):
        drawing.box(left, -14.0, right, 14.0)
        drawing.say(name, 0.5 * (left + right), 0.0, "middle")
    stem = 44.0
    pad = stem + 5.0
    drawing.box(8.0, -12.0, 11.0, 12.0)
    drawing.say("shims", 9.5, 17.0, "middle")
    drawing.box(pad - 16, -12.0, pad + 16, 12.0)
    drawing.box(pad - 4, -12.0 - e.setback + 6, pad + 4, -12.0)
    drawing.box(pad + 16, -12.0, pad + 19, 12.0)
    y = -e.setback
    drawing.arc((stem, y), e.stem_radius)
    drawing.line([(stem, y - 9), (stem, y + 6)], "hidden")
    drawing.line([(pad, y - 9), (pad, -2.0)], "hidden")
    drawing.measure("offset (+)", (stem, y - 7), (pad, y - 7), _HEAD, -3.0)
    drawing.measure("end_clearance", (pad + 19, 17.0), (80.0, 17.0), _HEAD, 2.6)
    drawing.say("front", -10.0, 0.0, "end")
    drawing.say("flywheel", 98.0, 0.0)
    return drawing


def lobe_lift() -> Drawing:
    """Draw the lobe under its tappet with a dial, on the nose."""
    e = EXAMPLE
    drawing = Drawing("Lobe under the tappet: the dial is zero on the base circle and reads the lift")
    x, y = lobe_outline()
    drawing.line(list(zip(x, y, strict=True)))
    drawing.arc((0.0, 0.0), e.base_radius, style="hidden")
    top = e.base_radius + e.lobe_lift
    drawing.box(-12.0, top, 12.0, top + 16.0)
    drawing.say("tappet", 0.0, top + 8.0, "middle")
    drawing.line([(0.0, top + 16.0), (0.0, top + 24.0)], "thin")
    drawing.arc((0.0, top + 31.0), 7.0, style="thin")
    drawing.line([(0.0, top + 31.0), (3.5, top + 35.0)], "thin")
    drawing.say("dial", 9.0, top + 31.0)
    drawing.line([(0.0, e.base_radius), (22.0, e.base_radius)], "thin")
    drawing.line([(12.0, top), (22.0, top)], "thin")
    drawing.measure("lift", (20.0, e.base_radius), (20.0, top), _HEAD, -1.2)
    drawing.measure("", (0.0, 0.0), (0.0, -e.base_radius), _HEAD)
    drawing.say("base_radius", 0.0, -e.base_radius - 4.0, "middle")
    return drawing


def wheel() -> Drawing:
    """Draw a degree wheel with an intake's opening, center and closing."""
    drawing = Drawing("Degree wheel, intake: opening, the lobe's center after top dead center, closing")
    opens, center, closes = -12.0, 107.0, 226.0
    drawing.arc((0.0, 0.0), 30.0)
    for tick in range(0, 360, 10):
        turn = np.radians(90.0 - tick)
        inner = 26.0 if tick % 30 == 0 else 28.0
        drawing.line(
            [(r * np.cos(turn), r * np.sin(turn)) for r in (inner, 30.0)],
            "thin",
        )
    for degrees, name in ((0.0, "TDC"), (180.0, "BDC")):
        turn = np.radians(90.0 - degrees)
        drawing.say(name, 35.0 * np.cos(turn), 35.0 * np.sin(turn), "middle")
    for degrees, name, anchor in (
        (opens, "opens", "end"),
        (center, "center", "start"),
        (closes, "closes", "end"),
    ):
        turn = np.radians(90.0 - degrees)
        drawing.line([(0.0, 0.0), (30.0 * np.cos(turn), 30.0 * np.sin(turn))], "mark")
        drawing.say(name, 32.0 * np.cos(turn), 32.0 * np.sin(turn), anchor)
    drawing.arc((0.0, 0.0), 18.0, np.radians(90.0 - closes), np.radians(90.0 - opens))
    return drawing


def piston() -> Drawing:
    """Draw the gap between valve and piston over the crank angle."""
    drawing = Drawing("Valve pressed down to the piston: clearance over the crank angle round the overlap")
    angle = np.radians(np.linspace(-40.0, 40.0, 41))
    drop = piston_drop(angle, 100.0, 170.0)
    # The intake follows the lobe, whose middle is 107 crank degrees after top dead center.
    lift, _ = lobe_motion((angle - np.radians(107.0)) / 2.0)
    gap = 4.0 + drop - 1.5 * lift
    wide = np.degrees(angle)
    drawing.line(list(zip(wide, 3.0 * gap, strict=True)))
    drawing.line([(-42.0, 0.0), (42.0, 0.0)], "thin")
    drawing.line([(0.0, 0.0), (0.0, 45.0)], "hidden")
    drawing.say("TDC", 0.0, -4.0, "middle")
    least = int(np.argmin(gap))
    drawing.measure(
        "clearance", (float(wide[least]), 0.0), (float(wide[least]), 3.0 * float(gap[least])), _HEAD, -1.2
    )
    drawing.say("before", -34.0, -4.0, "middle")
    drawing.say("after", 34.0, -4.0, "middle")
    return drawing


def crown() -> Drawing:
    """Draw the crown of a tappet's face and the taper of a lobe, larger than life."""
    drawing = Drawing("Crown of the tappet's face and taper of the lobe, larger than life")
    x = np.linspace(-15.0, 15.0, 41)
    drawing.line(list(zip(x, -(x**2) / 90.0, strict=True)))
    drawing.line([(-15.0, -2.5), (-15.0, -16.0), (15.0, -16.0), (15.0, -2.5)])
    drawing.line([(-18.0, 0.0), (18.0, 0.0)], "thin")
    drawing.say("straightedge", 0.0, 4.0, "middle")
    drawing.measure("gap", (-14.0, -(14.0**2) / 90.0), (-14.0, 0.0), 0.9, 3.0)
    drawing.measure("crown_span", (-14.0, -20.0), (14.0, -20.0), _HEAD, -1.6)
    drawing.line([(36.0, -1.5), (64.0, 1.5), (64.0, -16.0), (36.0, -16.0), (36.0, -1.5)])
    for place, name in ((40.0, "taper_front"), (60.0, "taper_rear")):
        top = -1.5 + (place - 36.0) * 3.0 / 28.0
        drawing.line([(place, top), (place, 8.0)], "mark")
        drawing.say(name, place, 10.5 if place < 50 else 14.5, "middle")
    drawing.say("lobe, front to rear", 50.0, -20.0, "middle")
    return drawing


OTHER_VIEWS: dict[str, Callable[[], Drawing]] = {
    each.__name__: each
    for each in (installed_height, stem_height, ink, offset, lobe_lift, wheel, piston, crown)
}
