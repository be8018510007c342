"""The final challenge: five decisions about an unseen pond, each marked by what the library works out for that pond.

The steps with choices are `ReasonQuestion`s, those with numbers are `Question`s, so the machinery of the pages marks
them. No answer is stored: every one follows from the invented pond, its season and its meter's record.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from pondheat.core import units
from pondheat.lesson.question_bank.question import Misconception, Question, pence
from pondheat.lesson.questions import BANK
from pondheat.lesson.reasons import REASONS, ReasonQuestion
from pondheat.lesson.unseen_pond import UnseenPond

NOTEBOOK = "16_your_pond"


def _page(topic: str) -> str:
    """The number of the page on a topic."""
    pages = [NOTEBOOK, *(one.notebook for one in BANK.values()), *(one.notebook for one in REASONS)]
    return next(page[:2] for page in pages if page[3:] == topic)


@dataclass(frozen=True)
class Step:
    """One decision: its key and title, the page that teaches it, and what it asks again.

    topic: of the page, which is the notebook's name without its number; ideas: keys of `lesson.ideas`; returns: keys of
    the bank's questions that come back in it.
    """

    key: str
    title: str
    topic: str
    ideas: tuple[str, ...]
    returns: tuple[str, ...] = ()

    @property
    def page(self) -> str:
        """The number of the page that teaches it, such as “05”."""
        return _page(self.topic)

    @property
    def back(self) -> str:
        """Where to look, as a sentence."""
        return f"Page {self.page} shows it."


STEPS = (
    Step("way", "Where the heat goes", "open_surface", ("evaporation",)),
    Step("trap", "The trap", "readings", ("hours covered", "same weather"), ("14.3b",)),
    Step("share", "What the cover saves", "two_spells", ("same weather", "fair line"), ("14.3", "14.4")),
    Step("cost", "What a season costs", "tariffs", ("surface", "degree-hours"), ("12.1",)),
    Step("pays", "Does the cover pay?", "payback", ("payback",), ("15.1", "15.2")),
)
_WAYS = {
    "evaporation": "by evaporation",
    "convection": "by convection, to the air",
    "sky": "by radiation to the sky",
    "walls": "through walls and floor",
}
_WAY_REPLIES = {
    "evaporation": "It's the largest on most ponds. But it needs wind and warm water, so look at the shelter and at "
    "the temperature that's kept.",
    "convection": "Air does carry heat away. But evaporation follows the same wind, and open water usually loses more "
    "by it.",
    "sky": "It's large where the air is calm and the sky wide open. But wind and warmth make evaporation overtake it.",
    "walls": "Walls matter where they're bare and the pond is small and deep. But compare U × area of the walls with "
    "the whole open surface.",
}
_TRAPS = {
    "milder": "The covered days were milder. Compare them with the open pond's use in the same weather.",
    "forgotten": "On one night the cover wasn't on. Leave that day out.",
    "blower": "Something else is on the meter. Take it off the open and the covered days.",
    "midnight": "Each reading covers halves of two nights. Leave out the days on which the cover changed.",
}
_TRAP_REPLIES = {
    "milder": "The weather often differs, and the fair line takes care of it. But work out the average difference of "
    "the open days and of the covered ones: here they're close.",
    "forgotten": "A cover is easily forgotten. But no single covered day here uses as much as an open one would; look "
    "at them all before you blame one.",
    "blower": "It happens on many meters. But the keeper's notes name what is on this one, and all of it warms the "
    "water.",
    "midnight": "Midnight is when many meters are read. But this one is read at noon, so each reading covers one whole "
    "night.",
}
_TRAP_TOPICS = {"milder": "two_spells", "forgotten": "two_spells", "blower": "two_spells", "midnight": "readings"}
_AT_MIDNIGHT = {  # where days of change look odd in other ways too
    "forgotten": "A cover is easily forgotten. But the odd days are all days on which it changed, so look at the hour "
    "of the reading.",
}
VERDICTS = {
    "sure": "Yes, almost certainly: even the low end of the range pays for it.",
    "likely": "Probably: the middle of the range pays for it, the low end doesn't.",
    "unlikely": "Probably not: only the high end of the range pays for it.",
    "no": "Almost certainly not: even the high end doesn't pay for it.",
}
_VERDICT_REPLIES = {
    "sure": "It would be a safe buy. But add up the low end of the saving, winter by winter in today's money, and "
    "compare the sum with the price.",
    "likely": "Many covers are like that. But work out price ÷ saving for all three savings, and compare each with the "
    "winters that the cover lasts.",
    "unlikely": "The price does look high beside one winter. But add up all the winters of its life, less the "
    "interest: once for the middle of the range, and once for the high end.",
    "no": "Against a single winter's saving it may look hopeless. But add up all the winters that it lasts, at the "
    "high end too.",
}


def way_question(pond: UnseenPond, step: Step = STEPS[0]) -> ReasonQuestion:
    """Which way most heat is lost from the open pond over the season; step: whose page the replies name."""
    right = max(pond.losses, key=pond.losses.__getitem__)
    ask = "Over a season without its cover, how does this pond lose most of its heat?"
    return choice_question(pond, step, ask, _WAYS, right, _WAY_REPLIES)


def trap_question(pond: UnseenPond) -> ReasonQuestion:
    """What is wrong with the record, and what to do about it."""
    trap = pond.record.trap
    replies = _TRAP_REPLIES | (_AT_MIDNIGHT if trap == "midnight" else {})
    replies = {key: f"{reply} Page {_page(_TRAP_TOPICS[key])} shows it." for key, reply in replies.items()}
    ask = "There's one trap in this record. What is it, and what do you do about it?"
    return choice_question(pond, STEPS[1], ask, _TRAPS, trap, replies)


def share_question(pond: UnseenPond) -> Question:
    """What share the cover saved on its days, compared with the open pond in the same weather."""
    record = pond.record
    base, slope = record.line()
    given = {
        "use": record.mean(True, "kwh"),
        "warmer": record.mean(True, "warmer"),
        "base": base,
        "slope": slope,
        "load": 24 * record.blower / 1000,
    }
    question = Question(
        f"challenge-{pond.number}-share",
        NOTEBOOK,
        "The open days follow a line: a day takes {base:g} kWh plus {slope:g} kWh for each degree that the water is "
        "warmer than the air. What share of the electricity did the cover save on its days, compared with the open "
        "pond in the same weather?",
        "percent",
        given,
        {},
        _share_saved,
        (),
        "Which covered days count? Average their use, and how much warmer the water was.",
        "1 − covered use ÷ what the line gives for that difference; anything that doesn't warm the water comes off "
        "both.",
        "1 − ({use:.1f} − {load:g}) ÷ ({base:g} + {slope:g} × {warmer:.1f} − {load:g}) = {right} %."
        if record.blower
        else "1 − {use:.1f} ÷ ({base:g} + {slope:g} × {warmer:.1f}) = {right} %.",
        tolerance=0.03,
        rounding="to a whole per cent",
    )
    return with_distinct(question, _share_misconceptions(pond))


def _share_saved(use: float, warmer: float, base: float, slope: float, load: float) -> float:
    return 100 * (1 - (use - load) / (base + slope * warmer - load))


def _share_misconceptions(pond: UnseenPond) -> tuple[Misconception, ...]:
    record, pump, back = pond.record, pond.sheet.pump_power, STEPS[2].back
    uncorrected = {"use": record.mean(True, "kwh", False), "warmer": record.mean(True, "warmer", False), "load": 0.0}
    return (
        Misconception(
            "trap left in",
            lambda **now: _share_saved(**{**now, **uncorrected}),
            "That's the right way, but the trap is still in it. Go back one step. Page "
            f"{_page(_TRAP_TOPICS[record.trap])} shows it.",
        ),
        Misconception(
            "other weather",
            lambda **now: 100 * (1 - now["use"] / record.mean(False, "kwh")),
            f"That compares the covered days with the open ones as they were. Was it equally cold on both? {back}",
        ),
        Misconception(
            "pump taken off",
            lambda **now: _share_saved(**{**now, "load": now["load"] + 24 * pump / 1000}),
            f"You took the pump off. It's under water and does part of the heater's work, so leave it in. {back}",
        ),
        Misconception(
            "per degree",
            lambda **now: (
                100 * (1 - now["use"] / now["warmer"] / (record.mean(False, "kwh") / record.mean(False, "warmer")))
            ),
            f"That compares per degree. An open pond loses heat even with no difference, so use the line. {back}",
        ),
        Misconception(
            "what is left",
            lambda **now: 100 - _share_saved(**now),
            f"That's the share still used. The saving is the rest. {back}",
        ),
    )


def cost_question(pond: UnseenPond) -> Question:
    """What the open season costs, from degree-hours, surface and prices."""
    area, hours = pond.sheet.pond.surface_area, pond.degree_hours
    cost = pond.open.cost
    assert cost is not None and pond.sheet.tariff is not None  # every sheet of the challenge has a tariff
    whole = float(cost.by_rate["kwh"].sum())
    windows = pond.sheet.tariff.windows
    high = pond.sheet.tariff.otherwise or cost.energy_money / whole  # a sheet with one rate alone gives it so
    low = windows[0].rate if windows else high
    cheap = cost.by_rate["kwh"].get(windows[0].name, 0.0) / whole if windows else 0.0
    given = {
        "area": area,
        "depth": round(pond.sheet.pond.volume / area, 2),
        "hours": float(round(hours, -2)),
        "each": float(f"{1000 * whole / area / hours:.3g}"),
        "share": float(round(100 * cheap)),
        "low": round(100 * low, 2),
        "high": round(100 * high, 2),
    }
    prices = (
        "{share:g} % of it is used in the cheap hours, at {low:g} {h} a kWh, the rest at {high:g} {h}."
        if low < high
        else "A kWh costs {high:g} {h} at any hour."
    )
    priced = "{share:g} % at {low:g} and the rest at {high:g} {h}" if low < high else "at {high:g} {h}"
    question = Question(
        f"challenge-{pond.number}-cost",
        NOTEBOOK,
        f"From {pond.assessed.first:%B} to {pond.assessed.last:%B} there are {{hours:,.0f}} degree-hours (K·h) below "
        "this pond's temperature. Open, it takes "
        f"{{each:g}} Wh for each degree-hour and square metre of surface. {prices} What does the open season cost?",
        "money",
        given,
        {},
        _season_cost,
        (),
        "How many square metres lose heat? Then the kWh of the season, then the price.",
        "Surface × Wh × degree-hours ÷ 1000 = kWh; each part of it × its own rate.",
        f"{{area:g}} × {{each:g}} × {{hours:g}} ÷ 1000 kWh; {priced}: {{right}}.",
        0,
        tolerance=0.03,
        rounding="to the nearest ten",
    )
    return with_distinct(question, _cost_misconceptions())


def _season_cost(area: float, depth: float, hours: float, each: float, share: float, low: float, high: float) -> float:
    return area * each * hours / 1000 * pence(share * low + (100 - share) * high) / 100


def _cost_misconceptions() -> tuple[Misconception, ...]:
    back, here = STEPS[3].back, {"surface": _page("open_surface"), "degree-hours": _page("weather")}
    return (
        Misconception(
            "volume",
            lambda **now: _season_cost(**{**now, "area": now["area"] * now["depth"]}),
            f"You used the volume. Heat is lost through the surface. Page {here['surface']} works with it.",
        ),
        Misconception(
            "one square metre",
            lambda **now: _season_cost(**{**now, "area": 1.0}),
            f"That's one square metre. How large is the surface? Page {here['surface']} works with it.",
        ),
        Misconception(
            "watt-hours",
            lambda **now: 1000 * _season_cost(**now),
            f"You used watt-hours as kilowatt-hours. A thousand of them make one. Page {_page('power_energy_money')} "
            "shows it.",
        ),
        Misconception(
            "degree-days",
            lambda **now: _season_cost(**now) / 24,
            f"You divided by 24. These are degree-hours already. Page {here['degree-hours']} shows both.",
        ),
        Misconception(
            "all at the day rate",
            lambda **now: _season_cost(**{**now, "share": 0.0}),
            f"That prices every kWh at the higher rate. Part of them is used in the cheap hours. {back}",
        ),
        Misconception(
            "mean of the rates",
            lambda **now: _season_cost(**{**now, "share": 50.0}),
            f"You averaged the two rates. But it doesn't use as much at one as at the other. {back}",
        ),
        Misconception("hundredths", lambda **now: 100 * _season_cost(**now), f"That's in pence or cents. {back}"),
    )


def pays_question(pond: UnseenPond, currency: units.Currency = units.GBP) -> ReasonQuestion:
    """Whether the cover pays, and how sure that is."""
    area, plan = pond.sheet.pond.surface_area, pond.sheet.cover_plan
    low, middle, high = (units.money(end, currency) for end in pond.saving)
    ask = (
        f"The cover, fitted, costs {units.money(pond.price / area, currency)} for each square metre of surface and "
        f"lasts {plan.life:g} winters. A winter saves about {middle}, likely between {low} and {high}. Money earns "
        f"{100 * pond.sheet.discount_rate:g} % a year. Does the cover pay, and how sure is that?"
    )
    return choice_question(pond, STEPS[4], ask, VERDICTS, pond.verdict, _VERDICT_REPLIES)


def choice_question(
    pond: UnseenPond, step: Step, ask: str, choices: Mapping[str, str], right: str, replies: Mapping[str, str]
) -> ReasonQuestion:
    """A question with choices about a pond; to each reply that names no page is added the one to go back to."""
    told = {
        key: reply if "Page " in reply else f"{reply} {step.back}" for key, reply in replies.items() if key != right
    }
    return ReasonQuestion(f"challenge-{pond.number}-{step.key}", NOTEBOOK, ask, choices, right, told)


def with_distinct(question: Question, roads: tuple[Misconception, ...]) -> Question:
    """The question with those misconceptions whose answers differ from the right one and from each other here."""
    for road in roads:
        wider = replace(question, misconceptions=(*question.misconceptions, road))
        if wider.answers_distinct(question.given):
            question = wider
    return question


def questions_of(pond: UnseenPond, currency: units.Currency = units.GBP) -> dict[str, ReasonQuestion | Question]:
    """The five questions about a pond, by the key of their step, in order."""
    return {
        "way": way_question(pond),
        "trap": trap_question(pond),
        "share": share_question(pond),
        "cost": cost_question(pond),
        "pays": pays_question(pond, currency),
    }
