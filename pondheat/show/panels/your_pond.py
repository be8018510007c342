"""Your own pond: a form that makes a pond sheet, and from it the season, the choices, a power cut and the decision sheet."""

from __future__ import annotations

import html
from collections.abc import Callable
from pathlib import Path

import ipywidgets

from pondheat import pond_form, study, summary, units, usual, what_if, what_if_words
from pondheat import sheet as sheets
from pondheat.compare import printable
from pondheat.front_door.copying import write_whole
from pondheat.meter import readings_file
from pondheat.pond_form import BY_HAND, OWN, Question
from pondheat.season import weather
from pondheat.show import figures
from pondheat.show.controls import Choice, File, Switch, Text
from pondheat.show.panels.aside import Aside
from pondheat.show.panels.own_readings import options_of
from pondheat.show.panels.power_cut import PowerFails
from pondheat.show.report import report
from pondheat.units import Unreadable

SHEET, REPORT, ASIDE = "my_pond.toml", "my_pond_report.html", "my_pond.before.toml"
TOWN = "my_town.toml"
MONTHS = 12
START = "A start value: not measured."
KEPT = "Kept in my_pond.toml beside this page."


class Line(Text):
    """One answer of the form, given by leaving its line; what was understood, or what is wrong, is said under it."""

    def __init__(self, question: Question, value: str, untouched: bool, currency: units.Currency):
        self.question, self.untouched, self.currency = question, untouched, currency
        super().__init__(question.label, "", value)
        self.says = START if untouched and value else self._said(value) if value else ""

    def _said(self, typed: str) -> str:
        try:
            return pond_form.echo(self.question, typed, self.currency)
        except ValueError as fault:
            return str(fault)

    def _take(self, message: dict) -> str:
        typed = message.get("typed")
        if not isinstance(typed, str) or len(typed) > pond_form.LONGEST:
            return f"That is too long: at most {pond_form.LONGEST} characters are taken. It stays at: {self.shown()}."
        self.value, self.untouched = typed.strip(), False
        self.turn += 1
        return self._said(self.value)


class Given(Text):
    """A line of text that is answered at once by what `answer` makes of it."""

    def __init__(self, label: str, action: str, answer: Callable[[str], str]):
        super().__init__(label, action)
        self._made_of = answer

    def _take(self, message: dict) -> str:
        return super()._take(message) or self._made_of(self.value)


