"""What a reader is told of an unseen pond: its facts, its meter's record and what the keeper says of it."""

from __future__ import annotations

from pondheat.core import units
from pondheat.lesson.unseen_pond import UnseenPond
from pondheat.text.result_table import ResultTable


def facts(pond: UnseenPond) -> ResultTable:
    """The pond's sheet in a few rows."""
    sheet, body, cover = pond.sheet, pond.sheet.pond, pond.sheet.pond.cover
    assert cover is not None  # every pond of the challenge has one
    walls = [wall for wall in body.walls if wall.against == "air"]
    rows = (
        ("Surface", f"{body.surface_area:g} m²"),
        ("Volume, mean depth", f"[{body.volume:.3g} m³], {body.volume / body.surface_area:.2f} m"),
        ("Kept at", f"[{sheet.set_point[0][1]:g} °C]"),
        ("Wind at the water, as a share of an open field's", f"{100 * body.wind_shelter:.0f} %"),
        ("Open sky above it", f"{100 * body.sky_view:.0f} %"),
        *(("Walls in the air", f"{wall.area:.3g} m², U {wall.u_value:.2g} W/(m²·K)") for wall in walls),
        ("Cover", f"U {cover.u_value:.2g} W/(m²·K), {_clock(sheet.cover_plan.on)} to {_clock(sheet.cover_plan.off)}"),
    )
    return ResultTable(sheet.name, ("The pond", ""), rows)


def record(pond: UnseenPond) -> ResultTable:
    """The meter's record, a row a day."""
    rows = tuple(
        (f"{day.date.day} {day.date:%b}", "on" if day.covered else "off", f"{day.warmer:.1f}", f"{day.kwh:.1f}")
        for day in pond.record.days
    )
    return ResultTable(
        "The meter's record", ("Day", "Cover in the evening", "Water warmer than the air, K", "Use, kWh"), rows
    )


def keeper_says(pond: UnseenPond) -> tuple[str, ...]:
    """What the keeper says of the record, sentence by sentence."""
    plan, blower = pond.sheet.cover_plan, pond.record.blower
    at, until = ("midnight", "midnight") if pond.record.trap == "midnight" else ("noon", "noon of the next day")
    also = f", and an air blower and lights in the shed, {units.digits(blower)} W day and night" if blower else ""
    return (
        f"I read the meter at {at}: a row is a day from {at} to {until}.",
        f"It counts the heater and the pump, which is under water and takes {units.digits(pond.sheet.pump_power)} W"
        f"{also}.",
        f"Where the table says on, the cover went on at {_clock(plan.on)} and came off at {_clock(plan.off)}.",
    )


def _clock(minutes: int | None) -> str:
    assert minutes is not None  # every cover of the challenge has its hours
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
