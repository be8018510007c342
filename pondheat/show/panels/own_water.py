"""The reader's thermometer beside the model: computed and measured water of the pond of page 16, and a verdict."""

from __future__ import annotations

import html
from pathlib import Path

import ipywidgets
import numpy as np

from pondheat.analysis import following
from pondheat.analysis.printable import without_controls
from pondheat.analysis.results import times_of
from pondheat.core.display_units import localise
from pondheat.core.units import Unreadable
from pondheat.meter.reading import thermometer_file
from pondheat.season import ensemble
from pondheat.sheet import pond_sheet as sheets
from pondheat.show import figures
from pondheat.show.controls import Text, fold
from pondheat.show.file_control import File
from pondheat.show.panels.background_task import BackgroundTask
from pondheat.show.panels.own_readings import options_of
from pondheat.show.panels.sheet_file import SHEET
from pondheat.show.panels.your_pond_files import newest, store_beside
from pondheat.text import following_text
from pondheat.text.layout import day_text

LOG, DAYS = "my_water", "my_water_days"
MOST_POINTS = 1000  # readings up to which each is drawn; of longer logs the means of days
HEADROOM = 0.05  # K, so that the uppermost mark of a scale is drawn
NO_SHEET = "Fill in the form at the top of this page first: the comparison needs your pond's size and place."


class OwnWater(BackgroundTask):
    """A thermometer's log and the weather of its days, both copied beside the page; folder: that of the reader's files,
    by default the current one."""

    NOTHING = "No thermometer's log has been compared yet."
    CANCELLED = "Cancelled. The files are still here; press the button to compare again."
    DOING = "Comparing"

    def __init__(self, folder: Path | None = None):
        self.folder = Path.cwd() if folder is None else folder
        self.file = File("Your thermometer's log (CSV or text)")
        self.days = File("Weather of those days (hourly CSV)")
        self.more = Text('Answers to what it asks you, such as unit="°F" or clock="utc"', "Use it")
        self.go = ipywidgets.Button(description="Compare", layout=ipywidgets.Layout(width="auto"))
        self.go.add_class("ph-go")
        self.go.on_click(lambda _: self.compare())
        super().__init__([self.file, self.days, self.more, self.go])
        for file, stem in ((self.file, LOG), (self.days, DAYS)):
            file.observe(lambda _, file=file, stem=stem: self._uploaded(file, stem), "turn")
            if (stored := newest(self.folder, stem)) is not None:
                file.says = f"{stored.name} is here from before."
        self.more.observe(lambda _: self.compare(), "turn")

    def _uploaded(self, file: File, stem: str) -> None:
        store_beside(self.folder, stem, file.value, file.content)
        self.compare()

    def compare(self) -> None:
        """Compare the log with the sheet's pond in the background."""
        self.stop("")
        log, days = newest(self.folder, LOG), newest(self.folder, DAYS)
        if log is None:
            self.say("Still needed: your thermometer's log, a table of times and water temperatures.")
            return
        if not (self.folder / SHEET).exists():
            self.say(NO_SHEET)
            return
        try:
            options = _options(self.more.value)
            sheet = sheets.read(self.folder / SHEET, None if days is None else str(days.resolve()))
        except (OSError, ValueError) as error:
            self.show_error(error)
            return

        def work(progress):
            ensemble.warm_up_aside()
            progress(0.2)
            made = thermometer_file.read(log, sheet.timezone, **options)
            progress(0.4)
            return result(following.follow(sheet, made))

        self.start("your water", work)


def _options(typed: str) -> dict:
    """Reading options as typed; raises Unreadable for those that a thermometer's log does not have."""
    given = options_of(typed)
    for name in given:
        if name not in thermometer_file.OPTIONS:
            raise Unreadable(
                f"“{name}” isn't an answer for a thermometer's log. You can give: "
                f"{', '.join(thermometer_file.OPTIONS)}."
            )
    return given


def result(found: following.Following) -> tuple[str, str]:
    """The verdict with the match in words, and the rest as HTML."""
    said = f"{following_text.verdict_text(found)} {following_text.score_text(found)}"
    return _for_page(said), _result_html(found)


