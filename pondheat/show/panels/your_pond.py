"""Your own pond: a form that makes a pond sheet, and from it the season, the choices, a power cut and the decision sheet."""

from __future__ import annotations

import html
import re
from dataclasses import replace
from pathlib import Path

import ipywidgets

from pondheat.analysis import assessment
from pondheat.analysis.scenarios import what_if
from pondheat.core import display_units, units
from pondheat.fish import cautions
from pondheat.front_door.copying import write_atomically
from pondheat.meter.reading import meter_file
from pondheat.season.weather.record import WeatherFault
from pondheat.sheet import pond_sheet as sheets
from pondheat.sheet.pond_form import OWN
from pondheat.show import figures
from pondheat.show.controls import Words, alert, fold
from pondheat.show.panels.background_task import Aside
from pondheat.show.panels.own_readings import options_of
from pondheat.show.panels.power_cut import PowerFails
from pondheat.show.panels.sheet_file import SHEET, Kept
from pondheat.show.panels.your_pond_files import OwnMeter, OwnWeather, days_of
from pondheat.show.panels.your_pond_form import TO_MEND, Form, faults_of, folded
from pondheat.show.report.decision_sheet import report
from pondheat.text import summary, what_if_text

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
SHARES = (0.6, 0.95)  # of the work: done after the season, and after the choices


class YourPond(Aside):
    """The form, its saved sheet, and what follows from it. `folder`: where the reader's files are."""

    NOTHING = "Nothing worked out yet: fill in the first three lines, then press the button."
    CANCELLED = "Cancelled. Your answers are still here."
    DOING = "Working out"

    def __init__(self, folder: Path | None = None):
        self.folder = Path.cwd() if folder is None else folder
        self.kept = Kept(self.folder, display_units.load(self.folder).currency)
        self.source = self.kept.own_source()
        self.word, self.saved = Words(), Words()
        self.form = Form(*self.kept.answers(), self.kept.currency, self._given)
        self.weather, self.meter = OwnWeather(self.folder, self._own_weather), OwnMeter(self.folder, self._stale)
        self.files = (
            *folded("Show weather of your own", self.weather.add_class("ph-more")),
            *folded("Show your meter's log, if you have one", self.meter.add_class("ph-more")),
        )
        self.go = ipywidgets.Button(description="Work it out", layout=ipywidgets.Layout(width="auto"))
        self.go.add_class("ph-go")
        self.go.on_click(lambda _: self.work_out())
        super().__init__([self.word, self.form, *self.files, self.saved, self.go])
        self._parts = self.children  # a power cut comes under them once there is a sheet
        self._tell(self.kept.word)
        if (self.folder / REPORT).exists() and self.kept.text:
            self.saved.value = f'<p class="ph-kept">Your last decision sheet: {OPENS}open it, and print it</a>.</p>'

    # --- answers, and what is kept of them ----------------------------------------------------------------------------

    def _given(self, key: str) -> None:
        """An answer was given: keep it, beside what another hand has done to the file meanwhile."""
        if key in ("place", "latitude", "longitude") and self._place_is_own() and self.source:
            self.form.begin_anew(days_of(self.folder, self.source, self.form.answers()))
        mine = self.form.fields[key].value
        word = self._look()
        self.form.put({key: mine}, self.form.untouched - {key})
        try:
            self.kept.write(self.form.answers(), self.form.untouched, self.source)
        except (OSError, ValueError) as wrong:
            self.saved.value = alert(f"Not kept: {' '.join(str(wrong).split())}")
        else:
            self._stale()
        self._tell(word)
        if self._place_is_own() and self.source is None:
            self.files[0].value = True

    def _look(self) -> str:
        """Take over what another hand has done to the file meanwhile; what is to be said of it."""
        if not self.kept.look():
            return self.kept.word
        self.source = self.kept.own_source() or self.source
        self.form.put(*self.kept.answers())
        return CHANGED

    def _stale(self) -> None:
        """Say that all is kept, and that what was worked out is of before."""
        if self.kept.text:
            self.saved.value = f'<p class="ph-kept">{KEPT}{EARLIER if self.result.value else ""}</p>'

    def _place_is_own(self) -> bool:
        return self.form.answers()["place"] == OWN

    def _tell(self, word: str) -> None:
        """Say under each answer what is to be said, and above the form what concerns the file as a whole."""
        faults, others = faults_of(self.kept.text, self.folder) if self.kept.text else ({}, [])
        if self.form.missing():  # what is not there yet is no fault
            faults = {
                key: said
                for key, said in faults.items()
                if self.form.questions[key].group != "pond" and key != "insulation"
            }
        self.form.tell(faults)
        if self._place_is_own() and "place" not in faults:
            self.form.fields["place"].says = (
                f"{TO_MEND}{NO_WEATHER}" if self.source is None else f"Weather: {self.source}, as you gave it."
            )
        said = [word] * bool(word) + [f"In {SHEET}, {other}" for other in others]
        self.word.value = alert(" ".join(said)) if said else ""

    def _own_weather(self, source: str) -> None:
        """Weather of one's own was given: it is that of the sheet from now on."""
        self.source = source
        self.form.fields["place"].value = OWN
        self.form.fields["place"].turn += 1

    # --- what follows --------------------------------------------------------------------------------------------------

    def work_out(self) -> None:
        """Read the sheet back and reckon everything, beside the page."""
        self.stop("")
        if word := self._look():
            self._tell(word)
        missing = self.form.missing()
        if not missing and self._place_is_own() and self.source is None:
            self.say(f"{NO_WEATHER} It is asked under “Show weather of your own”.")
            return
        if missing:
            self.say(f"Still needed: {'; '.join(missing).lower()}. Type each with its unit, such as 4 m or 13 ft.")
            return
        try:
            options = options_of(self.meter.more.value)
            sheet = sheets.read(self.kept.path)
        except (OSError, ValueError) as fault:
            self.fault(fault)
            return
        log, days = self.meter.log(), self.meter.weather()

        def work(progress):
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
            fails = PowerFails(sheet, record)
            cuts = [fails.found[covered] for covered in (True, False) if covered in fails.found]
            progress(1.0)
            sheet_of_paper = report(sheet, found, what_if=table, power_cut=cuts, usual=display_units.load(self.folder))
            write_atomically(self.folder / REPORT, sheet_of_paper.encode("utf-8"))
            self.children = (*self._parts, Words("<h3 class='ph-group'>If the power fails</h3>"), fails)
            self.saved.value = f'<p class="ph-kept">{KEPT}</p>'
            return said_in_short(found), laid_out(found, table)

        self.children = self._parts
        self.start("your pond", work)

    def fault(self, fault: Exception) -> None:
        """Say what is wrong; it is clear that it is with this pond."""
        self.name = ""
        super().fault(fault)

    def words_of(self, fault: Exception) -> str:
        """All faults of a sheet are told by the labels of the form where it has them."""
        if isinstance(fault, WeatherFault):
            return f"The weather cannot be used: {fault}{WHERE if 'latitude' in str(fault) else ''}"
        if not isinstance(fault, sheets.SheetFaults):
            return super().words_of(fault)
        self._tell(self.kept.word)
        faults, others = faults_of(self.kept.text, self.folder)
        told = [f"{self.form.questions[key].label}: {said}" for key, said in faults.items()] + others
        return " ".join(told) or str(fault)