class YourPond(Aside):
    """The form, its saved sheet, and what follows from it. `folder`: where the reader's files are."""

    NOTHING = "Nothing worked out yet: fill in the first three lines, then press the button."
    CANCELLED = "Cancelled. Your answers are still here."

    def __init__(self, folder: Path | None = None):
        self.folder = Path.cwd() if folder is None else folder
        self.currency = usual.load(self.folder).currency
        self.before, answers, untouched, word = self._found()
        asked = pond_form.questions(self.currency)
        self.fields: dict[str, Line | Choice] = {}
        for key, question in asked.items():
            self.fields[key] = self._field(question, answers[key], key in untouched)
        self.untouched = set(untouched)
        self.weather, self.days = File("Weather of your own: hourly CSV, EPW, TMY or monthly normals"), File(
            "Weather of the metered days (hourly CSV)")
        self.town = Given("Or your town's twelve monthly mean temperatures, January first", "Use them", self._own_town)
        self.meter, self.more = File("The heater's meter file, if you have one"), Text(
            'Answers to what is asked back, such as unit="kWh"', "Use it")
        self.go = ipywidgets.Button(description="Work it out", layout=ipywidgets.Layout(width="auto"))
        self.go.add_class("ph-go")
        self.below = ipywidgets.VBox([])
        short = [self.fields[key] for key, question in asked.items() if not question.more]
        left, right = short[:7], short[7:]
        self.saved = ipywidgets.HTML(f'<p class="ph-fault" role="alert">{html.escape(word)}</p>' if word else "")
        pair = ipywidgets.Box([ipywidgets.VBox(left).add_class("ph-left"), ipywidgets.VBox(right).add_class("ph-left")])
        more = ipywidgets.VBox([self.fields[key] for key, question in asked.items() if question.more]).add_class("ph-more")
        files = ipywidgets.VBox([self.weather, self.town, self.meter, self.days, self.more]).add_class("ph-more")
        self.shown = {"more": Switch("Show more about your pond (all at start values)"),
                      "files": Switch("Show weather of your own, and your meter")}
        for (_, switch), box in zip(self.shown.items(), (more, files)):
            self._open(box, False)
            switch.observe(lambda change, box=box: self._open(box, change["new"]), "value")
        super().__init__([self.saved, pair.add_class("ph-pair"), self.shown["more"], more, self.shown["files"], files, self.go])
        self.children = (*self.children, self.below)
        for key, field in self.fields.items():
            field.observe(lambda _, key=key: self._changed(key), "turn" if isinstance(field, Line) else "value")
        self.weather.observe(lambda _: self._own_weather(), "turn")
        self.go.on_click(lambda _: self.work_out())

    # --- what is there, and what is kept ----------------------------------------------------------------------------

    def _found(self) -> tuple[str, dict[str, str], set[str], str]:
        """The sheet's text, the answers in it, which are start values, and a word where it cannot be read."""
        asked = pond_form.questions(self.currency)
        fresh = {key: question.start for key, question in asked.items()}
        start_values = {key for key, question in asked.items() if question.start and key != "name"}
        path = self.folder / SHEET
        try:
            text = path.read_text(encoding="utf-8-sig")
            answers, untouched = pond_form.answers_of(text, self.currency)
            return text, answers, untouched, ""
        except FileNotFoundError:
            return "", fresh, start_values, ""
        except (OSError, ValueError) as wrong:
            word = (f"{SHEET} cannot be read: {wrong} It stays as it is; before anything new is written, it is copied to "
                    f"{ASIDE}.")
            return "", fresh, start_values, " ".join(word.split())

    def _field(self, question: Question, value: str, untouched: bool) -> Line | Choice:
        if question.choices is None:
            return Line(question, value, untouched, self.currency)
        choices = dict(question.choices) | ({BY_HAND: BY_HAND} if value == BY_HAND else {})
        field = Choice(question.label, choices, value if value in choices else None)
        field.says = START if untouched else ""
        return field

    @staticmethod
    def _open(box, shown: bool) -> None:
        box.layout.display = "" if shown else "none"

    def answers(self) -> dict[str, str]:
        """All answers as they stand."""
        return {key: field.value or "" for key, field in self.fields.items()}

    def _changed(self, key: str) -> None:
        self.untouched.discard(key)
        if isinstance(self.fields[key], Choice):
            self.fields[key].says = ""
        self.keep()

    def keep(self) -> None:
        """Write the sheet as the answers stand now; what was there and could not be read is copied aside first."""
        path = self.folder / SHEET
        try:
            if not self.before and path.exists():
                write_whole(self.folder / ASIDE, path.read_bytes())
            elif path.exists():
                self.before = path.read_text(encoding="utf-8-sig")  # it may have been changed by hand meanwhile
            source = self.own_source()
            self.before = pond_form.sheet_text(self.answers(), self.untouched, self.before, self.currency, source)
            write_whole(path, self.before.encode("utf-8"))
            self.saved.value = f'<p class="ph-kept">{KEPT}</p>'
        except (OSError, ValueError) as wrong:
            said = " ".join(str(wrong).split())
            self.saved.value = f'<p class="ph-fault" role="alert">{html.escape(f"Not kept: {said}")}</p>'

    def own_source(self) -> str | None:
        """The weather file of one's own, the newest of those in the folder."""
        found = [path for path in self.folder.glob("my_weather.*")] + [path for path in [self.folder / TOWN] if path.exists()]
        return max(found, key=lambda path: path.stat().st_mtime).name if found else None

    def _own_weather(self) -> None:
        ending = "".join(Path(printable(self.weather.value)).suffixes[-1:]) or ".csv"
        ending = ending if ending.lower() in (".csv", ".epw", ".tm2", ".toml", ".dat", ".txt", ".json") else ".csv"
        for old in self.folder.glob("my_weather.*"):
            old.unlink()
        write_whole(self.folder / f"my_weather{ending}", self.weather.content)
        self._take_own()

    def _own_town(self, typed: str) -> str:
        """Keep the normals of a town whose temperatures were typed; what to say of it."""
        try:
            temps = [units.number(part) for part in typed.replace(";", " ").replace(",", " ").split()]
        except Unreadable as fault:
            return str(fault)
        if len(temps) != MONTHS:
            return f"{len(temps)} numbers were read; twelve are wanted, in °C, from January to December."
        text = (weather.DATA / "sollerwick.toml").read_text(encoding="utf-8")
        lines = [line for line in text.splitlines() if not line.startswith(("air_temp", "place", "source", "#"))]
        mine = ["# Mean temperatures typed in; everything else as in the invented town of Sollerwick: a start value.",
                'place = "My town (temperatures typed in, the rest as invented Sollerwick)"',
                'source = "Typed in by the reader"', f'air_temp = "{" ".join(f"{temp:g}" for temp in temps)} °C"']
        write_whole(self.folder / TOWN, ("\n".join([*mine, *lines]) + "\n").encode("utf-8"))
        self._take_own()
        return f"Kept in {TOWN}."

    def _take_own(self) -> None:
        if self.fields["place"].value == OWN:
            self.keep()
        else:
            self.fields["place"].value = OWN

    # --- what follows --------------------------------------------------------------------------------------------------

    def work_out(self) -> None:
        """Read the sheet back and reckon everything, beside the page."""
        self.stop("")
        missing = [field.label for field in self.fields.values() if isinstance(field, Line) and field.question.needed and not field.value
                   and not (field.question.key == "depth" and self.fields["volume"].value)]
        if missing:
            self.say(f"Still needed: {', '.join(missing).lower()}. Type each with its unit, such as 4 m or 13 ft.")
            return
        self.keep()
        meter, days = self.meter.content, self.days.content
        try:
            options = options_of(self.more.value)
        except ValueError as fault:
            self.fault(fault)
            return

        def work(progress):
            sheet = sheets.read(self.folder / SHEET)
            record = study.weather_of(sheet)
            fitted = None
            if meter:
                use = readings_file.read(meter, sheet.timezone, **options).use
                fitted = study.learn(sheet, use, self._weather_of_days(sheet, days) if days else None)
            found = study.assess(sheet, record, progress=lambda done: progress(0.6 * done), fitted=fitted)
            table = what_if.what_if(sheet, record, progress=lambda done: progress(0.6 + 0.35 * done))
            write_whole(self.folder / REPORT, report(sheet, found, what_if=table).encode("utf-8"))
            self.below.children = (PowerFails(sheet, record),)
            return said_in_short(found), laid_out(found, table)

        self.below.children = ()
        self.start("your pond", work)

    def _weather_of_days(self, sheet: sheets.Sheet, days: bytes):
        from dataclasses import replace

        path = self.folder / "my_metered_days.csv"
        write_whole(path, days)
        return study.weather_of(replace(sheet, weather=path.name, folder=self.folder))

    def words_of(self, fault: Exception) -> str:
        """All faults of a sheet are told by the labels of the form where it has them."""
        if not isinstance(fault, sheets.SheetFaults):
            return super().words_of(fault)
        labels = {question.path: question.label for question in pond_form.questions(self.currency).values()}
        return " ".join(f"{labels.get(one.key, one.key)}: {one.sentence}" for one in fault.faults)


