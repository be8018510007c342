"""The reader's own open and covered nights: logs, weather and pond sheet, compared by six estimators."""

from __future__ import annotations

import html
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import ipywidgets

from pondheat.analysis import savings_comparison
from pondheat.core import units
from pondheat.core.files import write_atomically
from pondheat.core.places import PONDS
from pondheat.season.weather import fetching, stored, town_weather, towns
from pondheat.season.weather.fetching import Request
from pondheat.sheet import pond_sheet as sheets
from pondheat.show import figures
from pondheat.show.controls import Text, fold
from pondheat.show.file_control import File
from pondheat.show.panels.background_task import BackgroundTask
from pondheat.show.panels.own_readings import options_of
from pondheat.text import savings_text

PARTS = {
    "open": "Log of the open nights",
    "covered": "Log of the covered nights",
    "weather": "Weather of those days (hourly CSV)",
    "sheet": "Your pond sheet (without it: the invented garden pond)",
}
LOW, HIGH = -20.0, 100.0  # %, ends of the scale


class OwnSpells(BackgroundTask):
    """Two logs of the reader's own, compared; the workbook's weather and pond replace missing ones, and it says so."""

    NOTHING = "No logs have been compared yet."
    CANCELLED = "Cancelled. The files are still here; change what you like and compare again."

    def __init__(self):
        self.files = {part: File(label) for part, label in PARTS.items()}
        self.paths = Text(
            "Or their paths, in this order, separated by semicolons: open; covered; weather; sheet", "Use these"
        )
        self.more = Text('Answers to what it asks you, such as dates="day first"', "Use it")
        self.load = Text("Watts on the same meter that do not warm the water", "Use it", "0")
        self.town = Text("Instead of a weather file: the town of the pond, such as Leeds, GB", "Use it")
        self.about, self.fetch = ipywidgets.HTML(), ipywidgets.Button(layout=ipywidgets.Layout(width="auto"))
        self.fetch.description = "Fetch the weather of those days"
        self.fetch.on_click(lambda _: self.read(agreed=True))
        self._offer(None)
        left = ipywidgets.VBox([*self.files.values(), self.town, self.about, self.fetch]).add_class("ph-left")
        right = ipywidgets.VBox([self.paths, self.more, self.load]).add_class("ph-left")
        super().__init__([ipywidgets.Box([left, right]).add_class("ph-pair")])
        self.given: dict[str, bytes | Path] = {}
        for part, file in self.files.items():
            file.observe(lambda _, part=part: self._uploaded(part), "turn")
        self.paths.observe(self._paths_given, "turn")
        for control in (self.more, self.load, self.town):
            control.observe(lambda _: self.read(), "turn")

    def _uploaded(self, part: str) -> None:
        self.given[part] = self.files[part].content
        self.read()

    def _paths_given(self, _change) -> None:
        typed = [one.strip().strip("\"'“”") for one in self.paths.value.split(";")]
        if len(typed) > len(PARTS) or not any(typed):
            self.say("Write two to four paths, separated by semicolons: open; covered; weather; sheet.")
            return
        self.given |= {part: Path(one).expanduser() for part, one in zip(PARTS, typed) if one}
        self.read()

    def _offer(self, request: Request | None) -> None:
        """Show what can be fetched, to whom what is sent, and the button to agree; hide it for None."""
        self.fetch.layout.display = "none" if request is None else ""
        said = "" if request is None else fetching.disclosure([request], f"the folder {stored.FOLDER} beside this page")
        self.about.value = f'<p class="ph-kept">{html.escape(said)}</p>' if said else ""

    def _before_weather(self, days: sheets.Sheet, agreed: bool, progress: Callable[[float], None]) -> None:
        """Fetch the weather of these days where the reader has agreed; otherwise offer it."""
        if days.weather != town_weather.SOURCE or days.town is None or days.start is None or days.end is None:
            return
        request = town_weather.request_for(days.town, (days.start, days.end))
        if stored.find(request, stored.folders(days.folder)) is not None:
            return
        if agreed:
            stored.fetch(request, days.folder / stored.FOLDER, progress)
        else:
            self._offer(request)

    def read(self, agreed: bool = False) -> None:
        """Compare the logs in the background once both are given; agreed: whether a town's weather may be fetched."""
        self.stop("")
        self._offer(None)
        missing = [PARTS[part].lower() for part in ("open", "covered") if part not in self.given]
        if missing:
            if self.given:
                self.say(f"Still needed: the {' and the '.join(missing)}.")
            return
        try:
            options, load = options_of(self.more.value), units.parse(self.load.value, "W", bare=True)
            town = towns.find(self.town.value) if self.town.value.strip() else None
        except units.Unreadable as error:
            self.show_error(error)
            return
        given = dict(self.given)

        def work(progress):
            with tempfile.TemporaryDirectory() as folder:
                sheet = sheet_of(given, Path(folder))
                if town is not None:
                    sheet = replace(sheet, town=town, weather=town_weather.SOURCE)
                if sheet.weather == town_weather.SOURCE:  # what is fetched stays beside the page
                    sheet = replace(sheet, folder=Path.cwd())
                proof = savings_comparison.compare_files(
                    given["open"],
                    given["covered"],
                    sheet,
                    progress=progress,
                    base_load=load,
                    reading=({**options},),
                    before_weather=lambda days: self._before_weather(days, agreed, progress),
                )
                told = given if sheet.weather != town_weather.SOURCE else given | {"weather": Path()}
                return proof.verdict.replace("with --weather", "above"), result_html(proof, told)

        self.start("the logs", work)


