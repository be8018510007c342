"""The interface for Python users: read a sheet, assess it, and look at the results in a script or a notebook."""

from __future__ import annotations

import html
from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from pathlib import Path

import pandas as pd

from pondheat.analysis import assessment, export
from pondheat.analysis.results import Assessment, LikelyRange, Season
from pondheat.core import units
from pondheat.core.display_units import METRIC, without_marks
from pondheat.season.weather.weather import Weather
from pondheat.sheet import pond_sheet
from pondheat.sheet.pond_sheet import Sheet
from pondheat.text import summary
from pondheat.text.layout import day_text, kwh_text
from pondheat.text.pond_answer import pond_answer


def read_sheet(path: str | Path) -> Sheet:
    """A pond sheet from a TOML file.

    Raises `pondheat.sheet.pond_sheet.SheetError`, a ValueError that lists everything wrong in the file at once.
    """
    return pond_sheet.read(path)


def assess(
    sheet: Sheet | str | Path,
    weather: str | Path | Weather | None = None,
    *,
    scenarios: int | None = None,
    progress: Callable[[float], None] | None = None,
) -> SeasonResults:
    """A sheet's season, open and covered, with saving, payback and uncertainty.

    sheet: as `read_sheet` gives it, or its path. weather: a built-in name, the path of a weather file, or a record
    already read; None for the sheet's own source.
    scenarios: number of Monte Carlo runs behind the likely ranges, 0 for none, None for the usual number; progress:
    called with the share done, 0–1. Every error that a user can mend is a ValueError with a sentence.
    """
    if not isinstance(sheet, Sheet):
        sheet = read_sheet(sheet)
    record = None
    if isinstance(weather, Weather):
        record = weather
    elif weather is not None:
        sheet = replace(sheet, weather=assessment.weather_source(weather))
    found = assessment.assess(sheet, record, scenarios, progress)
    known = {field.name: getattr(found, field.name) for field in fields(found)}
    return SeasonResults(**known | {"notes": tuple(without_marks(found.notes))})


@dataclass(frozen=True, eq=False)
class SeasonResults(Assessment):
    """An assessment with its hours, a summary, plain data, and a table for notebooks.

    Fields as in `pondheat.analysis.results.Assessment`; all texts are in metric units.
    """

    @property
    def hours(self) -> pd.DataFrame:
        """Hours of the season as the sheet describes the pond, indexed by their start.

        Columns: those of `pondheat.season.simulate.simulate`, heat flows in W, temperatures in °C at the hour's end.
        """
        return self.as_described.hours

    def summary(self) -> str:
        """The text that `pondheat season` prints."""
        return summary.season_text(self)

    def as_dict(self) -> dict:
        """The results as plain data, the same as `pondheat season --json` prints."""
        return without_marks(export.as_dict(self))

    def __repr__(self) -> str:
        headline = METRIC.with_alt_units(str(pond_answer(self).headline))
        return f"<SeasonResults of {self.sheet.name}, {self.first} to {self.last}: {headline}>"

    def _repr_html_(self) -> str:
        """A small table for notebooks, with the headline first."""
        pair = [self.open] if self.covered is None else [self.open, self.covered]
        heads = ["open", "covered", "saved by the cover", "likely saving"][: 1 if self.covered is None else 4]
        if self.covered is None:
            heads.append("likely")
        body = "".join(_html_row(title, cells) for title, cells in self._rows(pair))
        head = "".join(f'<th scope="col">{html.escape(one)}</th>' for one in heads)
        caption = f"{self.sheet.name}, {day_text(self.first)} to {day_text(self.last)}"
        answer = pond_answer(self)
        said = " ".join((*answer.warnings, *answer.sure[1:]))
        headline, said = map(METRIC.with_alt_units, (str(answer.headline), said))
        return (
            f"<p><b>{html.escape(headline)}.</b> {html.escape(said)}</p>"
            f"<table><caption>{html.escape(caption)}</caption>"
            f"<thead><tr><td></td>{head}</tr></thead><tbody>{body}</tbody></table>"
        )

    def _rows(self, pair: list[Season]) -> list[tuple[str, list[str]]]:
        """Heat, electricity or gas, and money: open, covered, saved, and the likely range of the last."""
        unsure = self.uncertainty
        rows = [("heat, kWh", self._cells([season.heat_kwh for season in pair], kwh_text, None))]
        both = any(season.gas_kwh for season in pair)
        likely = None if unsure is None else unsure.open_kwh if self.covered is None else unsure.saving_kwh
        title = "electricity and gas, kWh" if both else "electricity, kWh"
        rows.append((title, self._cells([season.input_kwh for season in pair], kwh_text, likely)))
        prices = [season.money for season in pair if season.money is not None]
        if prices:
            likely = None if unsure is None else unsure.open_money if self.covered is None else unsure.saving_money
            rows.append(("money", self._cells(prices, lambda value: units.money(value, self.sheet.currency), likely)))
        return rows

    @staticmethod
    def _cells(values: list[float], write: Callable[[float], str], likely: LikelyRange | None) -> list[str]:
        """Cells of one row; with two values their difference comes third."""
        shown = [*values, values[0] - values[1]] if len(values) == 2 else values
        span = "" if likely is None else f"{write(likely.low)} to {write(likely.high)}"
        return [*map(write, shown), span]


def _html_row(title: str, cells: list[str]) -> str:
    inner = "".join(f"<td>{html.escape(cell)}</td>" for cell in cells)
    return f'<tr><th scope="row">{html.escape(title)}</th>{inner}</tr>'
