"""Made notebooks for the tests in a browser: one with every control, one that runs for a while, a last one."""

CONTROLS_PAGE = "98_controls.ipynb"
LAST_PAGE = "99_last.ipynb"
RUNNING_PAGE = "97_running.ipynb"
RUNNING = ("print('It has begun.')", "import time; time.sleep(4)")
CONTROLS = """
# Code: not needed for reading
import time
from ipywidgets import HTML, VBox
from pondheat.show.controls import Choice, Slider, live

water = Slider("Water temperature", 18, 4, 30, 0.5, "degC")
night = Slider("Hours of night", 8, 0, 24, 1, "hour")
price = Slider("Night price", 12, 0, 40, 0.5, "hundredth_of_money/kWh")
pond = Choice("Which pond is dearer to heat", {"deep": "A deep one under a lid",
    "shallow": "A shallow one in the wind"})
said, place = HTML(), HTML()

def redraw(values):
    if values["night"] == 24:
        values["night"] / 0
    said.value = (f"<p>Water {values['water']:.1f} °C, {values['night']:.0f} h at {values['price']:.1f} p, "
                  f"pond {values['pond']}.</p>")

live({"water": water, "night": night, "price": price, "pond": pond}, redraw, place)
VBox([water, night, price, pond, said, place])
""".strip()
SLOW = """
# Code: not needed for reading
slow, drawn = Slider("Slow to draw", 0, 0, 100), HTML()

def redraw_slowly(values):
    time.sleep(5 if values["slow"] == 100 else 0.15)
    drawn.value = f"<p>Drawn at {values['slow']:.0f}.</p>"

live({"slow": slow}, redraw_slowly, HTML())
VBox([slow, drawn])
""".strip()
