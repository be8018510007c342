"""Questions of page 05, moist air."""

from __future__ import annotations

from pondheat.heat.moist_air import saturation_vapour_pressure
from pondheat.lesson.question_bank.question import Again, Inverse, Misconception, Question


def _saturation(temp: float) -> float:
    """Saturation vapour pressure [Pa] at a temperature [°C]."""
    return float(saturation_vapour_pressure(temp))


QUESTIONS = (
    Question(
        "5.1",
        "05_moist_air",
        "At [{air:g} °C] air can hold at most {full:.0f} Pa of vapour. Its relative humidity is {humidity:g} %. What "
        "is its vapour pressure?",
        "Pa",
        {"air": 8, "humidity": 70, "full": round(_saturation(8)), "warm": round(_saturation(18))},
        {"humidity": (45, 55, 60, 70, 75, 80, 85)},
        lambda air, humidity, full, warm: full * humidity / 100,
        (
            Misconception(
                "per cent as a number",
                lambda air, humidity, full, warm: full * humidity,
                "You used the percentage as a plain number. 100 % is 1.",
            ),
            Misconception(
                "the water's temperature",
                lambda air, humidity, full, warm: warm * humidity / 100,
                "That starts from the pond's [18 °C]. Use the temperature of the air.",
            ),
            Misconception(
                "no humidity",
                lambda air, humidity, full, warm: float(full),
                "That's for full air. This air holds only part of what it could.",
            ),
        ),
        "What share of the most it could hold does the air hold?",
        "Vapour pressure = humidity × the most it could hold at that temperature.",
        "{humidity:g} % of {full:.0f} Pa = {right} Pa.",
        0,
        again=Again(
            "At [{air:g} °C] air can hold at most {most:.2f} hPa of vapour (1 hPa is 100 Pa). One morning its vapour "
            "pressure is {told:g} Pa. What is its relative humidity?",
            {"humidity": (40, 50, 65, 75, 80, 90, 95)},
            stated={"most": ("full", 0.01)},
            worked="{most:.2f} hPa = {full:.0f} Pa; 100 × {told:g} ÷ {full:.0f} = {right} %.",
            inverse=Inverse(
                "humidity",
                "percent",
                (
                    Misconception(
                        "fraction",
                        lambda told, full, **_: told / full,
                        "That's the share as a fraction. As a percentage it's a hundred times that.",
                    ),
                    Misconception(
                        "what is missing",
                        lambda told, full, **_: 100 - 100 * told / full,
                        "That's how much is missing until the air is full. Humidity is the part that's there.",
                    ),
                    Misconception(
                        "upside down",
                        lambda told, full, **_: 100 * full / told,
                        "That's the wrong way round: no air holds more than the most it can hold.",
                    ),
                    Misconception(
                        "pascals and hectopascals",
                        lambda told, full, **_: 100 * told / (full / 100),
                        "You compared pascals with hectopascals. Use the same unit for both.",
                    ),
                    Misconception(
                        "difference",
                        lambda told, full, **_: full - told,
                        "That's a difference, in pascals. What share of the most it can hold does the air hold?",
                    ),
                ),
                "What share of the most it could hold does the air hold?",
                "Humidity = vapour pressure ÷ the most it could hold, both in Pa.",
            ),
        ),
        ideas=("evaporation",),
    ),
    Question(
        "5.2",
        "05_moist_air",
        "At the surface of water at [18 °C] the vapour pressure is {warm:.0f} Pa. The air has "
        "{vapour:.0f} Pa; if full, it would have {full:.0f} Pa. What pressure difference drives "
        "evaporation?",
        "Pa",
        {"warm": round(_saturation(18)), "vapour": round(0.8 * _saturation(8)), "full": round(_saturation(8))},
        {"vapour": (480, 540, 600, 700, 760, 858)},
        lambda warm, vapour, full: warm - vapour,
        (
            Misconception(
                "full air",
                lambda warm, vapour, full: warm - full,
                "That treats the air as full. It isn't, so more can evaporate.",
            ),
            Misconception(
                "the air's own gap",
                lambda warm, vapour, full: full - vapour,
                "That's how much more the air could take at its own temperature. What counts is the pressure at the "
                "water.",
            ),
            Misconception(
                "ignored the air",
                lambda warm, vapour, full: warm,
                "That ignores the air. The vapour already in it holds evaporation back.",
            ),
        ),
        "Vapour moves from the higher pressure to the lower.",
        "Difference = at the water − in the air.",
        "{warm:.0f} − {vapour:.0f} = {right} Pa.",
        0,
        again=Again(
            "At the surface of water at [18 °C] the vapour pressure is {at_water:.2f} hPa (1 hPa is "
            "100 Pa). The air has {in_air:.2f} hPa; if full, it would have {most:.2f} hPa. What "
            "pressure difference drives evaporation, in Pa?",
            {"vapour": (420, 500, 560, 640, 720, 900)},
            stated={"at_water": ("warm", 0.01), "in_air": ("vapour", 0.01), "most": ("full", 0.01)},
        ),
        ideas=("evaporation",),
    ),
)
