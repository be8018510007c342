"""The controls' half in Python: values on steps, typed values, and errors that are said instead of lost."""

import ipywidgets
import pytest

from pondheat.core import ranges, units
from pondheat.show.controls import Choice, Slider, Switch, live


def water(value=18.0):
    return Slider("Water temperature", value, 4, 30, 0.5, "degC")


def say(control, **message):
    """What the browser sends; the sentence that comes back."""
    control._handle_custom_msg({"asked": "browser:1", **message}, [])
    assert control.seen == "browser:1"
    return control.says


def test_a_value_lies_on_a_step():
    assert water(18.3).value == 18.5
    thin = Slider("Share", 0.3, 0, 1, 0.1)
    assert [thin.value, thin.digits, thin.shown()] == [0.3, 1, "0.3"]  # not 0.30000000000000004
    for value in (30.5, 3.4):
        with pytest.raises(ranges.OutOfRange, match=f"{value} °C is outside this control, .* from 4.0 to 30.0 °C."):
            water(value)


@pytest.mark.parametrize("least, most, step", [(0, 10, 3), (0, 10, 0), (0, 10, -1), (10, 0, 1), (5, 5, 1)])
def test_steps_that_lead_nowhere_are_refused(least, most, step):
    with pytest.raises(ValueError, match=f"Depth: steps of {step} do not lead from {least} to {most}."):
        Slider("Depth", least, least, most, step)


def test_its_text_form_is_its_value():
    assert repr(water()) == "Water temperature: 18.0 °C"
    assert repr(Slider("Volume", 12000, 0, 20000, 100, "L")) == "Volume: 12,000 L"
    assert repr(Slider("Night price", 12, 0, 40, 0.5, "hundredth_of_money/kWh")) == "Night price: 12.0 p/kWh"
    assert repr(Slider("Ponds", 3, 1, 9, unit="ponds")) == "Ponds: 3 ponds"
    assert repr(Choice("Cover", {"film": "A thin film"})) == "Cover: nothing chosen"
    assert repr(Choice("Cover", ["film", "lid"], "lid")) == "Cover: lid"


@pytest.mark.parametrize(
    "typed, value",
    [
        ("21", 21),
        ("21 C", 21),
        (" 68 F", 20),
        ("21.5 °C", 21.5),
        ("20,5", None),
        ("18.0", 18),
        ("−2", None),
        ("1e300", None),
        ("nan", None),
        ("", None),
    ],
)
def test_typed_temperatures(typed, value):
    control = water()
    said = say(control, typed=typed)
    assert control.value == (18 if value is None else value)
    assert said.endswith("It stays at 18.0 °C.") if value is None else said == ""


def test_typed_money_and_plain_words():
    price = Slider("Night price", 12, 0, 40, 0.5, "hundredth_of_money/kWh")
    assert say(price, typed="£0.15/kWh") == "" and price.value == 15
    assert say(price, typed="9 p/kWh") == "" and price.value == 9
    for written in ("30p", "30 p", "30\u00a0p"):  # the last as the pages write it
        assert say(price, typed="5") == "" and say(price, typed=written) == "" and price.value == 30, written
    assert say(price, typed="£0.12") == "" and price.value == 12
    assert "It stays at 12.0 p/kWh." in say(price, typed="30 kg") and "outside" in say(price, typed="£30")
    ponds = Slider("Ponds", 3, 1, 9, unit="ponds")
    assert say(ponds, typed="4 Ponds") == "" and ponds.value == 4
    euro = Slider("Price", 12, 0, 40, 1, "hundredth_of_money/kWh", currency=units.CURRENCIES["EUR"])
    assert euro.shown() == "12 c/kWh"


def test_a_typed_value_between_steps_is_rounded_and_said():
    control = water()
    assert say(control, typed="20.2") == "Set to 20.0 °C: this control moves in steps of 0.5."
    assert control.value == 20
    assert say(control, value=20.5) == ""


def test_an_observers_exception_is_said_and_raised():
    control = water()
    control.observe(lambda change: 1 / 0, "value")
    with pytest.raises(ZeroDivisionError):
        control._answer(control, {"asked": "browser:2", "value": 19}, [])
    assert "ZeroDivisionError: division by zero" in control.says
    assert control.seen == "browser:2"  # the browser does not wait for ever


def test_a_choice_knows_its_options():
    control = Choice("Cover", {"film": "A thin film", "lid": "An insulated lid"})
    assert say(control, value="lid") == "" and control.value == "lid" and control.shown() == "An insulated lid"
    with pytest.raises(ranges.OutOfRange, match="Did you mean “film”"):
        control.value = "fillm"


def test_live_draws_at_once_and_at_every_change_and_says_what_goes_wrong():
    drawn, place = [], ipywidgets.HTML()
    controls = {"temp": water(), "cover": Choice("Cover", ["film", "lid"])}

    def redraw(values):
        if values["temp"] == 30:
            raise ranges.OutOfRange("A pond of 30 °C is <too> warm.")
        if values["temp"] == 4:
            raise KeyError("<b>x")
        drawn.append(values)

    live(controls, redraw, place)
    controls["cover"].value = "lid"
    assert drawn == [{"temp": 18, "cover": None}, {"temp": 18, "cover": "lid"}]
    controls["temp"].value = 30
    assert place.value == '<p class="ph-fault" role="alert">A pond of 30 °C is &lt;too&gt; warm.</p>'
    controls["temp"].value = 4
    assert "could not work out an answer for these settings (KeyError" in place.value
    assert "&lt;b&gt;x" in place.value and "<b>" not in place.value
    assert "Traceback" in place.value
    controls["temp"].value = 5
    assert place.value == "" and drawn[-1] == {"temp": 5, "cover": "lid"}


def test_switch_takes_on_and_off_and_nothing_else():
    switch = Switch("Count the heat lost", True)
    assert repr(switch) == "Count the heat lost: on"
    assert say(switch, value=False) == ""
    assert switch.value is False
    for nonsense in ("on", 1, None, "true"):
        assert say(switch, value=nonsense) == "This can only be on or off. It stays off."
        assert switch.value is False


def test_no_line_end_in_a_browser_parts_a_number_from_its_unit():
    choice = Choice("Kept at 18 °C until 1 March", {"5 kW": "a heater of 5 kW", "30 p": "a unit at 30 p/kWh"})
    shown = choice.get_state(["label", "options"])
    assert shown["label"] == "Kept at 18\u00a0°C until 1\u00a0March"
    assert shown["options"] == [["5 kW", "a heater of 5\u00a0kW"], ["30 p", "a unit at 30\u00a0p/kWh"]]
    choice.value = "5 kW"  # the key that the browser sends back is the one that was given
    assert choice.shown() == "a heater of 5 kW"
