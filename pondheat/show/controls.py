"""The workbook's own controls: slider, switch, choice, line of text and file.

They replace the ready-made widgets, which have no accessible name, lose their keys to JupyterLab's shortcuts and say
nothing when the kernel is gone. Every control has a label, works by keyboard and says in a sentence what is wrong. The
browser's half is in `controls.js` and `controls.css`.
"""

from __future__ import annotations

import contextlib
import html
import math
import traceback
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import ipywidgets
import traitlets

from pondheat.core import display_units, ranges, units
from pondheat.core.number_format import unbroken
from pondheat.show.elements import Element

HERE = Path(__file__).parent


def error_sentence(error: Exception) -> str:
    """The sentence shown for an exception: the message of our own errors; any other error is named."""
    if isinstance(error, ValueError) and type(error).__module__.startswith("pondheat."):
        return str(error)
    return (
        f"This panel could not work out an answer for these settings ({type(error).__name__}: {error}). "
        "Move a control to try others."
    )


def status(text: str) -> str:
    """A sentence as HTML that screen readers announce when it changes."""
    return f'<p class="ph-sentence" role="status">{html.escape(text)}</p>'


def alert(text: str) -> str:
    """An error message as HTML that screen readers announce at once."""
    return f'<p class="ph-fault" role="alert">{html.escape(text)}</p>'


def fold(title: str, body: str, unfolded: bool = False) -> str:
    """A heading that unfolds `body` (HTML), as HTML; unfolded: whether it begins so."""
    summary = f"<summary data-lm-suppress-shortcuts='true'>{html.escape(title)}</summary>"
    return f"<details class='ph-fold'{' open' if unfolded else ''}>{summary}{body}</details>"


def as_text(bundle, text: str) -> dict:
    """A widget's MIME bundle with `text` as plain text, which nbval compares and pages without widgets show."""
    return (bundle[0] if isinstance(bundle, tuple) else bundle) | {"text/plain": text}


def for_screens(texts, _widget: ipywidgets.Widget | None = None):
    """A control's text, or a list of texts, as a browser gets it: no line end parts a number from its unit."""
    return unbroken(texts) if isinstance(texts, str) else [unbroken(text) for text in texts]


class Control(Element):
    """A labelled control. The browser sends one message at a time; `seen` confirms that the answer to it was sent.

    Label and message (`says`) may mark quantities with square brackets (see `core.display_units`).
    """

    _esm = HERE / "controls.js"
    _css = HERE / "controls.css"
    label = traitlets.Unicode().tag(sync=True, to_json=for_screens)
    says = traitlets.Unicode().tag(sync=True, to_json=for_screens)
    invalid = traitlets.Bool(False).tag(sync=True)  # whether `says` is about a mistake
    assumed = traitlets.Bool(False).tag(sync=True)  # whether the value is a default that nobody has confirmed
    seen = traitlets.Unicode().tag(sync=True)

    @traitlets.validate("label", "says")
    def _localised(self, proposal) -> str:
        return display_units.localise(proposal["value"])

    def __init__(self, **traits):
        super().__init__(**traits)
        self.on_msg(self._answer)

    def _answer(self, _, message: dict, buffers) -> None:
        try:
            self.says = self._take({**message, "bytes": bytes(buffers[0])} if buffers else message)
        except Exception as error:
            self.says = error_sentence(error)  # from an observer of the value: shown here, and raised for the log
            raise
        finally:
            self.seen = message["asked"]

    def _take(self, message: dict) -> str:
        """Set the value from a message of the browser; returns a sentence for the reader, or "".

        Bytes sent along are in `message["bytes"]`.
        """
        raise NotImplementedError

    def shown(self) -> str:
        """The present value as text."""
        raise NotImplementedError

    def __repr__(self) -> str:
        return f"{self.label}: {self.shown()}"


