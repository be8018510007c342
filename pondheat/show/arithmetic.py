"""Show the arithmetic: the steps behind a headline number, each with its unit and source, ending in that very number.

Every step is done once more with pint, so that a wrong unit cannot pass: kilowatt-hours times pounds per kilowatt-hour
must come out as pounds.
"""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence

import anywidget
import traitlets

from pondheat.core import display_units, units
from pondheat.core.sources import cite
from pondheat.core.units import Currency


class Chain:
    """A run of steps. `add`, `times` and `minus` each write one line and hand back the number reached."""

    def __init__(self, currency: Currency = units.GBP):
        self.currency = currency
        self.lines: list[tuple[str, str, str]] = []

    def given(self, text: str, value: float, unit: str, source: str = "") -> float:
        """A number that comes from elsewhere, with its source."""
        self.lines.append((text, self._shown(value, unit), source))
        return value

    def add(self, text: str, parts: Sequence[tuple[str, float]], unit: str, source: str = "") -> float:
        """The sum of parts of one unit; negative parts are taken off."""
        total = sum(value for _, value in parts)
        written = " ".join(
            f"{'−' if value < 0 else '+' if i else ''} {name} {self._shown(abs(value), unit, bool(i))}".strip()
            for i, (name, value) in enumerate(parts)
        )
        self.lines.append((text, f"{written} = {self._shown(total, unit)}", source))
        return total

    def times(
        self, text: str, first: tuple[float, str], second: tuple[float, str], unit: str, source: str = ""
    ) -> float:
        """The product of two quantities in the unit asked; pint refuses a unit that does not come out."""
        ureg = units.registry()
        result = (ureg.Quantity(*first) * ureg.Quantity(*second)).to(unit).magnitude
        self.lines.append(
            (text, f"{self._shown(*first)} × {self._shown(*second)} = {self._shown(result, unit)}", source)
        )
        return float(result)

    def _shown(self, value: float, unit: str, added: bool = False) -> str:
        """A value as it is written; degrees that are added to a temperature are a difference, in °F too."""
        if unit == "money":
            return units.money(value, self.currency, 2)
        if unit == "money/kWh":
            return units.rate(value, self.currency)
        number = units.digits(value, 0) if abs(value) >= 100 else units.significant(value, 3)
        return display_units.beside(
            f"{number} {units.pretty(unit, self.currency)}".strip(), display_units.load(), differences=added
        )

    def html(self) -> str:
        """The steps as a table that reads from top to bottom."""
        rows = "".join(
            f"<tr><th scope='row'>{html.escape(text)}</th><td>{html.escape(sum_)}</td><td>{html.escape(source)}</td></tr>"
            for text, sum_, source in self.lines
        )
        return (
            "<table class='ph-steps'><thead><tr><th scope='col'>step</th><th scope='col'>arithmetic</th>"
            f"<th scope='col'>source</th></tr></thead><tbody>{rows}</tbody></table>"
        )

    def text(self) -> str:
        """The same as plain lines."""
        return "\n".join(f"{text}: {sum_}" + (f"  [{source}]" if source else "") for text, sum_, source in self.lines)


def source(key: str) -> str:
    """A bibliography entry for the last column."""
    return cite(key)


class Fold(anywidget.AnyWidget):
    """A heading that opens and closes; what is under it is made only while it is open, and stays open when renewed."""

    _esm = """
    function render({ model, el }) {
      const fold = document.createElement("details"), head = document.createElement("summary"), body = document.createElement("div");
      fold.className = "ph-fold";
      head.textContent = model.get("label");
      head.setAttribute("data-lm-suppress-shortcuts", "true");
      body.setAttribute("tabindex", "-1");
      const put = () => { body.innerHTML = model.get("body"); };
      fold.append(head, body);
      fold.open = model.get("unfolded");
      fold.addEventListener("toggle", () => { model.set("unfolded", fold.open); model.save_changes(); });
      model.on("change:body", put);
      put();
      el.append(fold);
    }
    export default { render };
    """
    label = traitlets.Unicode("Show the arithmetic").tag(sync=True)
    body = traitlets.Unicode().tag(sync=True)
    unfolded = traitlets.Bool(False).tag(sync=True)

    def __init__(self, write: Callable[[], str], **traits):
        super().__init__(**traits)
        self._write = write
        self.observe(lambda _: self.renew(), "unfolded")

    def renew(self) -> None:
        """Write the content anew if it is being looked at."""
        if self.unfolded:
            self.body = display_units.here(self._write())

    def __repr__(self) -> str:
        return self.label
