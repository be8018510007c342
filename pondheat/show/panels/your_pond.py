"""Your own pond: a form that makes a pond sheet, and its season, choices, power cut and decision sheet."""

from __future__ import annotations

import functools
import html
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import ipywidgets

from pondheat.analysis import assessment
from pondheat.analysis.freezing import freezing_warning
from pondheat.analysis.scenarios import what_if
from pondheat.core import display_units, units
from pondheat.core.display_units import localise_finished, temperature
from pondheat.core.files import DECISION_SHEET
from pondheat.fish import cautions
from pondheat.front_door.copying import write_atomically
from pondheat.meter.reading import meter_file
from pondheat.money.emissions import emissions_text
from pondheat.season import ensemble
from pondheat.season.weather.record import WeatherError
from pondheat.sheet import pond_sheet as sheets
from pondheat.sheet.pond_form import OWN
from pondheat.show.choices_figure import choices
from pondheat.show.controls import alert, fold
from pondheat.show.live_range import LiveRange
from pondheat.show.panels.background_task import BackgroundTask
from pondheat.show.panels.own_readings import options_of
from pondheat.show.panels.power_cut import PowerFails
from pondheat.show.panels.sheet_file import SHEET, SheetFile
from pondheat.show.panels.your_pond_files import OwnMeter, OwnWeather, days_of
from pondheat.show.panels.your_pond_form import TO_MEND, Form, errors_by_question, folded
from pondheat.show.panels.your_pond_town import TownWeather
from pondheat.show.report.decision_sheet import report
from pondheat.text import answers, summary, what_if_text
from pondheat.text.uncertainty_text import measurement_text

REPORT = "my_pond_report.html"
KEPT = f"Kept in {SHEET} beside this page."
EARLIER = " What stands below is of your earlier answers: work it out once more."
CHANGED = f"{SHEET} was changed by another hand meanwhile; that is kept, and shown here."
OPENS = f'<a href="{REPORT}" target="_blank" rel="noopener">'
LEARNED = (
    "What is likely is of your pond as learned from its meter; all else is still of the sheet, and may lie outside "
    "of it."
)
NO_WEATHER = "Weather of your own is not there yet: give it below, or choose a place."
WHERE = " The form asks for both under “more about your pond”."
SHARES = (0.6, 0.95)  # of the work done after the season, and after the choices