class Slider(Control):
    """A number set by slider or typed, always on a step between `least` and `most`; observe `value`.

    unit: of `value` as `pondheat.core.units` knows it ("degC", "hour"), or any word to show ("ponds"). A value may be
    typed in another unit of the same kind ("64 F"). digits: decimals shown, by default those of `step`. Raises
    ValueError if the range is no whole number of steps, `core.ranges.OutOfRange` for a value outside it.
    """

    kind = traitlets.Unicode("slider").tag(sync=True)
    value = traitlets.Float().tag(sync=True)
    least = traitlets.Float().tag(sync=True)
    most = traitlets.Float().tag(sync=True)
    step = traitlets.Float().tag(sync=True)
    digits = traitlets.Int().tag(sync=True)
    unit = traitlets.Unicode().tag(sync=True)
    alt_unit = traitlets.Dict().tag(sync=True)  # how to show the value in a preferred unit too: `DisplayUnits.scale`

    def __init__(
        self,
        label: str,
        value: float,
        least: float,
        most: float,
        step: float = 1,
        unit: str = "",
        digits: int | None = None,
        currency: units.Currency = units.GBP,
    ):
        steps = (most - least) / step if step > 0 else 0
        if steps < 1 or abs(steps - round(steps)) > 1e-6:
            raise ValueError(f"{label}: steps of {step:g} do not lead from {least:g} to {most:g}.")
        self._unit, self._currency = unit, currency
        shown = units.pretty(unit.replace("hundredth_of_money", currency.hundredth), currency)
        if digits is None:
            digits = next(places for places in range(10) if abs(step * 10**places - round(step * 10**places)) < 1e-6)
        super().__init__(
            label=label,
            value=value,
            least=least,
            most=most,
            step=step,
            unit=shown,
            digits=digits,
            alt_unit=display_units.load().scale(unit, digits),
        )

    @traitlets.validate("value")
    def _on_a_step(self, proposal) -> float:
        wanted = proposal["value"]
        if not self.least - 1e-9 <= wanted <= self.most + 1e-9:
            raise ranges.OutOfRange(self._beyond(wanted))
        return round(self.least + math.floor((wanted - self.least) / self.step + 0.5) * self.step, 9)

    def shown(self, value: float | None = None) -> str:
        """A value (by default the present one) as text with its unit: ``18.5 °C``."""
        return self._with_unit(units.digits(self.value if value is None else value, self.digits))

    def _with_unit(self, number: str) -> str:
        return display_units.load().quantity(number, self._unit, self.unit)

    def _take(self, message: dict) -> str:
        try:
            wanted = self._read(str(message["typed"])) if "typed" in message else float(message["value"])
        except units.Unreadable as reason:
            return f"{reason} It stays at {self.shown()}."
        except (TypeError, ValueError):
            return f"That is not a number. It stays at {self.shown()}."
        if not self.least <= wanted <= self.most:
            return f"{self._beyond(wanted)} It stays at {self.shown()}."
        self.value = wanted
        if abs(self.value - wanted) < 0.01 * self.step:
            return ""
        return f"Set to {self.shown()}: this control moves in steps of {self.step:g}."

    def _beyond(self, wanted: float) -> str:
        return (
            f"{self._with_unit(f'{wanted:.6g}')} is outside this control, which runs from "
            f"{units.digits(self.least, self.digits)} to "
            f"{self.shown(self.most)}."
        )

    def _read(self, text: str) -> float:
        own = text.strip().casefold()
        if self.unit and own.endswith(self.unit.casefold()):
            text = text.strip()[: -len(self.unit)]
        money, _, per = self._unit.partition("/")
        if per and "money" in money:
            with contextlib.suppress(units.Unreadable):  # “30p” where p/kWh is meant
                return units.parse(text, money, self._currency)
        return units.parse(text, self._unit, self._currency, bare=True)


class Switch(Control):
    """A setting that is on or off; observe `value`."""

    kind = traitlets.Unicode("switch").tag(sync=True)
    value = traitlets.Bool().tag(sync=True)

    def __init__(self, label: str, value: bool = False):
        super().__init__(label=label, value=value)

    def shown(self) -> str:
        """“on” or “off”."""
        return "on" if self.value else "off"

    def _take(self, message: dict) -> str:
        if not isinstance(message.get("value"), bool):
            return f"This can only be on or off. It stays {self.shown()}."
        self.value = message["value"]
        return ""


