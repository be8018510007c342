"""The picture of a pond: widths in proportion to watts, labels that never meet, the same elements at every moment."""

import itertools
import re
import xml.etree.ElementTree as tree

import make_moving_picture
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pondheat.core.ranges import OutOfRange
from pondheat.show.pictures import layout, palette
from pondheat.show.pictures.arrows import WIDEST, gap
from pondheat.show.pictures.pond import pond_picture
from pondheat.show.pictures.scene import PondScene

SVG = "{http://www.w3.org/2000/svg}"
LOSSES = {
    "evaporation": 1460.0,
    "convection": 930.0,
    "long wave": 1220.0,
    "walls and floor": 150.0,
    "filter, air, new water": 130.0,
}
NIGHT = {"water_temp": 18.0, "air_temp": 6.5, "heater": 3700.0, "pump": 100.0, "hour": 2.0}


def scene(**changed) -> PondScene:
    return PondScene(**{"length": 4.0, "depth": 1.2, "losses": LOSSES, "full": 3700.0, **NIGHT, **changed})


def arrow_widths(svg: str) -> dict[str, float]:
    """Width of each arrow's shaft, as drawn [px]."""
    found = {}
    for group in tree.fromstring(svg).iter(f"{SVG}g"):
        if (name := group.get("data-k", "")).startswith("arrow "):
            path = next(p.get("d") for p in group if p.get("data-flow"))
            found[name[6:]] = -2 * float(re.match(r"M0,(-?[\d.]+)", path)[1])
    return found


def boxes(svg: str) -> dict[str, tuple[float, float, float, float]]:
    """Left, top, right and bottom of every label's ground, as drawn [px]."""
    found = {}
    for group in tree.fromstring(svg).iter(f"{SVG}g"):
        if (name := group.get("data-k", "")).startswith("label "):
            x, y = map(float, re.match(r"translate\((\S+) (\S+)\)", group.get("transform")).groups())
            ground = next(part for part in group if part.get("data-box"))
            left, wide, high = (float(ground.get(part)) for part in ("x", "width", "height"))
            found[name[6:]] = (x + left, y, x + left + wide, y + high)
    return found


def meeting(found: dict) -> list[tuple[str, str]]:
    """Pairs of labels whose grounds overlap."""
    names = sorted(found)
    return [
        (a, b)
        for at, a in enumerate(names)
        for b in names[at + 1 :]
        if found[a][0] < found[b][2]
        and found[b][0] < found[a][2]
        and found[a][1] < found[b][3]
        and found[b][1] < found[a][3]
    ]


def test_arrows_are_as_wide_as_their_flows_are_large():
    drawn = arrow_widths(pond_picture(scene()))
    flows = {**LOSSES, "heater": 3700.0, "pump": 100.0}
    assert set(drawn) == set(flows)
    for name, flow in flows.items():
        assert drawn[name] == pytest.approx(WIDEST * flow / 3700, abs=0.02), name


def test_pictures_that_are_compared_share_their_scale():
    small = {name: flow / 10 for name, flow in LOSSES.items()}
    first, second = (arrow_widths(pond_picture(scene(losses=losses))) for losses in (LOSSES, small))
    assert first["evaporation"] == pytest.approx(10 * second["evaporation"], abs=0.2)
    of_its_own = arrow_widths(pond_picture(scene(losses=small, heater=0.0, full=None)))
    assert of_its_own["evaporation"] == pytest.approx(WIDEST, abs=0.02)


def test_the_key_of_the_scale_is_on_the_scale():
    for full in (80.0, 1000.0, 3700.0, 45_000.0):
        svg = pond_picture(scene(full=full))
        key = next(part for part in tree.fromstring(svg).iter(f"{SVG}rect") if part.get("data-watts"))
        watts, thick = float(key.get("data-watts")), float(key.get("height"))
        drawn = arrow_widths(svg)
        assert thick / watts == pytest.approx(drawn["heater"] / 3700, rel=0.01)
        assert 5 <= thick <= WIDEST and f"{watts:,.0f} W" in svg


def test_the_outline_is_what_the_open_pond_loses():
    svg = pond_picture(scene(losses={"evaporation": 120.0}, outlines={"evaporation": 1460.0}))
    outline = re.search(r'data-without="1" d="M0,-([\d.]+)', svg)
    assert 2 * float(outline[1]) == pytest.approx(WIDEST * 1460 / 3700, abs=0.02)
    assert "open 1,460 W" in svg


@pytest.mark.parametrize(
    "flow, before, said",
    [
        (-35.0, 116.0, "35 W gained open 116 W lost"),
        (178.0, -37.0, "178 W lost open 37 W gained"),
        (-35.0, -37.0, "35 W gained open 37 W"),
        (35.0, 37.0, "35 W open 37 W"),
    ],
)
def test_a_gain_beside_a_loss_says_which_is_which(flow, before, said):
    svg = pond_picture(scene(losses={"convection": flow}, outlines={"convection": before}))
    texts = " ".join(text.text for text in tree.fromstring(svg).iter(f"{SVG}text"))
    assert f"convection {said}" in texts and "−" not in said
    assert ("rotate(180)" in svg) == (flow * before < 0)


