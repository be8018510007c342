"""The reader's own weather and meter log: uploaded, named or typed, and copied next to the page."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets
import pandas as pd

from pondheat.analysis import assessment
from pondheat.analysis.printable import without_controls
from pondheat.analysis.results import times_of
from pondheat.core import units
from pondheat.core.display_units import localise
from pondheat.core.files import read_input, write_atomically
from pondheat.meter.reading import meter_file
from pondheat.season.weather import town_normals, weather
from pondheat.season.weather.record import MEASURED
from pondheat.sheet.pond_form import questions
from pondheat.sheet.pond_sheet import Sheet
from pondheat.show.controls import AnsweredText, Switch, Text, error_sentence
from pondheat.show.file_control import File
from pondheat.show.panels.your_pond_form import TO_MEND

if TYPE_CHECKING:
    from pondheat.meter.fitting.pond_fit import Fitted

TOWN, WEATHER, METER, DAYS = "my_town.toml", "my_weather", "my_meter", "my_metered_days"
LISTED = questions()["place"].choices or {}  # places the form offers
ANY_YEAR = 2025  # a calendar for typical years, whose dates don't matter here
ENDINGS = (".csv", ".epw", ".tm2", ".toml", ".dat", ".txt", ".json")


class OwnWeather(ipywidgets.VBox):
    """Weather of the reader's own for the sheet; found: called with its source once there is one."""

    def __init__(self, folder: Path, found: Callable[[str], None]):
        self.folder, self._found = folder, found
        self.file = File("A weather file of your own: hourly CSV, EPW, TMY or monthly normals")
        self.named = AnsweredText(
            "Or its path on this computer, or one of these places: "
            + ", ".join(name.title() for name in weather.names() if name not in LISTED),
            "Use it",
            self._by_name,
        )
        self.town = AnsweredText(
            "Or the twelve monthly mean temperatures of your town from January on, in °C, or in °F followed by F",
            "Use them",
            self._typed,
        )
        super().__init__([self.file, self.named, self.town])
        self.file.observe(lambda _: self._uploaded(self.file.value, self.file.content), "turn")

    def _uploaded(self, name: str, content: bytes) -> None:
        self._found(store_beside(self.folder, WEATHER, name, content))

    def _by_name(self, typed: str) -> str:
        named = typed.strip().strip("\"'“”")
        if named.lower() in weather.names():
            self._found(named.lower())
            return f"The weather now comes from {named.title()}."
        try:
            path = Path(named).expanduser()
            content = read_input(path)
        except (OSError, ValueError, RuntimeError):
            return f"“{without_controls(named[:60])}” is neither a place known here nor a file that can be read."
        self._uploaded(path.name, content)
        return f"Copied from {without_controls(path.name[:60])}; changes to the original don't show here."

    def _typed(self, typed: str) -> str:
        text = typed.strip()
        fahrenheit = text[-1:].casefold() == "f"
        words = text.rstrip("°FfCc ").replace(";", " ").replace(",", " ").split()
        try:
            temps = [units.parse(f"{word} {'degF' if fahrenheit else 'degC'}", "degC") for word in words]
            made = town_normals.normals_for_town(temps)
        except ValueError as error:
            return str(error)
        write_atomically(self.folder / TOWN, made.toml.encode("utf-8"))
        self._found(TOWN)
        return localise(town_normals.explain(made))


class OwnMeter(ipywidgets.VBox):
    """The heater's meter log and the weather for its days, both copied; given: called when either is new."""

    def __init__(self, folder: Path, given: Callable[[], None]):
        self.folder, self._given = folder, given
        self.file = File("Your heater's meter log")
        self.days = File("Weather of the metered days (hourly CSV)")
        self.more = Text('Answers to questions about it, such as unit="kWh"', "Use it")
        self.used = Switch("Use the log", True)
        super().__init__([self.file, self.days, self.more, self.used])
        for file, stem in ((self.file, METER), (self.days, DAYS)):
            file.observe(lambda _, file=file, stem=stem: self._uploaded(file, stem), "turn")
            if (stored := newest(folder, stem)) is not None:
                file.says = f"{stored.name} is still here from last time."

    def _uploaded(self, file: File, stem: str) -> None:
        store_beside(self.folder, stem, file.value, file.content)
        self._given()

    def log(self) -> Path | None:
        """The path of the log to use; None if there is none or it is switched off."""
        return newest(self.folder, METER) if self.used.value else None

    def weather(self) -> str | None:
        """The file name of the weather of the metered days; None if there is none."""
        stored = newest(self.folder, DAYS)
        return None if stored is None else stored.name

    def learned(self, sheet: Sheet, options: dict) -> Fitted | None:
        """What the log shows about a sheet's pond; None without one. options: how to read it."""
        log, days = self.log(), self.weather()
        if log is None:
            return None
        try:
            made = meter_file.read(log, sheet.timezone, **options)
            record = assessment.weather_of(replace(sheet, weather=days)) if days else None
            fitted = assessment.learn(sheet, made.use, record, repairs=made.repairs)
        except (OSError, ValueError) as error:  # also told where it was given, far below the answer
            self.file.says = f"{TO_MEND}{error_sentence(error)}"
            raise
        if self.file.says.startswith(TO_MEND):
            self.file.says = f"{log.name} is used."
        return fitted


def newest(folder: Path, stem: str) -> Path | None:
    """The newest file of this stem with a known ending; None if there is none."""
    found = [path for path in folder.glob(f"{stem}.*") if path.suffix in ENDINGS]
    return max(found, key=lambda path: path.stat().st_mtime_ns, default=None)


def days_of(folder: Path, source: str, answers: Mapping[str, str]) -> dict[str, str]:
    """First and last day to calculate with this weather, as answers of the form; empty if it can't be read.

    Measured weather gives its own whole days; a typical year gives the form's season, or March to November where
    winter is in July.
    """
    where: dict[str, float | None] = {}
    for key in ("latitude", "longitude"):
        try:
            where[key] = units.parse(answers[key], "deg")
        except units.Unreadable:
            where[key] = None
    try:
        record = weather.read(
            folder / source if (folder / source).exists() else source,
            timezone=answers["timezone"],
            year=ANY_YEAR,
            latitude=where["latitude"],
            longitude=where["longitude"],
        )
    except (OSError, ValueError):  # reported when results are calculated
        return {}
    if record.kind != MEASURED:
        asked, day = questions(), dt.date.today()
        months = record.hours["air_temp"].groupby(times_of(record.hours).month).mean()
        if len(months) < 12 or not town_normals.is_southern(months.to_numpy()):
            return {key: asked[key].start for key in ("start", "end")}
        year = day.year + (day.month == 12)  # the coming or present winter's
        return {"start": f"{year}-03-01", "end": f"{year}-11-30"}
    times = times_of(record.hours)
    first = times[times.hour == 0][0]
    return {"start": f"{first.date()}", "end": f"{(times[-1] - pd.Timedelta('23h')).date()}"}


def store_beside(folder: Path, stem: str, name: str, content: bytes) -> str:
    """Copy a file next to the page, replacing an earlier one of its stem and ending; returns its new name."""
    ending = Path(name).suffix.lower()
    stored = stem + (ending if ending in ENDINGS else ".csv")
    write_atomically(folder / stored, content)
    return stored
