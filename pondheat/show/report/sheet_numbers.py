"""Values that the pond sheet gives, and sizes that follow from them."""

from __future__ import annotations

import math
from collections.abc import Callable

from markupsafe import Markup

from pondheat.analysis.results import Assessment
from pondheat.core import toml_errors, units
from pondheat.show.report import formats
from pondheat.show.report.rendering import shortened
from pondheat.show.report.trace import Part, Step, Trace, single_value


def parsed(text: str) -> dict:
    """The sheet's own TOML as a dictionary; empty where there is none that can be read."""
    try:
        return toml_errors.loads(text)
    except units.Unreadable:
        return {}


class SheetNumbers:
    """Numbers of the pond sheet of one assessment."""

    def __init__(self, assessment: Assessment, trace: Trace) -> None:
        self.sheet, self.trace = assessment.sheet, trace
        self.document = parsed(assessment.sheet.text)

    def origin(self, key: str) -> str:
        """Where the value of a key comes from: the sheet, a guess in the sheet, or a default."""
        table, _, name = key.rpartition(".")
        group = self.document.get(table, {}) if table else self.document
        if key in self.sheet.assumed:
            return f"{key}: a default or guess, according to the sheet"
        if isinstance(group, dict) and name in group:
            return f"{key} in the sheet: {shortened(group[name], 40)}"
        return f"{key}: not in the sheet, default of this workbook"

    def value(
        self, key: str, title: str, value: float, unit: str, write: Callable[[float], str], entry: str = ""
    ) -> Markup:
        """A value of the sheet in the unit in which it is printed; `entry`: name of its derivation if not the key."""
        name = (entry or key).replace(".", "-").replace("_", "-")
        return self.trace.number(f"sheet-{name}", title, [single_value(title, value, unit, self.origin(key))], write)

    def area(self) -> Markup:
        """Surface of the water."""
        steps = self._size("length × width", ("length", "width"), self.sheet.pond.surface_area, "m²", "surface_area")
        return self.trace.number("area", "Surface of the water", steps, lambda v: f"{formats.as_given(v)} m²")

    def volume(self) -> Markup:
        """Volume of the water."""
        steps = self._size("surface × depth", ("surface", "depth"), self.sheet.pond.volume, "m³", "volume")
        return self.trace.number("volume", "Volume of the water", steps, lambda v: f"[{formats.as_given(v)} m³]")

    def depth(self) -> Markup:
        """Mean depth of the water."""
        pond = self.sheet.pond
        parts = (("", pond.volume, "m³"), ("", pond.surface_area, "m²"))
        step = Step("volume ÷ surface", parts, "÷", "m", "the two above")
        return self.trace.number("depth", "Mean depth", [step], lambda v: f"{units.significant(v, 2)} m")

    def _size(self, title: str, factors: tuple[str, ...], value: float, unit: str, key: str) -> list[Step]:
        """A size as the product of lengths in the sheet, or as given under `key` where the sheet has it so."""
        body = self.document.get("pond", {})
        try:
            parts = tuple(self._factor(name, body) for name in factors)
        except (KeyError, TypeError, units.Unreadable):
            parts = ()
        if key not in body and parts and math.isclose(math.prod(part[1] for part in parts), value, rel_tol=1e-9):
            return [Step(title, parts, "×", unit, "lengths in the sheet")]
        return [single_value(title, value, unit, self.origin(f"pond.{key}"))]

    def _factor(self, name: str, body: dict) -> Part:
        if name == "surface":
            return name, self.sheet.pond.surface_area, "m²"
        return name, units.parse(body[name], "m"), "m"
