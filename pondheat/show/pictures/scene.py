"""What a picture of a pond shows: its size, its weather, and how much heat moves which way."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from pondheat.core.ranges import OutOfRange
from pondheat.show.pictures.palette import HUES

SURFACE = ("evaporation", "convection", "long wave")
MUCH_WIDER = 1.6  # times the full width: arrows up to there still fit
FILTERS = {"filter", "filter, air, new water"}
LOSSES = (*HUES, "walls", "floor", "filter", "open surface")


@dataclass(frozen=True)
class PondScene:
    """One moment (or a mean) of a pond, as `pond.pond_picture` draws it.

    length, depth [m]: inside sizes of the cut; raised [m]: how far the water is above the lawn; losses [W] by name
    (keys of `LOSSES`; negative where the pond gains): only those given are drawn; sun, heater, pump [W]: heat given to
    the water, None where there is none to draw; water_temp, air_temp [degC], air_temp None to leave it out; outlines
    [W]: what some flows would otherwise be, drawn as outlines, and outlined, the word for that (“open”: without the
    cover); has_cover, covered: whether there is a cover, and the share of the water (or of the time) that it lies over
    [–]; hour: of the day 0–24, None for a mean of day and night; sunrise, sunset: hours; cloud [–]; wind [m/s];
    shelter [–]: share of the wind that reaches the water, drawn as a hedge, None for no hedge; ice, insulation [m]:
    thickness on the water, and of a board round walls and floor; room: whether it lies indoors; has_filter: whether to
    draw a filter; lettering: times the usual size, of a picture that is shown small.

    full [W]: flow of an arrow of full width, and fit (length, depth, raised) [m]: the largest pond: give the same to
    pictures that are compared. Raises `core.ranges.OutOfRange` for sizes and flows that can't be drawn.
    """

    length: float
    depth: float
    losses: Mapping[str, float]
    water_temp: float
    air_temp: float | None = None
    raised: float = 0.0
    sun: float | None = None
    heater: float | None = None
    pump: float | None = None
    outlines: Mapping[str, float] = field(default_factory=dict)
    outlined: str = "open"
    has_cover: bool = False
    covered: float = 0.0
    hour: float | None = None
    sunrise: float = 6.0
    sunset: float = 18.0
    cloud: float = 0.3
    wind: float = 0.0
    shelter: float | None = 0.5
    ice: float = 0.0
    insulation: float = 0.0
    room: bool = False
    has_filter: bool = True
    full: float | None = None
    lettering: float = 1.0
    fit: tuple[float, float, float] | None = None

    def __post_init__(self):
        if not (self.length > 0 and self.depth > 0 and 0 <= self.raised <= self.depth):
            raise OutOfRange(
                f"A pond {self.length:g} m long and {self.depth:g} m deep, {self.raised:g} m of it above the ground, "
                "can't be drawn: length and depth are above 0 m, and no more of it is above the ground than it is deep."
            )
        unknown = [name for name in self.losses if name not in LOSSES]
        if unknown:
            raise OutOfRange(
                f"“{unknown[0]}” is not a way of heat loss that a picture can show. It can show {', '.join(LOSSES)}."
            )
        if not all(abs(flow) < 1e9 for flow in self.flows.values()):
            raise OutOfRange("A flow of heat in a picture is a number of watts; one given here is none.")

    @property
    def gains(self) -> dict[str, float]:
        """Heat given to the water by sun, heater and pump [W], only where there is one."""
        given = {"sun": self.sun, "heater": self.heater, "pump": self.pump}
        return {name: flow for name, flow in given.items() if flow is not None}

    @property
    def flows(self) -> dict[str, float]:
        """Every flow that is drawn [W]."""
        return {**self.losses, **self.gains}

    @property
    def has_flows(self) -> bool:
        """Whether any heat moves; otherwise no number of watts is written, as nothing has been worked out yet."""
        return any((*self.flows.values(), *self.outlines.values()))

    @property
    def scale(self) -> float:
        """The flow of an arrow of full width [W]: `full`, or the largest that is drawn if that is far larger."""
        largest = max((abs(flow) for flow in (*self.flows.values(), *self.outlines.values())), default=0.0)
        if self.full and largest <= MUCH_WIDER * self.full:
            return self.full
        return max(largest, 1.0)

    @property
    def daylight(self) -> float:
        """How light the sky is, from 0 at night to 1 by day; dusk and dawn take an hour each [–]."""
        if self.hour is None:
            return 0.5
        hour = self.hour % 24
        return min(1.0, max(0.0, min(hour - self.sunrise, self.sunset - hour) + 0.5))
