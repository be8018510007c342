"""Weather of a reader's own, and the log of his meter: brought over, named, or typed; each kept beside the page."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from pathlib import Path

import ipywidgets
import pandas as pd

from pondheat.analysis.savings_comparison import plain
from pondheat.core import units
from pondheat.front_door.copying import write_atomically
from pondheat.season.weather import town_normals, weather
from pondheat.season.weather.record import MEASURED
from pondheat.sheet.pond_form import questions
from pondheat.show.controls import File, Given, Switch, Text

TOWN, WEATHER, METER, DAYS = "my_town.toml", "my_weather", "my_meter", "my_metered_days"
LISTED = questions()["place"].choices  # places that the form itself offers
ANY_YEAR = 2025  # the calendar of a typical year, whose days are not asked for
ENDINGS = (".csv", ".epw", ".tm2", ".toml", ".dat", ".txt", ".json")


class OwnWeather(ipywidgets.VBox):
    """Weather of one's own for the sheet. `found`: called with the source once there is one."""

    def __init__(self, folder: Path, found: Callable[[str], None]):
        self.folder, self._found = folder, found
        self.file = File("A weather file of your own: hourly CSV, EPW, TMY or monthly normals")
        self.named = Given(
            "Or its path on this computer, or one of these places: "
            + ", ".join(name.title() for name in weather.names() if name not in LISTED),
            "Use it",
            self._by_name,
        )
        self.town = Given(
            "Or the twelve monthly mean temperatures of your town from January on, in °C; or in °F, with an F behind",
            "Use them",
            self._typed,
        )
        super().__init__([self.file, self.named, self.town])
        self.file.observe(lambda _: self._brought(self.file.value, self.file.content), "turn")

    def _brought(self, name: str, content: bytes) -> None:
        self._found(_keep(self.folder, WEATHER, name, content))

    def _by_name(self, typed: str) -> str:
        named = typed.strip().strip("\"'“”")
        if named.lower() in weather.names():
            self._found(named.lower())
            return f"The weather is now that of {named.title()}."
        try:
            path = Path(named).expanduser()
            content = path.read_bytes()
        except (OSError, ValueError, RuntimeError):
            return f"“{plain(named[:60])}” is neither a place known here nor a file that can be read."
        self._brought(path.name, content)
        return f"Copied from {plain(path.name[:60])}; a change there is not seen here."

    def _typed(self, typed: str) -> str:
        text = typed.strip()
        fahrenheit = text[-1:].casefold() == "f"
        words = text.rstrip("°FfCc ").replace(";", " ").replace(",", " ").split()
        try:
            temps = [units.parse(f"{word} {'degF' if fahrenheit else 'degC'}", "degC") for word in words]
            made = town_normals.town(temps)
        except ValueError as wrong:
            return str(wrong)
        write_atomically(self.folder / TOWN, made.text.encode("utf-8"))
        self._found(TOWN)
        return town_normals.said(made)


class OwnMeter(ipywidgets.VBox):
    """The log of the heater's meter, with the weather of those days; both are kept, and used until they are left out."""

    def __init__(self, folder: Path, given: Callable[[], None]):
        self.folder, self._given = folder, given
        self.file = File("The log of the heater's meter")
        self.days = File("Weather of the metered days (hourly CSV)")
        self.more = Text('Answers to what is asked back, such as unit="kWh"', "Use it")
        self.used = Switch("Use the log", True)
        super().__init__([self.file, self.days, self.more, self.used])
        for file, stem in ((self.file, METER), (self.days, DAYS)):
            file.observe(lambda _, file=file, stem=stem: self._brought(file, stem), "turn")
            if (kept := _newest(folder, stem)) is not None:
                file.says = f"{kept.name} is here from before."

    def _brought(self, file: File, stem: str) -> None:
        _keep(self.folder, stem, file.value, file.content)
        self._given()

    def log(self) -> Path | None:
        """The log to be used; None where there is none, or it is left out."""
        return _newest(self.folder, METER) if self.used.value else None

    def weather(self) -> str | None:
        """The weather of the metered days, as a file beside the page; None where none was given."""
        kept = _newest(self.folder, DAYS)
        return None if kept is None else kept.name


def _newest(folder: Path, stem: str) -> Path | None:
    """The file of this name brought last, whatever its ending."""
    found = [path for path in folder.glob(f"{stem}.*") if path.suffix in ENDINGS]
    return max(found, key=lambda path: path.stat().st_mtime_ns, default=None)


def days_of(folder: Path, source: str, answers: Mapping[str, str]) -> dict[str, str]:
    """First and last day to reckon in this weather, as answers; none where it cannot be read.

    Of measured weather its own whole days; of a typical year the form's season, or, where winter is in July, March to
    November.
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
            **where,
        )
    except (OSError, ValueError):  # told when it is worked out
        return {}
    if record.kind != MEASURED:
        asked, day = questions(), dt.date.today()
        months = record.hours["air_temp"].groupby(record.hours.index.month).mean()
        if len(months) < 12 or not town_normals.is_southern(months.to_numpy()):
            return {key: asked[key].start for key in ("start", "end")}
        year = day.year + (day.month == 12)  # the coming or present winter's
        return {"start": f"{year}-03-01", "end": f"{year}-11-30"}
    times = record.hours.index
    first = times[times.hour == 0][0]
    return {"start": f"{first.date()}", "end": f"{(times[-1] - pd.Timedelta('23h')).date()}"}


def _keep(folder: Path, stem: str, name: str, content: bytes) -> str:
    """Keep a file beside the page, in the place of the one before it; its name there."""
    ending = Path(name).suffix.lower()
    kept = stem + (ending if ending in ENDINGS else ".csv")
    write_atomically(folder / kept, content)
    return kept