class YourPond(BackgroundTask):
    """The form, its saved sheet and the results; folder: of the reader's files, by default the current one."""

    NOTHING = "Nothing worked out yet: fill in the first three lines, then press the button."
    CANCELLED = "Cancelled. Your answers are still here."
    DOING = "Working out"

    def __init__(self, folder: Path | None = None):
        self.folder = Path.cwd() if folder is None else folder
        self.sheet_file = SheetFile(self.folder, display_units.load(self.folder).currency)
        self.source = self.sheet_file.own_source()
        self.message, self.saved = ipywidgets.HTML(), ipywidgets.HTML()
        self.form = Form(*self.sheet_file.answers(), self.sheet_file.currency, self._answered)
        self.weather, self.meter = OwnWeather(self.folder, self._own_weather), OwnMeter(self.folder, self._mark_stale)
        self.town = TownWeather(self.folder, self._fetched)
        self.files = (
            *folded("Show weather of your own", self.weather.add_class("ph-more")),
            *folded("Show your meter's log, if you have one", self.meter.add_class("ph-more")),
        )
        self.choices_likely = LiveRange()
        self.go = ipywidgets.Button(description="Work it out", layout=ipywidgets.Layout(width="auto"))
        self.go.add_class("ph-go")
        self.go.on_click(lambda _: self.work_out())
        super().__init__([self.message, self.form, self.town, *self.files, self.saved, self.go])
        self._parts = self.children  # the power cut panel is added below once there is a sheet
        self._show_messages(self.sheet_file.message)
        if (self.folder / REPORT).exists() and self.sheet_file.text:
            self.saved.value = f'<p class="ph-kept">Your last decision sheet: {OPENS}open it, and print it</a>.</p>'

    # --- answers and their file

    def _answered(self, key: str) -> None:
        """Save an answer, without losing changes made to the file elsewhere."""
        if key in ("place", "latitude", "longitude") and self._place_is_own() and self.source:
            self.form.set_defaults(days_of(self.folder, self.source, self.form.answers()))
        mine = self.form.fields[key].value
        message = self._reload()
        self.form.put({key: mine or ""}, self.form.untouched - {key})
        try:
            self.sheet_file.write(self.form.answers(), self.form.untouched, self.source)
        except (OSError, ValueError) as error:
            self.saved.value = alert(f"Not kept: {' '.join(str(error).split())}")
        else:
            self._mark_stale()
        self._show_messages(message)
        if self._place_is_own() and self.source is None:
            self.files[0].value = True

    def _reload(self) -> str:
        """Load the file if it was changed elsewhere; returns the message about it."""
        if not self.sheet_file.reload():
            return self.sheet_file.message
        self.source = self.sheet_file.own_source() or self.source
        self.form.put(*self.sheet_file.answers())
        return CHANGED

    def _mark_stale(self) -> None:
        """Show that answers are saved, and that earlier results are out of date."""
        if self.sheet_file.text:
            self.saved.value = f'<p class="ph-kept">{KEPT}{EARLIER if self.result.value else ""}</p>'

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
        self.town.show(self.form.answers())
        if self._place_is_own() and "place" not in errors:
            self.form.fields["place"].says = (
                f"{TO_MEND}{NO_WEATHER}" if self.source is None else f"Weather: {self.source}, as you gave it."
            )
        messages = [message] * bool(message) + [f"In {SHEET}, {other}" for other in others]
        self.message.value = alert(" ".join(messages)) if messages else ""

    def _fetched(self) -> None:
        """Show that weather was fetched, and that earlier results are out of date."""
        self._mark_stale()
        self.town.show(self.form.answers())

    def _own_weather(self, source: str) -> None:
        """Use weather of the reader's own from now on."""
        self.source = source
        self.form.fields["place"].value = OWN
        self.form.fields["place"].turn += 1

    # --- results

    def work_out(self) -> None:
        """Read the sheet and calculate all results in the background."""
        self.stop("")
        self.choices_likely.drop()
        if message := self._reload():
            self._show_messages(message)
        missing = self.form.missing()
        if not missing and self._place_is_own() and self.source is None:
            self.say(f"{NO_WEATHER} It is asked under “Show weather of your own”.")
            return
        if missing:
            self.say(f"Still needed: {'; '.join(missing).lower()}. Type each with its unit, such as 4 m or 13 ft.")
            return
        try:
            options = options_of(self.meter.more.value)
            sheet = sheets.read(self.sheet_file.path)
        except (OSError, ValueError) as error:
            self.show_error(error)
            return
        log, days = self.meter.log(), self.meter.weather()

        def work(progress):
            ensemble.warm_up()
            record = assessment.weather_of(sheet)
            fitted = None
            if log is not None:
                made = meter_file.read(log, sheet.timezone, **options)
                fitted = assessment.learn(
                    sheet,
                    made.use,
                    assessment.weather_of(replace(sheet, weather=days)) if days else None,
                    repairs=made.repairs,
                )
            found = assessment.assess(sheet, record, progress=lambda done: progress(SHARES[0] * done), fitted=fitted)
            table = what_if.what_if(
                sheet, record, progress=lambda done: progress(SHARES[0] + (SHARES[1] - SHARES[0]) * done)
            )
            power_cut = PowerFails(sheet, record)
            cuts = [power_cut.found[covered] for covered in (True, False) if covered in power_cut.found]
            progress(1.0)
            decision_sheet = report(sheet, found, what_if=table, power_cut=cuts, usual=display_units.load(self.folder))
            write_atomically(self.folder / REPORT, decision_sheet.encode("utf-8"), DECISION_SHEET)
            power_fails = ipywidgets.HTML("<h3 class='ph-group'>If the power fails</h3>")
            self.children = (*self._parts, self.choices_likely, power_fails, power_cut)
            self.choices_likely.follow(functools.partial(choice_ranges, table))
            self.saved.value = f'<p class="ph-kept">{KEPT}</p>'
            return summary_text(found), result_html(found, table)

        self.children = self._parts
        self.start("your pond", work)

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
        return " ".join(messages) or str(error)


def summary_text(found: assessment.Assessment) -> str:
    """Cost, saving, payback and whether the heater keeps up, in a few sentences."""
    sentences = re.sub("[ \n]+", " ", " ".join(answers.answers(found))).strip()
    before, _, after = localise_finished(sentences).partition("What matters most for the likely range")
    subject = "Open, the heater" if "Open, the heater" in after else "The heater"
    heater = after[after.find(subject) :]
    if not found.needs_heat:
        return _unheated(found)
    learned = "" if found.fitted is None else f" {LEARNED}"
    return f"{_costs(found)} {before}{heater if after else ''}".strip() + learned