def _result_html(found: following.Following) -> str:
    """Reasons, pictures, what was learned and the whole text folded, as HTML."""
    pictures = "".join(one.html() for one in charts(found))
    everything = html.escape(_for_page(following_text.following_text(found)))
    reasons = _list([_for_page(one) for one in found.verdict.reasons])
    return (
        f"<div class='ph-words'>{reasons}{pictures}{_learned_html(found)}"
        f"<p>{html.escape(_for_page(following_text.UNTESTED))}</p>"
        f"{fold('The same as the command line prints it', f'<pre>{everything}</pre>')}</div>"
    )


def _for_page(text: str) -> str:
    """A text of the shell with what the page calls otherwise, in the reader's units."""
    return localise(text.replace("season --meter", "give its log in the form above"))


def _learned_html(found: following.Following) -> str:
    """What the log taught, as a table and the lines to write, or why nothing was."""
    learned = found.learned
    if learned is None:
        return f"<p><b>What the log shows.</b> {html.escape(found.not_learned or '')}</p>"
    rows = "".join(
        f"<tr><th scope='row'>{html.escape(name)}</th>"
        + "".join(f"<td>{html.escape(cell)}</td>" for cell in cells)
        + "</tr>"
        for name, *cells in map(following_text.value_cells, learned.values)
    )
    table = (
        "<table class='ph-steps'><thead><tr><td></td><th scope='col'>your sheet</th>"
        "<th scope='col'>likeliest (likely range)</th><th scope='col'>from the log</th></tr></thead>"
        f"<tbody>{rows}</tbody></table>"
    )
    said = f"<p><b>What the log shows.</b> {html.escape(localise(following_text.learned_text(learned)))}</p>{table}"
    if keys := following_text.to_write(found):
        lines = html.escape("\n".join(keys))
        said += (
            f"<p>To use what was learned, open {SHEET} beside this page in a text editor and put these values in "
            "place of those there:</p>"
            f"<pre>{lines}</pre>{_list(following_text.advice(found))}"
        )
    return said


def _list(sentences: list[str]) -> str:
    items = "".join(f"<li>{html.escape(without_controls(one))}</li>" for one in sentences)
    return f"<ul>{items}</ul>" if items else ""


# --- pictures ---------------------------------------------------------------------------------------------------------


def charts(found: following.Following) -> list[figures.Figure]:
    """Measured and computed water together, and below it how far they differ."""
    frame, title = found.frame[["measured", "computed", "error"]], "Measured and computed water, °C"
    if len(frame) > MOST_POINTS:
        frame, title = frame.groupby(times_of(frame).normalize()).mean(), f"{title}, means of days"
    times = times_of(frame)
    title += f", {day_text(times[0])} to {day_text(times[-1])}"
    at = ((times - times[0]) / np.timedelta64(1, "D")).to_numpy(float)
    across = (0.0, float(at[-1]))
    ticks = {float(day): _date(times[0], day) for day in np.unique(np.linspace(0, at[-1], 4).round())}
    water, largest = frame[["measured", "computed"]].to_numpy(), max(float(np.ceil(frame["error"].abs().max())), 1.0)
    return [
        figures.lines(
            {name: (at, frame[name].to_numpy()) for name in ("measured", "computed")},
            "own-water",
            title,
            across,
            ticks,
            (float(np.floor(water.min())), float(np.floor(water.max())) + 1 + HEADROOM),
            celsius=True,
            where=lambda day: _hour(times[0], day),
        ),
        figures.lines(
            {"error": (at, frame["error"].to_numpy())},
            "own-water-error",
            "Computed less measured water, K: above zero the computed is too warm",
            across,
            ticks,
            (-largest, largest + HEADROOM),
            where=lambda day: _hour(times[0], day),
        ),
    ]


def _hour(first, day: float) -> str:
    moment = (first + day * np.timedelta64(1, "D")).round("h")
    return f"{moment.day} {moment:%b}, {moment.hour}:00"


def _date(first, day: float) -> str:
    moment = first + np.timedelta64(int(day), "D")
    return f"{moment.day} {moment:%b}"