def said_in_short(found: study.Assessment) -> str:
    """The answer in a few sentences: what it costs or saves, when it is paid back, whether the heater holds."""
    said = " ".join(" ".join(summary.answers(found)).split())
    before, _, after = said.partition("What matters most for this band")
    held = after[after.find("Open, the heater"):] if "Open, the heater" in after else after[after.find("The heater"):]
    return f"{before}{held if after else ''}".strip() if found.open.heat_kwh > 0 else _unheated(found)


def _unheated(found: study.Assessment) -> str:
    season = found.as_described
    money = "" if season.money is None else f", {units.money(season.money, found.sheet.currency)}"
    return (f"No heat, no heating cost. The water falls to {season.lowest_temp:.1f} °C in this weather. What runs still takes "
            f"{units.digits(season.electricity_kwh)} kWh{money} over the season. The decision sheet says more.")


def _break_our_number(found: study.Assessment) -> str:
    if found.doubt is None or not found.doubt.measure_first:
        return ""
    said = usual.beside(found.doubt.measure_first[0].sentence(found.sheet.currency), usual.load())
    return f"<p><b>Break our number.</b> {html.escape(said)}</p>"


def laid_out(found: study.Assessment, table: what_if.Table) -> str:
    """The link to the decision sheet, the picture of the choices, and all of it folded."""
    text = html.escape(summary.season_text(found))
    choices = html.escape(what_if_words.table_text(table))
    picture = figures.choices(table.grouped, "your-pond", found.sheet.currency)
    return (f'<div class="ph-words"><p><b>Your decision sheet is ready: <a href="{REPORT}">open it, and print it</a></b>, one page. '
            f"What was only a start value is named in it.</p>{_break_our_number(found)}</div>"
            f"{picture.html()}{_fold('All choices, as a table', choices)}{_fold('The whole season, in numbers', text)}")


def _fold(title: str, text: str) -> str:
    return (f"<details class='ph-fold'><summary data-lm-suppress-shortcuts='true'>{html.escape(title)}</summary><pre>{text}</pre>"
            "</details>")


def panel() -> YourPond:
    """The panel of this page."""
    return YourPond()