def said_in_short(found: assessment.Assessment) -> str:
    """The answer in a few sentences: what it costs and saves, when it is paid back, whether the heater holds."""
    said = re.sub("[ \n]+", " ", " ".join(summary.answers(found))).strip()
    before, _, after = said.partition("What matters most for the band")
    held = after[after.find("Open, the heater") :] if "Open, the heater" in after else after[after.find("The heater") :]
    if found.open.heat_kwh <= 0:
        return _unheated(found)
    learned = "" if found.fitted is None else f" {LEARNED}"
    return f"{_costs(found)} {before}{held if after else ''}".strip() + learned


def _costs(found: assessment.Assessment) -> str:
    """What the pond as it is described takes over the season."""
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
    return (
        f"No heat, no heating cost. The water falls to {season.lowest_temp:.1f} °C in this weather. What runs still "
        f"takes {units.digits(season.electricity_kwh)} kWh{money} over the season. The decision sheet says more."
    )


def _break_our_number(found: assessment.Assessment) -> str:
    if found.doubt is None or not found.doubt.measure_first:
        return ""
    said = found.doubt.measure_first[0].sentence(found.sheet.currency)
    return f"<p><b>Break our number.</b> {html.escape(said)}</p>"


def _taught(found: assessment.Assessment) -> str:
    """What the meter taught, and how far it may be trusted."""
    if found.fitted is None:
        return ""
    return f"<p><b>What your meter taught.</b> {html.escape(' '.join(found.fitted.sentences))}</p>"


def laid_out(found: assessment.Assessment, table: what_if.Table) -> str:
    """The link to the decision sheet, the picture of the choices, and all of it folded."""
    beside = display_units.load()
    text = f"<pre>{html.escape(summary.season_text(found, beside))}</pre>"
    choices = f"<pre>{html.escape(what_if_text.table_text(table, usual=beside))}</pre>"
    picture = figures.choices(table.grouped, "your-pond", found.sheet.currency)
    ready = (
        f"<p><b>Your decision sheet is ready: {OPENS}open it, and print it</a></b>. It is one page, and opens in a tab of "
        "its own. What was only a start value is named in it.</p>"
    )
    return (
        f'<div class="ph-words">{ready}{_taught(found)}{_break_our_number(found)}</div>{picture.html()}{_cautions(found)}'
        f"{fold('All choices, as a table', choices)}{fold('The whole season, in numbers', text)}"
    )


def _cautions(found: assessment.Assessment) -> str:
    """The cautions that fit this pond; the standing sentence stands below, with the power cut."""
    told = [
        cautions.CAUTIONS[key]
        for key in ("gas_exchange", "children", "burning", "refrigerant", "electricity")
        if summary.concerns(key, found)
    ]
    lines = "".join(f"<p><b>{html.escape(one.title)}.</b> {html.escape(one.text)}</p>" for one in told)
    return f'<div class="ph-caution">{lines}</div>'


def panel() -> YourPond:
    """The panel of this page."""
    return YourPond()
