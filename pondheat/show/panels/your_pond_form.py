"""The form of a pond: questions in four steps, each with how its answer was understood or what is wrong with it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Set
from pathlib import Path

import ipywidgets
import traitlets

from pondheat.core import display_units, units
from pondheat.sheet import form_sheet, pond_form, pond_sheet
from pondheat.sheet.pond_form import BY_HAND, GROUPS, LONGEST, OWN, FormQuestion
from pondheat.sheet.usual_units import with_usual_unit
from pondheat.show.controls import Choice, Switch, Text
from pondheat.show.panels.your_pond_steps import Steps

START_VALUES = "Grey values are defaults. Change any you know better; if one is right, press Enter in it, or click it."
TO_MEND = "Please look again. "
TAKEN = "Taken as "
STEPS = ("pond", "heat", "cover", "bill")
MORE = {  # the questions under “more about your pond”: first what the answer waits for
    "Prices": ("machine_price", "standing"),
    "The cover": ("u_value", "gap", "life"),
    "Walls and floor": ("insulation", "base"),
    "Sky and shade": ("sky_view", "shade"),
    "Pump, filter and new water": ("pump", "filter_air", "air_pump", "change"),
    "Place, season and name": ("latitude", "longitude", "timezone", "start", "end", "name"),
}


class Line(Text):
    """A one-line answer, given by leaving the line or pressing Enter."""

    def __init__(self, question: FormQuestion, value: str, currency: units.Currency):
        self.question, self._currency = question, currency
        self.bare = False  # whether we supplied the unit of its value
        super().__init__(question.label, "", value)

    def _take(self, message: dict) -> str:
        typed = message.get("typed")
        if not isinstance(typed, str) or len(typed) > LONGEST:
            self.invalid = True
            return f"{TO_MEND}That is too long: the limit is {LONGEST} characters. It stays at: {self.shown()}."
        self.value = with_usual_unit(self.question.key, typed, self._currency, display_units.load())
        self.bare = self.value != typed
        self.turn += 1
        return self.says


class Pick(Choice):
    """One of a few answers, given by choosing it, even if it was chosen already."""

    turn = traitlets.Int(0)

    def __init__(self, question: FormQuestion, value: str, currency: units.Currency):
        self.question = question
        choices = dict(question.choices or {}) | ({BY_HAND: BY_HAND} if value == BY_HAND else {})
        super().__init__(question.label, choices, value if value in choices else None)

    def _take(self, message: dict) -> str:
        refused = super()._take(message)
        if refused:
            return refused
        self.turn += 1
        return self.says


class Form(ipywidgets.VBox):
    """All questions of the form.

    answers: by key; untouched: keys of those that are defaults; given: called with a key after each answer.
    """

    def __init__(
        self, answers: Mapping[str, str], untouched: Set[str], currency: units.Currency, given: Callable[[str], None]
    ):
        self.currency, self.untouched, self._given = currency, set(untouched), given
        self.questions = pond_form.questions(currency)
        self.fields = {
            key: (Line if question.choices is None else Pick)(question, answers[key], currency)
            for key, question in self.questions.items()
        }
        for key, field in self.fields.items():
            field.observe(lambda _, key=key: self._answered(key), "turn")
        for key in ("length", "width"):
            self.fields[key].add_class("ph-half")
        self.steps = Steps([(GROUPS[group], ipywidgets.VBox(self._of(group))) for group in STEPS])
        self._topics = [
            ipywidgets.VBox([ipywidgets.HTML(f"<h2>{topic}</h2>"), *(self.fields[key] for key in keys)])
            for topic, keys in MORE.items()
        ]
        self.more = ipywidgets.VBox(self._topics).add_class("ph-more").add_class("ph-more-groups")
        about = ipywidgets.HTML(f'<p class="ph-kept ph-about">{START_VALUES}</p>')
        super().__init__([about, self.steps])
        self.show_messages({})

    def _of(self, group: str) -> list[Line | Pick]:
        return [self.fields[key] for key, question in self.questions.items() if question.group == group]

    def answers(self) -> dict[str, str]:
        """All present answers, by key."""
        return {key: field.value or "" for key, field in self.fields.items()}

    def put(self, answers: Mapping[str, str], untouched: Set[str]) -> None:
        """Show other answers, without counting them as given by the reader."""
        self.untouched = set(untouched)
        for key, value in answers.items():
            field = self.fields[key]
            if isinstance(field, Line) or value in dict(field.options):
                field.value = value
            elif value == BY_HAND:
                field.options = [*field.options, [BY_HAND, BY_HAND]]
                field.value = BY_HAND

    def set_defaults(self, defaults: Mapping[str, str]) -> None:
        """Set new defaults of questions that are still at theirs."""
        for key in self.untouched & set(defaults):
            self.fields[key].value = defaults[key]

    def _answered(self, key: str) -> None:
        self.untouched.discard(key)
        answers = self.answers()
        others = (
            "u_value",
            "timezone",
            *(("start", "end") if key in ("place", "town") and answers["place"] != OWN else ()),
        )
        self.set_defaults({other: pond_form.start_value(self.questions[other], answers) for other in others})
        self._given(key)

    def missing(self) -> list[str]:
        """Labels of the required answers that are missing."""
        return [
            self.questions[key].label
            for key, value in self.answers().items()
            if self.questions[key].needed and not value.strip()
        ]

    def show_messages(self, errors: Mapping[str, str]) -> None:
        """Show under each answer its error, that it is a default, or how it was understood; hide irrelevant questions.

        errors: sentence by question.
        """
        answers = self.answers()
        for key, field in self.fields.items():
            asked = pond_form.is_asked(key, answers)
            field.says = self._message(key, answers[key], errors.get(key)) if asked else ""
            field.invalid = field.says.startswith(TO_MEND)
            field.assumed = key in self.untouched
            field.layout.display = "" if asked else "none"
        for topic, keys in zip(self._topics, MORE.values()):
            topic.layout.display = "" if any(pond_form.is_asked(key, answers) for key in keys) else "none"

    def _message(self, key: str, answer: str, error: str | None) -> str:
        if not answer and self.questions[key].needed and not error:
            return ""
        try:
            understood = pond_form.echo(self.questions[key], answer, self.currency)
        except ValueError as unreadable:
            return f"{TO_MEND}{unreadable}"
        if error:
            return f"{TO_MEND}{error}"
        if key in self.untouched or not (answer or key == "held"):
            return ""
        field = self.fields[key]
        return f"{TAKEN}{understood or answer}" if answer and isinstance(field, Line) and field.bare else understood


def errors_by_question(text: str, folder: Path) -> tuple[dict[str, str], list[str]]:
    """The errors of a sheet: one sentence for each question that can correct it, and those that no question can."""
    try:
        pond_sheet.from_text(text, folder)
    except pond_sheet.SheetError as errors:
        by_question: dict[str, str] = {}
        others = []
        for fault in errors.faults:
            key = form_sheet.question_of(fault.key)
            if re.fullmatch(r"wall.*\.area", fault.key) and {"length", "width", "depth"} & set(by_question):
                continue  # a consequence of an unreadable size
            if key is None:
                others.append(f"{fault.key}: {fault.sentence}")
            else:
                # the sentence about a missing value names keys of the sheet, which the form does not show
                empty = fault.given == "" and key in pond_form.FILLED
                by_question.setdefault(
                    key, pond_form.left_empty(pond_form.questions()[key]) if empty else fault.sentence
                )
        return by_question, others
    return {}, []


def folded(label: str, box: ipywidgets.VBox) -> tuple[Switch, ipywidgets.VBox]:
    """A switch that shows a box of controls, and that box."""
    switch = Switch(label)
    box.layout.display = "none"
    switch.observe(lambda change: setattr(box.layout, "display", "" if change["new"] else "none"), "value")
    return switch, box
