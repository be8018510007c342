"""Questions of page 11, heaters."""

from __future__ import annotations

from pondheat.lesson.question_bank.question import HEAT_OF_WATER, Again, Inverse, Misconception, Question


def _balance_point(power: float, cold_power: float, warm: float, loss: float, pond: float) -> float:
    """Air temperature [°C] at which a heat pump just keeps up.

    power, cold_power: [kW] at `warm` and at 0 °C, linear in between; loss: [kW/K]; pond: water temperature [°C].
    """
    fade = (power - cold_power) / warm  # kW/K
    return (loss * pond - cold_power) / (fade + loss)


QUESTIONS = (
    Question(
        "11.1",
        "11_heaters",
        "The pond loses {loss:g} kW. You also want to warm its [{volume:g} m³] by [{rise:g} K] in "
        "{days:g} days ([1 m³] by [1 K]: 1.163 kWh). How many kW must the heater give?",
        "kW",
        {"loss": 2.5, "volume": 12, "rise": 5, "days": 5},
        {"loss": (1.8, 2.2, 2.5, 3.0), "volume": (8, 10, 12, 15), "days": (5, 6, 8)},
        lambda loss, volume, rise, days: loss + HEAT_OF_WATER * volume * rise / (24 * days),
        (
            Misconception(
                "forgot the warming",
                lambda loss, volume, rise, days: loss,
                "That only replaces the heat loss. Warming up is extra.",
            ),
            Misconception(
                "forgot the loss",
                lambda loss, volume, rise, days: HEAT_OF_WATER * volume * rise / (24 * days),
                "That only warms the water. The pond goes on losing heat all the while.",
            ),
            Misconception(
                "days as hours",
                lambda loss, volume, rise, days: loss + HEAT_OF_WATER * volume * rise / days,
                "You treated days as hours.",
            ),
        ),
        "The heater has two jobs: to replace the heat loss, and to warm the water.",
        "kW = loss + 1.163 × m³ × K ÷ hours.",
        "{loss:g} + 1.163 × {volume:g} × {rise:g} ÷ (24 × {days:g}) = {right} kW.",
        again=Again(
            "A smaller pond loses {loss_watts:g} W. You also want to warm its [{volume:g} m³] by "
            "[{rise:g} K] in {days:g} days ([1 m³] by [1 K]: 1.163 kWh). How many kW must the heater "
            "give?",
            {"loss": (0.6, 0.9, 1.2, 1.5), "volume": (3, 4, 6, 7), "rise": (3, 4, 6), "days": (3, 4, 10)},
            stated={"loss_watts": ("loss", 1000)},
        ),
    ),
    Question(
        "11.2",
        "11_heaters",
        "A heat pump with a COP of {cop:g} gives {heat:g} kWh of heat. How many kWh of electricity does it use?",
        "kWh",
        {"cop": 4, "heat": 30},
        {"cop": (2.5, 3, 3.5, 4, 5), "heat": (12, 18, 24, 30, 42)},
        lambda cop, heat: heat / cop,
        (
            Misconception(
                "multiplied",
                lambda cop, heat: heat * cop,
                "It looks as if you multiplied. A heat pump gives more heat than the electricity it uses.",
            ),
            Misconception(
                "the same", lambda cop, heat: float(heat), "That's a resistance heater, which gives one kWh for one."
            ),
            Misconception(
                "subtracted",
                lambda cop, heat: heat - cop,
                "It looks as if you subtracted the COP. It's how many times as much heat, not how much more.",
            ),
        ),
        "For each kWh of electricity it gives as many kWh of heat as its COP says.",
        "Electricity = heat ÷ COP.",
        "{heat:g} ÷ {cop:g} = {right} kWh.",
        again=Again(
            "A heat pump gives {kilowatts:g} kW of heat, day and night, and uses {told:g} kWh of electricity a day. "
            "What is its COP?",
            {"cop": (2.8, 3.2, 4.5), "heat": (12, 36, 48, 60, 72)},
            stated={"kilowatts": ("heat", 1 / 24)},
            worked="{kilowatts:g} × 24 ÷ {told:g} = {right}.",
            inverse=Inverse(
                "cop",
                "dimensionless",
                (
                    Misconception(
                        "upside down",
                        lambda told, heat, **_: told / heat,
                        "That's the wrong way round: a heat pump gives more heat than the electricity it uses.",
                    ),
                    Misconception(
                        "an hour's heat",
                        lambda told, heat, **_: heat / 24 / told,
                        "You compared the heat of an hour with the electricity of a day.",
                    ),
                    Misconception(
                        "subtracted",
                        lambda told, heat, **_: heat - told,
                        "That's how much more heat it gives. The COP is how many times as much.",
                    ),
                ),
                "How many kWh of heat does it give in a day?",
                "COP = heat ÷ electricity, both in kWh for the same time.",
            ),
        ),
    ),
    Question(
        "11.3",
        "11_heaters",
        "A heat pump is sold as {power:g} kW at [15 °C] and gives {cold:g} kW at [0 °C]. The pond is "
        "kept at [{pond:g} °C] and loses {loss:g} kW for each K it is warmer than the air. How many kW "
        "is it short at [0 °C]?",
        "kW",
        {"power": 6, "cold": 3.6, "loss": 0.25, "pond": 18},
        {"cold": (3.0, 3.3, 3.6, 3.9), "loss": (0.23, 0.25, 0.28)},
        lambda power, cold, loss, pond: loss * pond - cold,
        (
            Misconception(
                "the label",
                lambda power, cold, loss, pond: abs(loss * pond - power),
                "That uses the power on the label. In the cold a heat pump gives less.",
            ),
            Misconception(
                "label and its weather",
                lambda power, cold, loss, pond: abs(loss * (pond - 15) - power),
                "That's for a mild day at [15 °C].",
            ),
            Misconception(
                "the fade",
                lambda power, cold, loss, pond: power - cold,
                "That's how much less the heat pump gives. Compare what it still gives with what the pond loses.",
            ),
        ),
        "What does the pond lose at [0 °C], and what does the heat pump give then?",
        "Short = loss × (pond − 0) − output at [0 °C].",
        "{loss:g} × {pond:g} − {cold:g} = {right} kW.",
        tolerance=0.02,
        again=Again(
            "A smaller heat pump is sold as {power:g} kW at [15 °C] and gives {cold:g} kW at [0 °C]. "
            "The pond is kept at [{pond:g} °C] and loses {loss_watts:g} W for each K it is warmer "
            "than the air. How many kW is it short at [0 °C]?",
            {"power": (4, 4.5, 5), "cold": (2.2, 2.4, 2.7), "loss": (0.2, 0.22, 0.24), "pond": (18, 20, 22)},
            stated={"loss_watts": ("loss", 1000)},
        ),
    ),
    Question(
        "11.4",
        "11_heaters",
        "The same heat pump gives {power:g} kW at [15 °C] and {cold:g} kW at [0 °C], with a straight line in "
        "between. The pond is kept at [{pond:g} °C] and loses {loss:g} kW for each K it is warmer than the air. At "
        "what air temperature does the heat pump only just keep up?",
        "degC",
        {"power": 6, "cold": 3.6, "loss": 0.25, "pond": 18},
        {"cold": (3.0, 3.3, 3.6), "loss": (0.25, 0.28, 0.3)},
        lambda power, cold, loss, pond: _balance_point(power, cold, 15, loss, pond),
        (
            Misconception(
                "at the cold point", lambda power, cold, loss, pond: 0.0, "At [0 °C] it still can't keep up."
            ),
            Misconception(
                "at the label",
                lambda power, cold, loss, pond: 15.0,
                "At [15 °C] it gives far more than the pond loses.",
            ),
        ),
        "Write both as straight lines against the air temperature.",
        "loss × (pond − T) = cold + (power − cold)/15 × T; solve for T.",
        "({loss:g} × {pond:g} − {cold:g}) ÷ (({power:g} − {cold:g})/15 + {loss:g}) = [{right} °C].",
        tolerance=0.05,
        rounding="to a tenth of a degree",
        again=Again(
            "A smaller heat pump gives {power:g} kW at [15 °C] and {cold:g} kW at [0 °C], with a straight line in "
            "between. The pond is kept at [{pond:g} °C] and loses {loss_watts:g} W for each K it is warmer than the "
            "air. At what air temperature does the heat pump only just keep up?",
            {"power": (4, 4.5, 5), "cold": (2.2, 2.4, 2.7), "loss": (0.2, 0.22, 0.24), "pond": (18, 20, 22)},
            stated={"loss_watts": ("loss", 1000)},
        ),
    ),
)
