"""Walls and ground: heat loss of a pond's walls and floor, compared with its open surface at the same moment."""

from __future__ import annotations

from pondheat.core import units
from pondheat.heat import surface, walls
from pondheat.show.arithmetic import Chain, source
from pondheat.show.controls import Choice, Slider
from pondheat.show.panels import Panel
from pondheat.show.pictures.figure import pond_figure
from pondheat.show.pictures.scene import PondScene
from pondheat.show.tables import show_table

SURFACE, WALLS, OUTLINE, DEPTH = 10.0, 15.6, 13.0, 1.2  # m², m², m, m: the garden pond, 4 m × 2.5 m × 1.2 m
WATER_TEMP, AIR_TEMP, GROUND_TEMP = 18.0, 8.0, 10.0
HUMIDITY, CLOUD = 0.8, 0.5
LINER, PLANKS = ("EPDM", 0.001), ("timber", 0.05)  # an invented wall: thickness in m
GROUND = walls.MATERIALS["clay"].value
EDGE = 0.1  # m, wall round the floor in the ground formulae
BOARDS = {
    "EPS": "white bead board (EPS)",
    "XPS": "smooth foam board (XPS)",
    "PIR": "foil-faced foam board (PIR)",
    "timber": "more timber",
}
STANDS = {"above": "above ground", "sunk": "sunk in the ground"}
LENGTH, NOON, FULL = 4.0, 12.0, 3500.0  # m; hour of the picture; W, of its widest arrow


def resistance(name: str, thickness: float) -> float:
    """Thermal resistance of a layer [m²·K/W]; name: of the material, thickness: [m]."""
    return thickness / walls.MATERIALS[name].value


def shown(watts: float) -> float:
    """Watts as rounded for readers: three figures."""
    return units.number(units.significant(watts, 3))


class WallsAndGround(Panel):
    """The garden pond with wooden walls at 18 °C, in air of 8 °C and ground of 10 °C."""

    def __init__(self):
        super().__init__(
            "walls",
            {
                "insulation": Slider("Insulation on walls and floor", 0, 0, 150, 10, "mm"),
                "board": Choice("What it is made of", BOARDS, "XPS"),
                "stands": Choice("Where the pond is", STANDS, "above"),
                "wind": Slider("Wind at the pond", 1, 0, 4, 0.5, "m/s"),
            },
            caution="electricity",
        )

    def redraw(self, insulation, board, stands, wind):
        """Heat loss of walls, floor and open surface in watts."""
        self.layers = {"liner": resistance(*LINER), "planks": resistance(*PLANKS)}
        added = resistance(board, insulation / 1000)
        self.stands, self.wind, self.added = stands, wind, added
        if stands == "above":
            self.layers |= {"insulation": added, "air outside": walls.outside_resistance(wind)}
            self.wall_u, self.outside = 1 / sum(self.layers.values()), AIR_TEMP
            self.floor_u = walls.ground_u_value(SURFACE, OUTLINE, GROUND, EDGE, resistance(*LINER) + added, 0.0)
        else:
            self.wall_u = walls.sunk_wall_u_value(DEPTH, GROUND, EDGE, sum(self.layers.values()) + added)
            self.floor_u = walls.sunk_floor_u_value(SURFACE, OUTLINE, DEPTH, GROUND, EDGE, resistance(*LINER) + added)
            self.outside = GROUND_TEMP
        self.watts = {
            "walls": walls.wall_loss(WALLS, self.wall_u, WATER_TEMP, self.outside),
            "floor": walls.wall_loss(SURFACE, self.floor_u, WATER_TEMP, GROUND_TEMP),
            "open surface": SURFACE
            * (
                surface.evaporation(WATER_TEMP, AIR_TEMP, HUMIDITY, wind)
                + surface.convection(WATER_TEMP, AIR_TEMP, HUMIDITY, wind)
                + surface.long_wave_loss(WATER_TEMP, AIR_TEMP, HUMIDITY, CLOUD)
            ),
        }
        written = {name: f"{units.significant(value, 3)} W" for name, value in self.watts.items()}
        title = "Heat lost, watts (water [18\u00a0°C], air [8\u00a0°C], ground [10\u00a0°C])"
        scene = PondScene(
            length=LENGTH,
            depth=DEPTH,
            raised=DEPTH if stands == "above" else 0.0,
            losses=self.watts,
            water_temp=WATER_TEMP,
            air_temp=AIR_TEMP,
            hour=NOON,
            cloud=CLOUD,
            wind=wind,
            insulation=insulation / 1000,
            has_filter=False,
            full=FULL,
            fit=(LENGTH, DEPTH, DEPTH),
        )
        return pond_figure(scene, self.name, title), self._text(written)

    @property
    def sides(self) -> float:
        """Heat loss of walls and floor [W]."""
        return self.watts["walls"] + self.watts["floor"]

    @property
    def sides_shown(self) -> float:
        """The same as a reader adds it up from the two amounts shown [W]."""
        return sum(shown(self.watts[name]) for name in ("walls", "floor"))

    @property
    def share(self) -> float:
        """Share of walls and floor in the total heat loss [%]."""
        return 100 * self.sides / sum(self.watts.values())

    def _text(self, written: dict) -> str:
        return (
            f"The walls lose {written['walls']} and the floor {written['floor']}, together "
            f"{units.significant(self.sides_shown, 3)} W. The open surface loses {written['open surface']} at the same "
            f"moment. So {self.share:.0f} % of the heat goes through walls and floor."
        )

    def arithmetic(self):
        """From resistances to U-values to heat loss."""
        chain = Chain()
        if self.stands == "above":
            chain.add(
                "Resistances of the wall add up",
                list(self.layers.items()),
                "m**2*K/W",
                f"thickness in m ÷ conductivity: {source('iso_10456')}; air: {source('iso_6946')}",
            )
            chain.given("U-value of the wall", self.wall_u, "W/m**2/K", "1 ÷ all resistances")
        else:
            chain.given(
                "U-value of the wall, earth included",
                self.wall_u,
                "W/m**2/K",
                f"ground of 1.5 W/(m·K); {source('iso_13370_wall')}",
            )
        each = chain.times(
            "Through one square metre of wall",
            (self.wall_u, "W/m**2/K"),
            (WATER_TEMP - self.outside, "delta_degC"),
            "W/m**2",
            "U-value × difference",
        )
        through = chain.times("Walls", (WALLS, "m**2"), (each, "W/m**2"), "W", "area × the line above")
        chain.given(
            "U-value of the floor, earth included",
            self.floor_u,
            "W/m**2/K",
            f"ground of 1.5 W/(m·K); {source('iso_13370')}",
        )
        each = chain.times(
            "Through one square metre of floor",
            (self.floor_u, "W/m**2/K"),
            (WATER_TEMP - GROUND_TEMP, "delta_degC"),
            "W/m**2",
            "U-value × difference",
        )
        under = chain.times("Floor", (SURFACE, "m**2"), (each, "W/m**2"), "W", "area × the line above")
        chain.add("Walls and floor together", [("walls", shown(through)), ("floor", shown(under))], "W", "shown above")
        return chain


