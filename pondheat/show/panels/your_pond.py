"""Your own pond: four steps of questions, the pond's picture, and an answer that gets sharper with every value."""

from __future__ import annotations

import functools
import time
from collections.abc import Callable, Mapping, Set
from pathlib import Path

import ipywidgets

from pondheat.analysis import assessment
from pondheat.analysis.scenarios import what_if
from pondheat.core import display_units
from pondheat.core.files import DECISION_SHEET, write_atomically
from pondheat.season import ensemble
from pondheat.season.weather.record import WeatherError
from pondheat.sheet import pond_form
from pondheat.sheet import pond_sheet as sheets
from pondheat.sheet.pond_form import OWN
from pondheat.show import tables
from pondheat.show.controls import Switch, alert
from pondheat.show.live_range import LiveRange
from pondheat.show.panels import STYLE
from pondheat.show.panels.background_task import BackgroundTask
from pondheat.show.panels.own_readings import options_of
from pondheat.show.panels.power_cut import PowerFails
from pondheat.show.panels.sheet_file import SHEET, SheetFile
from pondheat.show.panels.your_pond_files import OwnMeter, OwnWeather, days_of
from pondheat.show.panels.your_pond_form import TO_MEND, Form, errors_by_question, folded
from pondheat.show.panels.your_pond_picture import SeasonHours, picture_html
from pondheat.show.panels.your_pond_result import (
    OPENS,
    REPORT,
    answer_html,
    cautions_html,
    choice_ranges,
    headline_html,
    result_html,
    sure_html,
)
from pondheat.show.panels.your_pond_town import TownWeather
from pondheat.show.report.decision_sheet import report
from pondheat.text.best_choice import NOTHING_TO_BUY, UNHEATED
from pondheat.text.pond_answer import pond_answer

KEPT = f"Saved in {SHEET} beside this page."
CHANGED = f"{SHEET} was changed elsewhere in the meantime; that version is kept, and shown here."
NO_WEATHER = "There is no weather of your own yet: give it below, or choose a place."
WHERE = " The form asks for both under “more about your pond”."
SHARES = (0.1, 0.5, 0.9)  # of the work that is done after the season, after its likely range, and after the choices
QUIET = 0.3  # s without a new answer before work begins
EARLIER = " The answer shown is for your earlier values."
SIZE = ("length", "width", "depth")
STYLES = (Path(__file__).parent / "your_pond.css").read_text(encoding="utf-8")