def test_every_flow_is_written_with_its_name_and_number():
    svg = pond_picture(scene(sun=2600.0))
    texts = " ".join(text.text for text in tree.fromstring(svg).iter(f"{SVG}text"))
    for said in ("evaporation 1,460 W", "radiation to the sky 1,220 W", "sun 2,600 W", "heater 3,700 W", "pump 100 W"):
        assert said in texts
    assert "walls and floor 150 W" in texts and "air 6.5 °C" in texts and "water 18.0 °C" in texts
    for name in (*LOSSES, "heater"):
        assert palette.COLOURS[name] in svg and palette.pattern_url("pond", name) in svg


def test_a_gain_by_the_surface_points_into_the_water():
    lost, gained = (layout.place(scene(losses={"convection": flow})).arrows[0] for flow in (200.0, -200.0))
    assert lost.dy < 0 < gained.dy and lost.width == gained.width
    assert gained.y + gained.dy == pytest.approx(lost.y)
    assert "gained" in pond_picture(scene(losses={"convection": -200.0}))


sizes = st.floats(0.5, 15)
flows = st.floats(-2000, 40_000) | st.just(0.0) | st.floats(-30, 30)
scenes = st.builds(
    lambda length, steep, share, names, values, before, **others: PondScene(
        length=length,
        depth=min(length * steep, 3.0),
        raised=share * min(length * steep, 3.0),
        losses=dict(zip(names, values)),
        outlines=dict(zip(names, values[::-1])) if before else {},
        **others,
    ),
    length=sizes,
    steep=st.floats(0.08, 2.5),
    share=st.sampled_from([0.0, 0.5, 1.0]),
    names=st.sampled_from(
        [tuple(LOSSES), ("open surface", "walls", "floor"), ("convection", "filter, air, new water")]
    ),
    values=st.lists(flows, min_size=5, max_size=5),
    before=st.booleans(),
    water_temp=st.floats(0, 30),
    air_temp=st.none() | st.floats(-25, 38),
    sun=st.none() | st.floats(0, 20_000),
    heater=st.none() | st.floats(0, 60_000),
    pump=st.none() | st.floats(0, 2000),
    has_cover=st.booleans(),
    covered=st.floats(0, 1),
    ice=st.sampled_from([0.0, 0.03, 0.4]),
    room=st.booleans(),
    hour=st.none() | st.floats(0, 24),
    cloud=st.floats(0, 1),
    wind=st.floats(0, 20),
    shelter=st.none() | st.floats(0.1, 1),
)


@settings(max_examples=30, deadline=None)
@given(scenes)
def test_labels_never_meet_nor_leave_the_picture(drawn):
    svg = pond_picture(drawn)
    found = boxes(svg)
    assert meeting(found) == []
    for name, (left, top, right, bottom) in found.items():
        assert left >= 0 and top >= 0 and right <= layout.WIDTH and bottom <= layout.place(drawn).height - 24, name
    widths, widest = arrow_widths(svg), layout.shaft(drawn, drawn.scale)
    assert 18 < widest < WIDEST + 0.01
    assert widest == pytest.approx(WIDEST) or layout.place(drawn).width < 130  # narrow: three side by side
    for name, flow in drawn.flows.items():
        assert widths[name] == pytest.approx(widest * abs(flow) / drawn.scale, abs=0.02)
    assert "nan" not in svg and len(svg.encode()) < 40_000


@pytest.mark.parametrize("length", [0.9, 1.3, 1.5, 2.0, 4.0])
def test_the_label_of_the_water_is_clear_of_the_thermometer(length):
    drawn = scene(length=length)
    laid, (left, _, right, _) = layout.place(drawn), boxes(pond_picture(drawn))["water"]
    assert right <= laid.right - 16 - 8 or right < laid.left, "the glass is 16 px beside the wall, its foot 7.5 px wide"
    assert left >= 0 and (left > laid.left or right < laid.left)


def test_labels_stay_apart_with_fahrenheit(monkeypatch):
    from pondheat.core import display_units

    monkeypatch.setattr(display_units, "load", lambda: display_units.DisplayUnits(fahrenheit=True))
    for changed in ({}, {"length": 0.8, "depth": 0.6}, {"raised": 1.2}, {"ice": 0.05, "water_temp": 0.0}):
        svg = pond_picture(scene(**changed))
        assert meeting(boxes(svg)) == [] and "°F" in svg


def test_the_check_of_labels_can_fail():
    assert meeting({"a": (0, 0, 10, 10), "b": (9, 9, 20, 20), "c": (21, 0, 30, 10)}) == [("a", "b")]


def shape(svg: str) -> list[tuple[str, str | None]]:
    """Every element with its key, in order."""
    return [(part.tag, part.get("data-k")) for part in tree.fromstring(svg).iter()]