def panel() -> WallsAndGround:
    """The panel of this page."""
    return WallsAndGround()


SITUATION = {"hour": 22.0, "cloud": 0.5, "air_temp": 8.0}
QUESTION = "Bare wooden walls, no cover: of the heat, walls and floor lose …"
OPTIONS = {
    "half": "about half: there's more wall than open surface",
    "fifth": "less than a fifth: open water loses more",
    "most": "most of it: bare planks are thin",
}
RIGHT = "fifth"
WORDS = {
    "half": "There is more wall and floor than surface, so it looks fair. But a square metre of open surface loses "
    "far more.",
    "most": "Thin walls do lose more than thick ones. But planks hold some heat back; open water holds none back.",
}


def uncertain_losses() -> dict[str, tuple[float, float]]:
    """Heat loss, low and high [W], of a bare floor on clay or sand and of walls with EPS of the qualities sold."""
    floor = []
    for ground in ("clay", "sand"):
        u = walls.ground_u_value(SURFACE, OUTLINE, walls.MATERIALS[ground].value, EDGE, resistance(*LINER), 0.0)
        floor.append(walls.wall_loss(SURFACE, u, WATER_TEMP, GROUND_TEMP))
    bare = [resistance(*LINER), resistance(*PLANKS), walls.outside_resistance(1.0)]
    # EN 13163 lets EPS be declared from 0.030 to 0.045 W/(m·K)
    wall = [WALLS * (WATER_TEMP - AIR_TEMP) / (sum(bare) + 0.05 / declared) for declared in (0.030, 0.045)]
    return {
        "bare floor, on clay or on sand": (floor[0], floor[1]),
        "walls with 50 mm EPS, the best or the worst sold": (wall[0], wall[1]),
    }


def print_doubts() -> None:
    """Show how much the heat loss depends on the ground and on the quality of the board, as a table."""
    show_table(
        "Water at [18 °C], air at [8 °C], ground at [10 °C], wind 1 m/s, pond above ground",
        ("part of the pond", "loses, W", "apart, %"),
        [
            (case, f"{low:.0f} to {high:.0f}", f"{100 * (high / low - 1):.0f}")
            for case, (low, high) in uncertain_losses().items()
        ],
    )