def sheet_of(given: dict, folder: Path) -> sheets.Sheet:
    """The reader's sheet or the garden pond's, with the reader's weather if given.

    given: files as bytes or paths, by part; folder: where bytes are written to. Raises OSError, SheetError.
    """
    weather = given.get("weather")
    if isinstance(weather, bytes):
        write_atomically(folder / "weather.csv", weather)
        weather = folder / "weather.csv"
    named = None if weather is None else str(weather.resolve())
    own = given.get("sheet")
    if isinstance(own, bytes):
        sheet = sheets.from_text(own.decode("utf-8-sig", "replace"), folder, "the sheet", named)
    else:
        sheet = sheets.read(own or PONDS / "garden_pond.toml", named)
    return sheet if named is None else replace(sheet, weather=named)


def result_html(proof: savings_comparison.SavingsComparison, given: dict) -> str:
    """A chart of the six estimates and the full text of the comparison, folded, as HTML."""
    rows: dict[str, tuple[float, ...]] = {}
    written: dict[str, str] = {}
    for one in proof.comparison.outcomes:
        name = f"{'Fair: ' if one.method.fair else ''}{one.method.name}"
        rows[name] = tuple(100 * value for value in (one.saving, one.low, one.high))
        written[name] = " ".join((f"{rows[name][0]:.0f} %", f"({rows[name][1]:.0f} to {rows[name][2]:.0f})"))
    fair = tuple(name for name in rows if name.startswith("Fair: "))
    picture = figures.ranges(
        rows,
        "own-spells",
        "What each way says the cover saved, %, with its likely range",
        (LOW, HIGH),
        {at: str(at) for at in (0, 25, 50, 75, 100)},
        written,
        fair,
    )
    without = {
        "weather": "The weather is that of the sheet's own source: give the weather of exactly these days.",
        "sheet": "The pond is the invented garden pond: give your own sheet.",
    }
    notes = "".join(f"<li>{html.escape(said)}</li>" for part, said in without.items() if part not in given)
    text = html.escape(savings_text.comparison_text(proof))
    return (
        f"<div class='ph-words'>{f'<ul>{notes}</ul>' if notes else ''}{picture.html()}"
        f"{fold('The same as the command line prints it', f'<pre>{text}</pre>')}</div>"
    )