def test_elements_keep_their_order_from_moment_to_moment():
    """So that a browser can move what is there instead of drawing anew."""
    first = scene(has_cover=True, sun=0.0)
    for changed in (
        {"covered": 1.0},
        {"hour": 13.0, "sun": 2600.0, "heater": 0.0},
        {"cloud": 1.0, "wind": 9.0},
        {"water_temp": 4.0, "air_temp": -12.0},
        {"losses": {name: 0.0 for name in LOSSES}},
    ):
        assert shape(pond_picture(scene(**{"has_cover": True, "sun": 0.0, **changed}))) == shape(pond_picture(first))


def test_the_pond_is_to_scale():
    laid = layout.place(scene(raised=0.6))
    assert laid.width / laid.depth == pytest.approx(4 / 1.2)
    assert (layout.LAWN - laid.top) / laid.depth == pytest.approx(0.5)
    deeper = layout.place(scene(depth=2.4, fit=(4.0, 2.4, 0.0)))
    usual = layout.place(scene(fit=(4.0, 2.4, 0.0)))
    assert deeper.width == usual.width and deeper.depth == pytest.approx(2 * usual.depth)


def test_words_for_those_who_do_not_see_it():
    root = tree.fromstring(pond_picture(scene(has_cover=True, covered=1.0, ice=0.02, cloud=0.0), "a", "A night"))
    assert root.get("role") == "img" and root.get("aria-labelledby") == "a-title a-desc"
    title, described = (root.find(f"{SVG}{name}") for name in ("title", "desc"))
    assert title.text == "A night"
    for said in (
        "4 m long and 1.2 m deep",
        "Water 18.0 °C",
        "air 6.5 °C",
        "ice 2 cm",
        "Night, the sky clear",
        "cover is on",
    ):
        assert said in described.text, said
    assert "evaporation 1,460 W" in described.text and "heater 3,700 W" in described.text


def test_sky_with_nothing_in_it_is_left_out():
    """Over a pond without arrows or air there is room for sun and cloud, but no more, and its foot is not cut off."""
    still = {"air_temp": None, "heater": None, "pump": None, "hour": 12.0, "raised": 1.2}
    bare, busy = layout.place(scene(losses={}, **still)), layout.place(scene(**still))
    assert busy.skipped == 0 and bare.skipped > 50
    assert bare.top - bare.skipped > 40 + 33  # the sun by noon is above the water, all of it
    svg = tree.fromstring(pond_picture(scene(losses={}, **still)))
    drawn = svg.find(f"{SVG}g/{SVG}g")
    assert float(svg.get("viewBox").split()[3]) == pytest.approx(bare.height - bare.skipped, abs=0.5)
    assert drawn.get("transform") == f"translate(0 {-bare.skipped:g})"


def test_by_night_the_sun_is_not_drawn():
    """Its arrow and its label keep their place, so that they can come back with the day."""
    by_night, by_day = (pond_picture(scene(sun=sun)) for sun in (0.0, 900.0))
    for key in ("arrow sun", "label sun"):
        assert f'data-k="{key}" opacity="0"' in by_night and f'data-k="{key}" opacity="1"' in by_day


def test_no_heat_has_no_arrow():
    """Unless an outline shows what it would be otherwise."""
    losses = {"filter": 0.0}
    assert 'data-k="arrow filter" opacity="0"' in pond_picture(scene(losses=losses))
    assert 'data-k="arrow filter" opacity="1"' in pond_picture(scene(losses=losses, outlines={"filter": 70.0}))


def test_ids_belong_to_the_picture():
    one, two = (set(re.findall(r'\bid="([^"]+)"', pond_picture(scene(), key))) for key in ("one", "two"))
    assert one and not one & two
    svg = pond_picture(scene(), "one")
    assert set(re.findall(r"url\(#([^)]+)\)", svg)) <= one
    assert "<script" not in svg and svg == pond_picture(scene(), "one")


@pytest.mark.parametrize(
    "changed, said",
    [
        ({"length": 0.0}, "can't be drawn"),
        ({"raised": 2.0}, "can't be drawn"),
        ({"losses": {"magic": 1.0}}, "not a way of heat loss"),
        ({"heater": float("nan")}, "number of watts"),
    ],
)
def test_what_cannot_be_drawn_is_said(changed, said):
    with pytest.raises(OutOfRange, match=said):
        scene(**changed)


def test_the_moving_picture_in_the_readme_is_what_the_pictures_show_today():
    made = make_moving_picture.moving_picture()
    assert make_moving_picture.WRITTEN.read_text(encoding="utf-8") == made
    assert len(made) < 1_000_000 and tree.fromstring(made) is not None
    assert len(re.findall("<g class=.m. ", made)) == 12 and "prefers-reduced-motion" in made


@pytest.mark.parametrize("length, depth", [(1.0, 1.0), (1.0, 0.5), (2.0, 1.0)])
def test_arrows_of_a_small_pond_stand_apart_over_its_water(length, depth):
    losses = {"evaporation": 1000 * length, "convection": 650 * length, "long wave": 900 * length}
    placed = layout.place(PondScene(length, depth, losses, 18.0, 5.0, sun=400 * length))
    for one, other in itertools.combinations(placed.arrows, 2):
        assert min(gap(part, near) for part in one.shapes() for near in other.shapes()) >= 3
    assert all(placed.left <= arrow.x <= placed.right for arrow in placed.arrows if arrow.name in losses)
