"""A cut through a pond, drawn to scale, with one arrow for each way its heat moves."""

from __future__ import annotations

import html

from pondheat.core import display_units
from pondheat.show.pictures import layout, palette, scenery
from pondheat.show.pictures.layout import WIDTH, Layout
from pondheat.show.pictures.lettering import watts
from pondheat.show.pictures.scene import PondScene

SPOKEN = {"long wave": "radiation to the sky", "filter, air, new water": "filter, air and new water"}
_HIDES = 70  # px: depth of water that a thermometer goes into as a whole


def pond_picture(
    scene: PondScene, key: str = "pond", title: str = "", preferred: display_units.DisplayUnits | None = None
) -> str:
    """The picture of a scene as SVG text, with a title and a description for screen readers.

    Its arrows are as wide as their flows are large, on the scale of `scene.full`. Elements keep their order and their
    `data-k` from scene to scene of one pond, so `live_picture.js` can move them. key: prefix of the element ids, unique
    on a page; title: what it shows, by default “The pond”; preferred: units, as of `layout.place`. Draws in a few
    milliseconds; 8 to 14 kB.
    """
    laid = layout.place(scene, preferred)
    title = title or "The pond, cut open, and the heat that moves"
    drawn = [
        _lowered(scenery.sky(scene, laid, key), laid.skipped),
        scenery.ground(scene, key),
        scenery.equipment(scene, laid),
        scenery.basin(scene, laid, key),
        scenery.cover(scene, laid),
        _thermometers(scene, laid),
        "".join(arrow.svg(key) for arrow in laid.arrows),
        "".join(label.svg() for label in laid.labels),
        _foot(scene, laid),
    ]
    high = laid.height - laid.skipped
    shown = "".join(f"<g>{part}</g>" for part in drawn)
    defs = scenery.definitions(scene, key) + palette.patterns(key, scene.flows)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="ph-pond" viewBox="0 0 {WIDTH} {high:.0f}" role="img" '
        f'aria-labelledby="{key}-title {key}-desc" style="width:100%;height:auto;display:block" '
        'font-family="system-ui,sans-serif">'
        f'<title id="{key}-title">{html.escape(title)}</title>'
        f'<desc id="{key}-desc">{html.escape(describe(scene, laid.preferred))}</desc>'
        f'<defs>{defs}<clipPath id="{key}-edge"><rect width="{WIDTH}" height="{high:.0f}" rx="10"/>'
        "</clipPath></defs>"
        f'<g clip-path="url(#{key}-edge)">{_lowered(shown, -laid.skipped)}</g></svg>'
    )


def _lowered(drawn: str, px: float) -> str:
    return f'<g transform="translate(0 {px:g})">{drawn}</g>' if px else drawn


def _thermometers(scene: PondScene, laid: Layout) -> str:
    below = 6 if laid.depth >= _HIDES else -20  # where there is room, all of it is out of the way of the arrows
    water = scenery.thermometer(laid.right - 16, laid.top + below, min(52, laid.depth + 4), scene.water_temp)
    if scene.air_temp is None:
        return water
    top = 10 + (26 if not laid.preferred.fahrenheit else 44) * scene.lettering
    return scenery.thermometer(20, top, 58, scene.air_temp) + water


def _foot(scene: PondScene, laid: Layout) -> str:
    """The key of the arrows' scale and the pond's size."""
    y = laid.height - 10
    scale = ""
    flow = layout.round_flow(scene) if scene.has_flows else 0.0
    if flow:
        thick = layout.shaft(scene, flow)
        scale = (
            f'<rect x="10" y="{y - 5 - thick / 2:.1f}" width="10" data-watts="{flow:g}" height="{thick:.2f}" '
            f'fill="#2b2620" rx="1"/><text x="26" y="{y:.1f}">this thick: {watts(flow)}</text>'
        )
    return (
        f'<g font-size="{13.5 * scene.lettering:g}" fill="#2b2620"><g data-k="scale">{scale}</g>'
        f'<text x="425" y="{y:.1f}" text-anchor="end">{scene.length:.3g} m long, {scene.depth:.3g} m deep</text></g>'
    )


def describe(scene: PondScene, preferred: display_units.DisplayUnits) -> str:
    """The scene in words, for those who do not see it; preferred: the units of its temperatures."""
    said = [
        f"A pond {scene.length:g} m long and {scene.depth:g} m deep"
        + (f", {scene.raised:g} m of it above the ground" if scene.raised else "")
        + (", indoors" if scene.room else "")
        + f". Water {preferred.temperature(round(scene.water_temp, 1), 1)}"
        + ("" if scene.air_temp is None else f", air {preferred.temperature(round(scene.air_temp, 1), 1)}")
        + (f", ice {100 * scene.ice:.2g} cm thick" if scene.ice > 0 else "")
    ]
    if scene.hour is not None and not scene.room:
        light = "night" if scene.daylight < 0.25 else "day" if scene.daylight > 0.75 else "twilight"
        sky = "clear" if scene.cloud < 0.25 else "overcast" if scene.cloud > 0.85 else "partly cloudy"
        said.append(f"{light.capitalize()}, the sky {sky}")
    if scene.has_cover:
        share = scene.covered
        said.append("The cover is off" if share <= 0 else "The cover is on" if share >= 1 else f"Covered: {share:.0%}")
    lost = [f"{SPOKEN.get(name, name)} {watts(flow)}" for name, flow in scene.losses.items()]
    if lost:
        said.append(f"Heat lost: {', '.join(lost)}")
    if scene.outlines:
        open_ = [f"{SPOKEN.get(name, name)} {watts(flow)}" for name, flow in scene.outlines.items()]
        said.append(f"Outlined, {scene.outlined}: {', '.join(open_)}")
    given = [f"{name} {watts(flow)}" for name, flow in scene.gains.items()]
    if given and scene.has_flows:
        said.append(f"Heat given to the water: {', '.join(given)}")
    elif given:  # nothing has been worked out yet
        said.append(f"Beside it: {', '.join(scene.gains)}")
    return ". ".join(said) + "."