class YourPond(BackgroundTask):
    """The form, its saved sheet, the answer and what is folded below; folder: of the reader's files."""

    NOTHING = "The answer appears here and gets sharper with every value you give."
    CANCELLED = "Cancelled. Your answers are still here; give another to carry on."
    DOING = "Working out"
    PATIENCE = 1.0
    KEEPS_RESULT = True

    def __init__(self, folder: Path | None = None):
        self.folder = Path.cwd() if folder is None else folder
        self.sheet_file = SheetFile(self.folder, display_units.load(self.folder).currency)
        self.source = self.sheet_file.own_source()
        self.message, self.saved, self.picture = (ipywidgets.HTML() for _ in range(3))
        self.headline, self.answer, self.sure = (ipywidgets.HTML() for _ in range(3))
        self.form = Form(*self.sheet_file.answers(), self.sheet_file.currency, self._answered)
        self.weather, self.meter = OwnWeather(self.folder, self._own_weather), OwnMeter(self.folder, self._sharpen)
        self.town = TownWeather(self.folder, self._fetched)
        self.form.steps.boxes[-1].children += (self.town,)
        self._found: assessment.Assessment | None = None
        self._furthest = len(pond_form.GROUPS) if self.sheet_file.text else 0
        self.form.steps.trail.observe(lambda change: self._opened(change["new"]), "at")
        self.undo, self.again = self._button("Undo", self._undo), self._button("Start again", self._start_again)
        self._earlier: list[tuple[dict[str, str], set[str]]] = []
        self._last = self._state()
        self.choices_likely, self.hours = LiveRange(), SeasonHours()
        self.power_cut = ipywidgets.VBox([ipywidgets.HTML('<p class="ph-kept">Nothing has been worked out yet.</p>')])
        self._table: what_if.ScenarioTable | None = None
        super().__init__([])
        self.children = self._arranged()
        self._show_messages(self.sheet_file.message)
        self._draw()
        if (self.folder / REPORT).exists() and self.sheet_file.text:
            self.saved.value = f'<p class="ph-kept">Your last decision sheet: {OPENS}open it and print it</a>.</p>'

    def _arranged(self) -> tuple[ipywidgets.Widget, ...]:
        """All parts in their order: steps and questions beside picture and answer, then what is folded."""
        buttons = ipywidgets.HBox([self.undo, self.again]).add_class("ph-buttons")
        left = [self.form, buttons, self.saved, self.progress_line, self.cancel]
        right = [self.headline.add_class("ph-stays"), self.answer, self.picture, self.sure]
        sure = Switch("Show how sure each choice is")
        sure.observe(lambda change: self._follow_choices(change["new"]), "value")
        self.sure_of_choices = sure
        self.files = folded("Show weather of your own", self.weather.add_class("ph-more"))
        return (
            ipywidgets.HTML(f"<style>{STYLE}{tables.STYLES}{STYLES}</style>"),
            self.message,
            self.form.steps.trail,
            ipywidgets.Box(
                [ipywidgets.VBox(left).add_class("ph-left"), ipywidgets.VBox(right).add_class("ph-right")]
            ).add_class("ph-pair"),
            self.result,
            sure,
            self.choices_likely,
            self.hours,
            *folded("Show what happens if the power fails", self.power_cut),
            *folded("Show more about your pond (filled in with defaults)", self.form.more),
            *self.files,
            *folded("Show your meter's log, if you have one", self.meter.add_class("ph-more")),
        )

    @staticmethod
    def _button(label: str, pressed: Callable[[], None]) -> ipywidgets.Button:
        made = ipywidgets.Button(description=label, layout=ipywidgets.Layout(width="auto"))
        made.on_click(lambda _: pressed())
        return made

    # --- answers and their file

    def _state(self) -> tuple[dict[str, str], set[str]]:
        return self.form.answers(), set(self.form.untouched)

    def _answered(self, key: str) -> None:
        """Save an answer, without losing changes made to the file elsewhere, and work out what it means."""
        if key in ("place", "latitude", "longitude") and self._place_is_own() and self.source:
            self.form.set_defaults(days_of(self.folder, self.source, self.form.answers()))
        mine = self.form.fields[key].value
        message = self._reload()
        self.form.put({key: mine or ""}, self.form.untouched - {key})
        if self._state() != self._last:  # the same answer, given again, leaves nothing to undo
            self._earlier.append(self._last)
        self._write(message)
        if self._place_is_own() and self.source is None:
            self.files[0].value = True
        self._sharpen()

    def _write(self, message: str = "") -> None:
        """Write the form's answers into the sheet, and show the messages about them."""
        self._last = self._state()
        try:
            self.sheet_file.write(*self._last, self.source)
        except (OSError, ValueError) as error:
            self.saved.value = alert(f"Not saved: {' '.join(str(error).split())}")
        else:
            self.saved.value = f'<p class="ph-kept">{KEPT}</p>'
        self._show_messages(message)

    def _undo(self) -> None:
        """Go back to the answers before the last one."""
        if self._earlier:
            self._put(*self._earlier.pop())

    def _start_again(self) -> None:
        """Go back to the defaults, after copying the sheet aside."""
        try:
            copy = self.sheet_file.keep_copy()
        except OSError as error:
            self.saved.value = alert(f"Nothing was changed: {' '.join(str(error).split())}")
            return
        self._earlier.append(self._last)
        defaults = {key: question.start for key, question in self.form.questions.items()}
        self._put(defaults, {key for key, start in defaults.items() if start})
        if copy:
            self.saved.value = f'<p class="ph-kept">{KEPT} Your earlier answers are in {copy}.</p>'

    def _put(self, answers: Mapping[str, str], untouched: Set[str]) -> None:
        self.form.put(answers, untouched)
        self._write()
        self._sharpen()

    def _reload(self) -> str:
        """Load the file if it was changed elsewhere; returns a message saying so."""
        if not self.sheet_file.reload():
            return self.sheet_file.message
        self.source = self.sheet_file.own_source() or self.source
        self.form.put(*self.sheet_file.answers())
        self._last = self._state()
        return CHANGED

    def _place_is_own(self) -> bool:
        return self.form.answers()["place"] == OWN

    def _show_messages(self, message: str) -> None:
        """Show a message under each answer, and above the form those about the whole file."""
        errors, others = errors_by_question(self.sheet_file.text, self.folder) if self.sheet_file.text else ({}, [])
        if self.form.missing():  # what is still missing is no error
            errors = {
                key: sentence
                for key, sentence in errors.items()
                if self.form.questions[key].group != "pond" and key != "insulation"
            }
        self.form.show_messages(errors)
        self.undo.disabled = not self._earlier
        self.town.show(self.form.answers())
        if self._place_is_own() and "place" not in errors:
            place = self.form.fields["place"]
            place.says = f"{TO_MEND}{NO_WEATHER}" if self.source is None else f"Weather: {self.source}, as you gave it."
            place.invalid = self.source is None
        messages = [message] * bool(message) + [f"In {SHEET}, {other}" for other in others]
        self.message.value = alert(" ".join(messages)) if messages else ""

    def _fetched(self) -> None:
        """Use weather that was fetched."""
        self.town.show(self.form.answers())
        self._sharpen()

    def _own_weather(self, source: str) -> None:
        """Use the reader's own weather from now on."""
        self.source = source
        self.form.fields["place"].value = OWN
        self.form.fields["place"].turn += 1

    # --- the picture

    def _opened(self, step: int) -> None:
        self._furthest = max(self._furthest, step)
        self._draw()

    def _draw(self) -> None:
        """Draw the pond as far as the steps have gone; the last picture stays if an answer can't be drawn."""
        drawn = picture_html(self.form.answers(), self._furthest, self._found)
        self.picture.value = drawn or self.picture.value

    # --- results

    def _sharpen(self) -> None:
        """Work out the answer again, as something it depends on has changed."""
        self._draw()
        self.work_out()

    def work_out(self) -> None:
        """Work out the answer in the background: first without, then with its likely range, then everything else."""
        self.stop("")
        self.choices_likely.drop()
        if self.sheet_file.text and (message := self._reload()):
            self._show_messages(message)
        missing = self.form.missing()
        if not missing and self._place_is_own() and self.source is None:
            self.say(f"{NO_WEATHER} The place for it is under “Show weather of your own”.{self._earlier_text()}")
            return
        if missing:
            self.say(f"Still needed: {'; '.join(missing).lower()}.{self._earlier_text()}")
            return
        try:
            options = options_of(self.meter.more.value)
            text = self.sheet_file.text or self.sheet_file.preview(*self._state(), self.source)
            if self.sheet_file.message:
                raise sheets.SheetError([sheets.SheetFault(SHEET, "", self.sheet_file.message)], SHEET)
            sheet = sheets.from_text(text, self.folder)
        except (OSError, ValueError) as error:
            self.show_error(error)
            return
        self.start("your pond", functools.partial(self._results, sheet, options))

    def _results(self, sheet: sheets.Sheet, options: dict, progress: Callable[[float], None]) -> tuple[str, str]:
        """The work in the background; every stage shows what it has found."""
        time.sleep(QUIET)
        progress(0.0)
        ensemble.warm_up_aside()
        record = assessment.weather_of(sheet)
        found = assessment.assess(sheet, record, scenarios=0)
        few = (*NOTHING_TO_BUY, UNHEATED)
        free = what_if.what_if(sheet, record, few, progress=lambda done: progress(SHARES[0] * done))
        fitted = self.meter.learned(sheet, options)
        self._show(found, free, pending=True)
        found = assessment.assess(
            sheet,
            record,
            progress=lambda done: progress(SHARES[0] + (SHARES[1] - SHARES[0]) * done),
            fitted=fitted,
        )
        self._show(found, free)
        if not self.sheet_file.text:  # an example so far: nothing is written for it
            return "", cautions_html(found)
        table = what_if.what_if(
            sheet, record, progress=lambda done: progress(SHARES[1] + (SHARES[2] - SHARES[1]) * done)
        )
        power_cut = PowerFails(sheet, record)
        cuts = [power_cut.found[covered] for covered in (True, False) if covered in power_cut.found]
        progress(1.0)
        made = report(sheet, found, what_if=table, power_cut=cuts, usual=display_units.load(self.folder))
        write_atomically(self.folder / REPORT, made.encode("utf-8"), DECISION_SHEET)
        progress(1.0)
        self.power_cut.children = (power_cut,)
        self._table = table
        self._follow_choices(self.sure_of_choices.value)
        self.hours.follow(found)
        self._show(found, table)
        self.saved.value = f'<p class="ph-kept">{KEPT}</p>'
        return "", result_html(found, table, pond_answer(found, table))

    def _show(self, found: assessment.Assessment, table: what_if.ScenarioTable, pending: bool = False) -> None:
        """Show an answer and the picture that belongs to it."""
        self._found = found
        told = pond_answer(found, table)
        self.headline.value = headline_html(told, self._example())
        self.answer.value, self.sure.value = answer_html(told), sure_html(told, pending)
        if not self.result.value:  # no answer without the cautions, however early
            self.result.value = cautions_html(found)
        self._draw()

    def _example(self) -> str:
        """Which sizes the answer still takes from defaults; empty once they are given."""
        sizes = [key for key in SIZE if key in self.form.untouched]
        if not sizes:
            return ""
        return f"An example so far, with defaults for {' and '.join(sizes) if len(sizes) < 3 else 'the size'}."

    def _follow_choices(self, wanted: bool) -> None:
        """Work out how sure each choice is, if the reader asks for it."""
        if wanted and self._table is not None:
            self.choices_likely.follow(functools.partial(choice_ranges, self._table))
        else:
            self.choices_likely.drop()

    def show_error(self, error: Exception) -> None:
        """Show an error in the progress line, without the name of the work."""
        self.name = ""
        super().show_error(error)

    def error_text(self, error: Exception) -> str:
        """The message of an error; errors of the sheet are named by the form's labels where it has them."""
        if isinstance(error, WeatherError):
            return f"The weather cannot be used: {error}{WHERE if 'latitude' in str(error) else ''}"
        if not isinstance(error, sheets.SheetError):
            return super().error_text(error)
        self._show_messages(self.sheet_file.message)
        errors, others = errors_by_question(self.sheet_file.text, self.folder)
        messages = [f"{self.form.questions[key].label}: {sentence}" for key, sentence in errors.items()] + others
        return f"{' '.join(messages) or error}{self._earlier_text()}"

    def _earlier_text(self) -> str:
        """A sentence saying that the answer on the page is an earlier one, if there is one."""
        return EARLIER if self.headline.value else ""

    def _repr_mimebundle_(self, **kwargs):
        self._sharpen()
        return super()._repr_mimebundle_(**kwargs)


def panel() -> YourPond:
    """The panel of this page."""
    return YourPond()
