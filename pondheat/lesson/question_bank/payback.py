"""Questions of page 15, payback."""

from __future__ import annotations

from pondheat.lesson.question_bank.question import Again, Misconception, Question
from pondheat.money import payback

QUESTIONS = (
    Question(
        "15.1",
        "15_payback",
        "A cover costs {sign}{price:g} and saves {sign}{saving:g} each winter. After how many winters "
        "has it paid for itself?",
        "year",
        {"price": 180, "saving": 150},
        {"price": (120, 180, 240, 300, 420), "saving": (80, 110, 150, 200)},
        lambda price, saving: price / saving,
        (
            Misconception(
                "upside down",
                lambda price, saving: saving / price,
                "That's the wrong way round: a more expensive cover must take longer.",
            ),
            Misconception(
                "difference",
                lambda price, saving: float(price - saving),
                "That's how much is left to pay back after one winter.",
            ),
            Misconception(
                "the winter it falls in",
                lambda price, saving: float(-(-price // saving)),
                "That's which winter it happens in. Give the exact number: price ÷ saving.",
            ),
            Misconception(
                "per cent",
                lambda price, saving: 100 * price / saving,
                "Payback is a number of winters, not a percentage.",
            ),
        ),
        "How many times does one winter's saving go into the price?",
        "Winters = price ÷ saving.",
        "{price:g} ÷ {saving:g} = {right} winters.",
        word="winters",
        again=Again(
            "A cover costs {sign}{each:g} for each square metre of a 10 m² pond and saves "
            "{sign}{saving:g} each winter. After how many winters has it paid for itself?",
            {"price": (90, 150, 260, 340, 500), "saving": (60, 95, 130, 170)},
            stated={"each": ("price", 0.1)},
            worked="10 × {each:g} ÷ {saving:g} = {right} winters.",
        ),
        ideas=("payback",),
    ),
    Question(
        "15.2",
        "15_payback",
        "The cover costs {sign}{price:g} and saves {sign}{saving:g} at the end of each of {years:g} "
        "winters. Money earns {rate:g} % a year. What is left in today's money, after taking off the "
        "price?",
        "money",
        {"price": 180, "saving": 150, "years": 3, "rate": 5},
        {"price": (120, 180, 240), "saving": (110, 150, 200), "years": (3, 4, 5), "rate": (4, 5, 6, 8)},
        lambda price, saving, years, rate: float(payback.net_present_value(price, saving, years, rate / 100)),
        (
            Misconception(
                "no discount",
                lambda price, saving, years, rate: saving * years - price,
                "That counts later money as if it were today's. Each year further off, it's worth a little less.",
            ),
            Misconception(
                "forgot the price",
                lambda price, saving, years, rate: float(payback.present_value(saving, years, rate / 100)),
                "That's what the savings are worth. Take off the price.",
            ),
            Misconception(
                "all at the end",
                lambda price, saving, years, rate: saving * years / (1 + rate / 100) ** years - price,
                "That counts every saving as if it came at the end. But they come one winter at a time.",
            ),
            Misconception(
                "one winter",
                lambda price, saving, years, rate: saving / (1 + rate / 100) - price,
                "That's only the first winter.",
            ),
        ),
        "What is each winter's saving worth today?",
        "Divide the first by 1 + rate, the second by that twice, and so on; take off the price.",
        "{saving:g} × (1 − (1 + {rate:g} %)^−{years:g}) ÷ {rate:g} % − {price:g} = {right}.",
        2,
        again=Again(
            "A cover costs {sign}{each:g} for each square metre of a 10 m² pond and saves "
            "{sign}{saving:g} at the end of each of {years:g} winters. Money earns {rate:g} % a year."
            " What is left in today's money, after taking off the price?",
            {"price": (90, 150, 210), "saving": (95, 130, 170), "years": (4, 5, 6), "rate": (3, 7)},
            stated={"each": ("price", 0.1)},
        ),
        ideas=("payback",),
    ),
)