def _costs(found: assessment.Assessment) -> str:
    """Energy and cost of the season as the sheet describes the pond."""
    season = found.as_described
    money = "" if season.money is None else f" and costs {units.money(season.money, found.sheet.currency)}"
    covered = " with its cover" if found.covered is not None else ""
    return (
        f"From {found.first.day} {found.first:%B} to {found.last.day} {found.last:%B} your pond{covered} takes "
        f"{units.digits(season.electricity_kwh + season.gas_kwh)} kWh{money}."
    )


def _unheated(found: assessment.Assessment) -> str:
    season = found.as_described
    money = "" if season.money is None else f", {units.money(season.money, found.sheet.currency)}"
    emitted = f", about {emissions_text(season.co2_kg)} of CO₂ equivalent," if season.co2_kg else ""
    idle = f"{answers.IDLE} " if found.sheet.is_heated else "No heat, no heating cost. "
    warning = freezing_warning(season.frozen_share)
    return (
        f"{f'Warning. {warning} ' if warning else ''}{idle}"
        f"The water falls to {temperature(season.lowest_temp, 1)} in this weather. What runs "
        f"still takes {units.digits(season.electricity_kwh)} kWh{money}{emitted} over the season. The decision sheet "
        "says more."
    )


def _break_our_number(found: assessment.Assessment) -> str:
    if found.uncertainty is None or not found.uncertainty.measure_first or not found.needs_heat:
        return ""
    sentence = localise_finished(measurement_text(found.uncertainty.measure_first[0], found.sheet.currency))
    return f"<p><b>Break our number.</b> {html.escape(sentence)}</p>"


def _learned(found: assessment.Assessment) -> str:
    """What was learned from the meter, as HTML; empty without a log."""
    if found.fitted is None:
        return ""
    sentences = localise_finished(" ".join(found.fitted.sentences))
    return f"<p><b>What your meter taught.</b> {html.escape(sentences)}</p>"


def result_html(found: assessment.Assessment, table: what_if.ScenarioTable) -> str:
    """The link to the decision sheet, the chart of the choices, and the full tables folded, as HTML."""
    preferred = display_units.load()
    text = f"<pre>{html.escape(summary.season_text(found, preferred))}</pre>"
    choice_table = f"<pre>{html.escape(what_if_text.table_text(table, usual=preferred))}</pre>"
    picture = choices(table.grouped, "your-pond", found.sheet.currency)
    ready = (
        f"<p><b>Your decision sheet is ready: {OPENS}open it, and print it</a></b>. It is one page, and opens in a tab "
        "of its own. What was only a start value is named in it.</p>"
    )
    return (
        f'<div class="ph-words">{ready}{_learned(found)}{_break_our_number(found)}</div>{picture.html()}'
        f"{_cautions(found)}"
        f"{fold('All choices, as a table', choice_table)}{fold('The whole season, in numbers', text)}"
    )


def choice_ranges(table: what_if.ScenarioTable, dropped: Callable[[], bool]) -> Iterator[str]:
    """The likely difference that each choice makes, as HTML: again after each row, the best choice first."""
    yield _choice_ranges_html(table)
    for better in what_if.with_likely_ranges(table, dropped=dropped):
        yield _choice_ranges_html(better)


def _choice_ranges_html(table: what_if.ScenarioTable) -> str:
    alike = "room and price" if table.context.sheet.room else "winter, price and wind"
    pending = {row.key for row in what_if.pending_rows(table)}
    rows = sorted((row for row in table.rows if row.likely or row.key in pending), key=lambda row: row.worth)
    lines = "".join(
        f"<tr><td>{html.escape(localise_finished(row.words))}</td>"
        f"<td>{what_if_text.likely_difference(row, table) or 'working it out…'}</td></tr>"
        for row in rows
    )
    return (
        "<table><caption>Likely more or less than your pond as it is: 8 in 10 of 200 runs fall within, both sides of "
        f"each run with the same {alike}</caption><tbody>{lines}</tbody></table>"
    )


def _cautions(found: assessment.Assessment) -> str:
    """The cautions for this pond, as HTML; the general one is shown with the power cut."""
    chosen = [
        cautions.CAUTIONS[key]
        for key in ("gas_exchange", "children", "burning", "refrigerant", "electricity")
        if summary.concerns(key, found)
    ]
    lines = "".join(
        f"<p><b>{html.escape(one.title)}.</b> {html.escape(localise_finished(one.text))}</p>" for one in chosen
    )
    return f'<div class="ph-caution">{lines}</div>'


def panel() -> YourPond:
    """The panel of this page."""
    return YourPond()
