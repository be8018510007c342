"""Question sheets for people without a computer: guesses, reasons, and the core's exercises with room to calculate.

They print the numbers that the pages print, so that one key serves both. A calculator with four functions is enough.
"""

from __future__ import annotations

from pathlib import Path

from pondheat.core import units
from pondheat.core.display_units import METRIC, DisplayUnits
from pondheat.fish import cautions
from pondheat.lesson import questions
from pondheat.lesson.marking import Exercise
from pondheat.lesson.question_bank.question import EXAMPLE_SEED
from pondheat.lesson.reasons import of_page
from pondheat.tutor.guesses import guess_of
from pondheat.tutor.papers import lettered, paper
from pondheat.tutor.routes import ROUTES, core_keys, pages_of, title_of

POINTS = 13  # pt: larger than the other papers, as the sheets are written on
OWN_POND_PAGE = "16"
OWN_POND = (
    "Length, m",
    "Width, m",
    "Mean depth, m",
    "Surface = length × width, m²",
    "Volume = surface × depth, m³",
    "Temperature I want, °C",
    "Hours a day under a cover",
    "Price of a kWh, {sign} (28 {hundredth} is {sign}0.28)",
    "kWh for each m² from the handout at my temperature, open",
    "The same, covered",
    "Open: surface × kWh × price",
    "Covered as long as on the handout: surface × kWh × price",
    "The difference between the two",
    "My hours ÷ the handout's hours (1, if mine are more)",
    "That × the difference: what my cover might save",
    "Price of the cover ÷ that saving = winters",
    "Warming the water by {degree}, once: volume × {heat} kWh × price",
)


def question_sheets(route: str, currency: units.Currency = units.GBP, usual: DisplayUnits = METRIC) -> str:
    """The question sheets of one route as an HTML file.

    route: a key of ROUTES; currency: of the exercises; usual: units shown after °C and m³, and the currency of the
    guesses. Raises KeyError for an unknown route.
    """
    return paper(
        "question_sheets.html",
        f"Question sheets: {ROUTES[route][0].lower()}",
        points=POINTS,
        display=usual,
        pages=[_page(path, currency, usual) for path in pages_of(route)],
        standing=cautions.STANDING,
    )


def _page(path: Path, currency: units.Currency, usual: DisplayUnits) -> dict[str, object]:
    """What the core of one page of the workbook asks."""
    example = None
    for key in core_keys(path, "worked_example"):
        question = questions.BANK[key]
        numbers = question.numbers(EXAMPLE_SEED)
        example = {
            "asked": questions.asked(question, numbers, currency, usual),
            "step": question.step_template,
            "worked": questions.worked(question, numbers, currency, usual),
        }
    guess = guess_of(path.stem, usual)
    return {
        "number": path.stem[:2],
        "title": title_of(path),
        "guess": guess and {"ask": guess.question, "choices": lettered(guess.options).values()},
        "example": example,
        "reasons": [{"ask": one.ask, "choices": lettered(one.choices).values()} for one in of_page(path.stem)],
        "questions": [{"key": key, "text": Exercise(key, currency, usual).text()} for key in core_keys(path)],
        "own_pond": _own_pond(currency, usual) if path.stem.startswith(OWN_POND_PAGE) else None,
    }


def _own_pond(currency: units.Currency, usual: DisplayUnits) -> list[tuple[str, str]]:
    """Rows of the sheet for a learner's own pond. The price is asked in whole money, as the bill is multiplied out."""
    said = {
        "sign": currency.sign,
        "hundredth": currency.hundredth,
        "heat": f"{questions.HEAT_OF_WATER:g}",
        "degree": usual.quantity("1", "delta_degC", "°C"),
    }
    return [(label.format(**said), "") for label in OWN_POND]
