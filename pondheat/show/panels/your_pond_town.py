"""Fetching weather for the reader's town: what is sent to whom, and a button to agree."""

from __future__ import annotations

import datetime as dt
import html
from collections.abc import Callable, Mapping
from pathlib import Path

import ipywidgets

from pondheat.season.weather import fetching, real_winters, stored
from pondheat.season.weather.fetching import Request
from pondheat.sheet.form_town import town_of
from pondheat.show.panels.background_task import BackgroundTask


class TownWeather(BackgroundTask):
    """The fetch button of a town, with what it sends; folder: of the pages; fetched: called when there is new weather.

    Nothing is fetched before the button is pressed; what was fetched stays in the folder and is not fetched again.
    """

    NOTHING = ""
    DOING = "Fetching"
    CANCELLED = "Cancelled. What has arrived is kept; fetch the rest when you like."

    def __init__(self, folder: Path, fetched: Callable[[], None]):
        self.folder, self._fetched = folder / stored.FOLDER, fetched
        self.places = stored.folders(folder)
        self.about, self.about_winters = ipywidgets.HTML(), ipywidgets.HTML()
        self.year = self._button("Fetch the typical year", lambda: self._fetch(self._missing_year))
        self.winters = self._button(
            f"Fetch the last {real_winters.COUNT} winters too", lambda: self._fetch(self._missing_winters)
        )
        self._missing_year: list[Request] = []
        self._missing_winters: list[Request] = []
        super().__init__([self.about, self.year, self.about_winters, self.winters])
        self.layout.display = "none"

    @staticmethod
    def _button(label: str, pressed: Callable[[], None]) -> ipywidgets.Button:
        made = ipywidgets.Button(description=label, layout=ipywidgets.Layout(width="auto"))
        made.on_click(lambda _: pressed())
        return made

    def show(self, answers: Mapping[str, str]) -> None:
        """Show what can be fetched for the form's answers; nothing if they name no town."""
        town = town_of(answers)
        self.layout.display = "none" if town is None else ""
        if town is None:
            return
        self._missing_year = self._missing([Request(town)])
        self._missing_winters = self._missing(real_winters.requests(town, dt.date.today()))
        for missing, about, button, here in (
            (self._missing_year, self.about, self.year, f"The typical year for {town.label} is here."),
            (self._missing_winters, self.about_winters, self.winters, "The last winters are here too."),
        ):
            said = fetching.disclosure(missing, f"the folder {stored.FOLDER} beside this page") if missing else here
            about.value = f'<p class="ph-kept">{html.escape(said)}</p>'
            button.layout.display = "" if missing else "none"
        if self._missing_year:  # first things first
            self.about_winters.value, self.winters.layout.display = "", "none"

    def _missing(self, requests: list[Request]) -> list[Request]:
        return [one for one in requests if stored.find(one, self.places) is None]

    def _fetch(self, requests: list[Request]) -> None:
        """Fetch these in the background, once the reader has pressed the button."""
        if not requests:
            return
        self.stop("")

        def work(progress):
            for request in requests:
                stored.fetch(request, self.folder, progress)
            self._fetched()
            return f"Fetched for {requests[0].town.label}. From now on it is used offline.", ""

        self.start(f"the weather of {requests[0].town.label}", work)

    def progress_text(self, share: float) -> str:
        """A sentence saying that the page is waiting for an answer."""
        return f"{self.DOING} {self.name} … waiting for an answer."
