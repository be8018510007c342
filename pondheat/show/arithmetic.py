"""The arithmetic behind a headline number: steps with units and sources that end in that number.

Products are calculated with pint, so a wrong unit is an error: kilowatt-hours times pounds per kilowatt-hour must give
pounds.
"""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence

import traitlets

from pondheat.core import display_units, units
from pondheat.core.number_format import unbroken
from pondheat.core.sources import cite
from pondheat.core.units import Currency
from pondheat.show.elements import Element


class Chain:
    """A sequence of steps. `given`, `add` and `times` each append one line and return its result.

    `text` and `source` of a step may mark quantities with square brackets (see `core.display_units`).
    """

    def __init__(self, currency: Currency = units.GBP):
        self.currency = currency
        self.lines: list[tuple[str, str, str]] = []

    def _append(self, text: str, sum_: str, source: str) -> None:
        self.lines.append((display_units.localise(text), sum_, display_units.localise(source)))

    def given(self, text: str, value: float, unit: str, source: str = "") -> float:
        """A number taken from elsewhere, with its source."""
        self._append(text, self._shown(value, unit), source)
        return value

    def add(self, text: str, parts: Sequence[tuple[str, float]], unit: str, source: str = "") -> float:
        """The sum of parts (name, value) in one unit; negative parts are subtracted."""
        total = sum(value for _, value in parts)
        written = " ".join(
            f"{'−' if value < 0 else '+' if i else ''} {name} {self._shown(abs(value), unit, bool(i))}".strip()
            for i, (name, value) in enumerate(parts)
        )
        self._append(text, f"{written} = {self._shown(total, unit)}", source)
        return total

    def times(
        self, text: str, first: tuple[float, str], second: tuple[float, str], unit: str, source: str = ""
    ) -> float:
        """The product of two quantities (value, unit) in `unit`; pint raises an error if the dimensions differ."""
        ureg = units.registry()
        result = (ureg.Quantity(*first) * ureg.Quantity(*second)).to(unit).magnitude
        # a factor of 111.5 keeps its fourth digit, so that a pocket calculator arrives at a product of four
        factors = " × ".join(
            self._shown(*factor, figures=4 if abs(factor[0]) >= 100 and round(factor[0], 1) % 1 else 3)
            for factor in (first, second)
        )
        self._append(text, f"{factors} = {self._shown(result, unit)}", source)
        return float(result)

    def _shown(self, value: float, unit: str, added: bool = False, figures: int = 3) -> str:
        """A value with its unit as text; °C added to a temperature is a difference, also in °F."""
        if unit == "money":
            return units.money(value, self.currency, 2)
        if unit == "money/kWh":
            return units.rate(value, self.currency)
        number = units.digits(value, 0) if abs(value) >= 10 ** (figures - 1) else units.significant(value, figures)
        kind = "delta_degC" if added and unit == "degC" else unit
        return display_units.load().quantity(number, kind, units.pretty(unit, self.currency))

    def html(self) -> str:
        """The steps as an HTML table, one row each."""
        rows = "".join(
            f"<tr><th scope='row'>{text}</th><td>{sum_}</td><td>{source}</td></tr>"
            for text, sum_, source in ([html.escape(unbroken(part)) for part in line] for line in self.lines)
        )
        return (
            "<table class='ph-steps'><thead><tr><th scope='col'>step</th><th scope='col'>arithmetic</th>"
            f"<th scope='col'>source</th></tr></thead><tbody>{rows}</tbody></table>"
        )

    def text(self) -> str:
        """The steps as plain text, one line each."""
        return "\n".join(f"{text}: {sum_}" + (f"  [{source}]" if source else "") for text, sum_, source in self.lines)


def source(key: str) -> str:
    """The bibliography entry of a key, for the last column."""
    return cite(key)


class Fold(Element):
    """A heading that unfolds; its content is written only while it is open, and it stays open when renewed."""

    _esm = """
    function render({ model, el }) {
      const [fold, head, body] = ["details", "summary", "div"].map((name) => document.createElement(name));
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
        """Write the content again if it is open."""
        if self.unfolded:
            self.body = self._write()

    def __repr__(self) -> str:
        return self.label