class Choice(Control):
    """One of a few options; observe `value`, the key of the chosen option, or None before any is chosen.

    options: texts by key, or a list of texts (each its own key); quantities may be marked as in the label.
    """

    kind = traitlets.Unicode("choice").tag(sync=True)
    value = traitlets.Unicode(None, allow_none=True).tag(sync=True)
    options: traitlets.List = traitlets.List().tag(
        sync=True, to_json=lambda options, _: [[key, unbroken(text)] for key, text in options]
    )
    folded = traitlets.Bool().tag(sync=True)  # shows the chosen option alone, and a button that unfolds the others

    def __init__(self, label: str, options: Mapping[str, str] | Sequence[str], value: str | None = None):
        texts = dict(options) if isinstance(options, Mapping) else {text: text for text in options}
        super().__init__(
            label=label, options=[[key, display_units.localise(text)] for key, text in texts.items()], value=value
        )

    @traitlets.validate("value")
    def _known(self, proposal) -> str | None:
        wanted = proposal["value"]
        return wanted if wanted is None else ranges.choose("option", wanted, dict(self.options))

    def shown(self) -> str:
        """The chosen option's text."""
        return dict(self.options).get(self.value, "nothing chosen")

    def _take(self, message: dict) -> str:
        if message["value"] not in [key for key, _ in self.options]:
            return f"That is not one of the choices here. It stays at: {self.shown()}."
        self.value = message["value"]
        return ""


class Film(Control):
    """Moments that follow each other, played in at most half a minute or stepped through; observe `value`.

    value: number of the moment that is shown, −1 for none; moments: what each is called. Any key stops it; where the
    reader asks for less motion, it only steps.
    """

    kind = traitlets.Unicode("film").tag(sync=True)
    value = traitlets.Int(-1).tag(sync=True)
    moments: traitlets.List = traitlets.List().tag(sync=True)

    def __init__(self, label: str, moments: Sequence[str], value: int = -1):
        super().__init__(label=label, moments=list(moments), value=value)

    @traitlets.validate("value")
    def _one_of_them(self, proposal) -> int:
        return min(max(proposal["value"], -1), len(self.moments) - 1)

    def shown(self) -> str:
        """What the present moment is called."""
        return "not playing" if self.value < 0 else str(self.moments[self.value])

    def _take(self, message: dict) -> str:
        if not isinstance(message.get("value"), int):
            return f"That moment is not in this film. It stays at: {self.shown()}."
        self.value = message["value"]
        return ""


class Text(Control):
    """A line of text with a button; with an empty `action` it has none and is submitted by leaving the line.

    Observe `turn`, which counts submissions, unchanged text included; the text is `value`.
    """

    kind = traitlets.Unicode("text").tag(sync=True)
    value = traitlets.Unicode("").tag(sync=True)
    action = traitlets.Unicode().tag(sync=True)
    turn = traitlets.Int(0)
    LONGEST = 1000

    def __init__(self, label: str, action: str, value: str = ""):
        super().__init__(label=label, action=action, value=value)

    def shown(self) -> str:
        """The text, or that there is none."""
        return self.value or "nothing typed"

    def _take(self, message: dict) -> str:
        typed = message.get("typed")
        if not isinstance(typed, str) or len(typed) > self.LONGEST:
            return f"That is too long, or not text: at most {self.LONGEST} characters fit here."
        self.value = typed
        self.turn += 1
        return ""


class AnsweredText(Text):
    """A line of text with an immediate reply: `answer` returns it for the text submitted."""

    def __init__(self, label: str, action: str, answer: Callable[[str], str]):
        super().__init__(label, action)
        self._answer_to = answer

    def _take(self, message: dict) -> str:
        return super()._take(message) or self._answer_to(self.value)


def live(controls: Mapping[str, Control], redraw: Callable[[dict], None], place: ipywidgets.HTML) -> None:
    """Call `redraw` now and at every change, with the controls' values by name; errors go to `place`, see `tried`."""

    def draw(_change=None) -> None:
        tried(lambda: redraw({name: control.value for name, control in controls.items()}), place)

    for control in controls.values():
        control.observe(draw, "value")
    draw()


def tried(act: Callable[[], None], place: ipywidgets.HTML) -> None:
    """Do this; an exception is shown in `place`, with the traceback folded under it, and a success clears it."""
    try:
        act()
        place.value = ""
    except Exception as error:
        place.value = _error_html(error)


def _error_html(error: Exception) -> str:
    message = alert(error_sentence(error))
    if isinstance(error, ValueError) and type(error).__module__.startswith("pondheat."):
        return message
    trace = html.escape("".join(traceback.format_exception(error)))
    return f"{message}<details><summary>Technical details</summary><pre>{trace}</pre></details>"
