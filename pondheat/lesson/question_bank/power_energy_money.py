"""Questions of page 01, power energy money."""

from __future__ import annotations

from pondheat.lesson.question_bank.question import Again, Inverse, Misconception, Question, pence, steps

QUESTIONS = (
    Question(
        "1.1",
        "01_power_energy_money",
        "A {power:g} kW heater runs without a break for {hours:g} hours. How many kWh is that?",
        "kWh",
        {"power": 3, "hours": 8},
        {"power": steps(1, 6, 0.5), "hours": (4, 5, 6, 7, 8, 9, 10, 12)},
        lambda power, hours: power * hours,
        (
            Misconception(
                "divided",
                lambda power, hours: power / hours,
                "It looks as if you divided. Every hour adds the same again, so the total must grow with the hours.",
            ),
            Misconception(
                "added",
                lambda power, hours: power + hours,
                "It looks as if you added kilowatts and hours. They're different things: one says how fast, the "
                "other how long.",
            ),
            Misconception(
                "watts",
                lambda power, hours: 1000 * power * hours,
                "That's in watt-hours. A thousand of them make one kWh.",
            ),
        ),
        "A kilowatt says how fast heat is given. How long does it go on?",
        "Energy is power times time: kW × h = kWh.",
        "{power:g} kW × {hours:g} h = {right} kWh.",
        again=Again(
            "A heater of {watts:g} W in a fish house has used {told:g} kWh. For how many hours did it run?",
            {"power": (0.5, 0.8, 1.5, 1.8, 2.6), "hours": (3, 7, 11, 14, 20)},
            stated={"watts": ("power", 1000)},
            worked="{watts:g} W = {power:g} kW; {told:g} ÷ {power:g} = {right} h.",
            inverse=Inverse(
                "hours",
                "hour",
                (
                    Misconception(
                        "multiplied",
                        lambda told, power, **_: told * power,
                        "It looks as if you multiplied. A weaker heater must take longer for the same kWh, not less.",
                    ),
                    Misconception(
                        "upside down",
                        lambda told, power, **_: power / told,
                        "That's the wrong way round: how many times do the kilowatts go into the kilowatt-hours?",
                    ),
                    Misconception(
                        "watts as kilowatts",
                        lambda told, power, **_: told / (1000 * power),
                        "You divided by watts. A thousand of them make one kilowatt.",
                    ),
                    Misconception(
                        "subtracted",
                        lambda told, power, **_: told - power,
                        "It looks as if you subtracted kilowatts from kilowatt-hours. They're different things: one "
                        "says how fast, the other how much.",
                    ),
                ),
                "How many kWh does it use in an hour?",
                "Hours = kWh ÷ kW.",
            ),
        ),
    ),
    Question(
        "1.1b",
        "01_power_energy_money",
        "A {power:g} kW heater is on for {share:g} % of a whole day. How many kWh is that?",
        "kWh",
        {"power": 3, "share": 40},
        {"power": steps(1, 6, 0.5), "share": (20, 25, 30, 40, 60, 70)},
        lambda power, share: power * 24 * share / 100,
        (
            Misconception(
                "all day",
                lambda power, share: power * 24,
                "That's for the whole day. The thermostat lets the heater run for only part of it.",
            ),
            Misconception(
                "forgot the hours",
                lambda power, share: power * share / 100,
                "That's the average power in kW. It keeps that up for 24 hours.",
            ),
        ),
        "How many hours of the day is the heater on?",
        "Hours on = 24 h × share. Then kW × h.",
        "24 h × {share:g} % × {power:g} kW = {right} kWh.",
        again=Again(
            "A tank's heater takes {watts:g} W while it's on. In a whole day it used {told:g} kWh. For what share of "
            "the day was it on?",
            {"power": (0.8, 1.2, 1.8, 2.4), "share": (15, 35, 45, 55, 75)},
            stated={"watts": ("power", 1000)},
            worked="{watts:g} W = {power:g} kW; 100 × {told:g} ÷ (24 × {power:g}) = {right} %.",
            inverse=Inverse(
                "share",
                "percent",
                (
                    Misconception(
                        "hours",
                        lambda told, power, **_: told / power,
                        "That's how many hours it was on. What share of a whole day is that?",
                    ),
                    Misconception(
                        "fraction",
                        lambda told, power, **_: told / (24 * power),
                        "That's the share as a fraction. As a percentage it's a hundred times that.",
                    ),
                    Misconception(
                        "any heater",
                        lambda told, power, **_: 100 * told / 24,
                        "That leaves the heater out. The more powerful it is, the less of the day it needs.",
                    ),
                    Misconception(
                        "the time it was off",
                        lambda told, power, **_: 100 - 100 * told / (24 * power),
                        "That's the share of the day it was off.",
                    ),
                ),
                "How many kWh would it use if it never stopped?",
                "Share = kWh used ÷ (24 h × kW).",
            ),
        ),
    ),
    Question(
        "1.2",
        "01_power_energy_money",
        "A {power:g} kW heater ran for {hours:g} hours. A kWh costs {price:g} {h}. What did it cost?",
        "money",
        {"power": 3, "hours": 8, "price": 28},
        {"power": (2, 2.5, 3, 4), "hours": (5, 6, 8, 9), "price": (21, 23, 26, 28, 29, 31, 34)},
        lambda power, hours, price: power * hours * pence(price),
        (
            Misconception(
                "hundredths",
                lambda power, hours, price: power * hours * price,
                "That's in pence or cents. Divide by a hundred.",
            ),
            Misconception(
                "power for energy",
                lambda power, hours, price: power * pence(price),
                "It looks as if you priced the kW. The bill counts kWh, so multiply by the hours first.",
            ),
            Misconception(
                "hours twice",
                lambda power, hours, price: power * hours * hours * pence(price),
                "The hours went in twice. They're already in the kWh.",
            ),
        ),
        "The price is for one kWh. How many did it use?",
        "kWh = kW × h. Multiply by the price of one, then divide the pence or cents by 100.",
        "{power:g} kW × {hours:g} h × {price:g} {h} = {right}.",
        2,
        rounding="to two decimal places",
        again=Again(
            "In a week of frost a heater of {watts:g} W ran for {hours:g} hours. A kWh costs {price:g} "
            "{h}. What did it cost?",
            {"power": (0.8, 1.2, 1.5, 1.8), "hours": (14, 26, 35, 50), "price": (19, 24, 27, 32)},
            stated={"watts": ("power", 1000)},
            worked="{watts:g} W = {power:g} kW; × {hours:g} h × {price:g} {h} = {right}.",
        ),
    ),
    Question(
        "1.3",
        "01_power_energy_money",
        "A {power:g} W pump runs day and night for a year of 365 days. A kWh costs {price:g} {h}. What does the "
        "year cost?",
        "money",
        {"power": 100, "price": 28},
        {"power": (40, 50, 60, 75, 90, 120, 150), "price": (21, 25, 28, 30, 33)},
        lambda power, price: power / 1000 * 8760 * pence(price),
        (
            Misconception(
                "one day", lambda power, price: power / 1000 * 24 * pence(price), "That's the cost of one day."
            ),
            Misconception(
                "watts as kilowatts",
                lambda power, price: power * 8760 * pence(price),
                "You treated watts as kilowatts. A thousand watts make one kilowatt.",
            ),
        ),
        "Start with the kWh for a whole year.",
        "W ÷ 1000 = kW; × 24 × 365 hours; × price.",
        "{power:g} W = {power:g}/1000 kW; × 8760 h × {price:g} {h} = {right}.",
        2,
        again=Again(
            "Two air pumps run day and night for a year of 365 days. A kWh costs {price:g} {h}, and the year costs "
            "{sign}{told:.2f} for both. How many watts do they take together?",
            {"power": (36, 56, 70, 90, 110, 130), "price": (19, 24, 27, 32)},
            worked="{told:.2f} × 100 ÷ {price:g} ÷ 8760 × 1000 = {right} W.",
            inverse=Inverse(
                "power",
                "W",
                (
                    Misconception(
                        "kilowatts",
                        lambda told, price, **_: told / pence(price) / 8760,
                        "That's in kilowatts. How many watts is it?",
                    ),
                    Misconception(
                        "two kinds of money",
                        lambda told, price, **_: told / price / 8760 * 1000,
                        "The bill and the price are in different money. Turn one into the other first.",
                    ),
                    Misconception(
                        "the year's energy",
                        lambda told, price, **_: told / pence(price),
                        "That's how many kWh the money buys. Over how many hours were they used?",
                    ),
                    Misconception(
                        "one day",
                        lambda told, price, **_: told / pence(price) / 24 * 1000,
                        "You divided by the hours of one day. The bill is for a whole year.",
                    ),
                    Misconception(
                        "each pump",
                        lambda told, price, **_: told / pence(price) / 8760 * 1000 / 2,
                        "That's one of the two pumps. The question asks for both together.",
                    ),
                ),
                "How many kWh does the money buy?",
                "kWh = money ÷ price of one; ÷ (24 × 365) hours = kW; × 1000 = W.",
            ),
        ),
    ),
)
