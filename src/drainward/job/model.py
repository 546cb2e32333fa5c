"""What is: the job and its parts, typed, validated, frozen. Metres, kilograms, seconds, degrees Celsius.

UnitModel (Drain, Floor, Panel,
           NamedHeight, Flange)                 one moulded unit, from its cut sheet
Room, Crew, Instrument, Reading                 the building, who works there, with what, and what was read
WaterTest (Puddle)                              water poured on a floor, and what was seen
Measure (What)                                  one tape, level or laser measure of a pocket
Received (Size)                                 one size, or the damage, of a unit as it arrived
SettingEvent (Work)                             one thing that was done when the unit was set
Delivered                                       what came to the site
RuleChoice, Water, Job                          the job with the rule sets that it picked and how its floors are wetted
"""

from __future__ import annotations

from datetime import date, datetime
from enum import StrEnum
from typing import Any, Literal

from pydantic import Field, field_validator, model_validator

from drainward.job.fittings import Fittings, Framing
from drainward.job.frozen import Frozen
from drainward.job.materials import Materials, Site
from drainward.job.planning import Calendar, Hours, Inspector, Kits
from drainward.job.support import Support

__all__ = [
    "Crew",
    "Delivered",
    "Drain",
    "Flange",
    "Floor",
    "Instrument",
    "Job",
    "Measure",
    "NamedHeight",
    "Panel",
    "Pattern",
    "Puddle",
    "Reading",
    "ReadingKind",
    "Received",
    "Room",
    "RuleChoice",
    "SettingEvent",
    "Size",
    "UnitModel",
    "Water",
    "WaterTest",
    "What",
    "Work",
]


class Drain(Frozen):
    """The outlet: its centre in the plan, the radius of its opening, and the body below the floor.

    open_area : of the grate, m2; None where the cut sheet does not tell;  pipe : inside diameter of its outlet, m
    """

    x: float
    y: float
    radius: float = Field(gt=0, lt=0.2)
    body_diameter: float = Field(gt=0)
    body_depth: float = Field(gt=0)
    open_area: float | None = Field(default=None, gt=0)
    pipe: float = Field(default=0.0508, gt=0.01, lt=0.3)


class NamedHeight(Frozen):
    """A floor height over the drain at a point of the floor's edge, as the cut sheet gives it."""

    x: float
    y: float
    height: float


class Floor(Frozen):
    """The floor as moulded.

    planes : flat panels between the drain and the edge, meeting in hips and valleys that run from the drain to
             the named points; `heights` are over the drain, at points of the edge
    cone   : one fall in every direction from the drain; `fall` is a ratio
    """

    form: Literal["planes", "cone"]
    thickness: float = Field(gt=0)
    heights: tuple[NamedHeight, ...] = ()
    fall: float | None = Field(default=None, gt=0, lt=0.2)

    @model_validator(mode="after")
    def _complete(self) -> Floor:
        if self.form == "planes" and len(self.heights) < 3:
            raise ValueError("a floor of planes needs a height at three points of its edge or more")
        if self.form == "cone" and self.fall is None:
            raise ValueError('a cone floor needs "fall"')
        return self


class Panel(Frozen):
    """What the floor panel is made of; defaults are of chopped-strand fibreglass, from memory.

    modulus : of elasticity, along the width where it differs, Pa;  modulus_across : from back to front, Pa; None where
    it is the same;  poisson : ratio;  u_modulus : standard uncertainty of either modulus, Pa
    """

    modulus: float = Field(default=6.895e9, gt=1e8, lt=1e12)
    modulus_across: float | None = Field(default=None, gt=1e8, lt=1e12)
    poisson: float = Field(default=0.3, ge=0, lt=0.5)
    u_modulus: float = Field(default=1.724e9, gt=0)


class Flange(Frozen):
    """The nailing flange that stands up against the studs."""

    width: float = Field(gt=0)
    thickness: float = Field(gt=0)


class UnitModel(Frozen):
    """A factory-moulded shower unit, from its cut sheet.

    Plan origin: back left inside corner seen from the opening; x right along the back wall (0..inside_width),
    y from the back wall to the opening (0..inside_depth), z up.
    tolerance : how far the sheet lets a size of a unit be off, m; None where it does not tell
    fittings : what hangs on its walls, over what the job says of all;  panel : of what its floor is made
    """

    id: str
    name: str
    style: Literal["bedded", "own base"]
    outside_width: float = Field(gt=0)
    outside_depth: float = Field(gt=0)
    outside_height: float = Field(gt=0)
    inside_width: float = Field(gt=0.3, lt=4)
    inside_depth: float = Field(gt=0.3, lt=4)
    threshold_height: float = Field(ge=0)
    threshold_width: float = Field(default=0.05, gt=0)
    threshold_lip: float | None = Field(default=None, ge=0, description="rise over the shower floor beside it, m")
    mass: float = Field(gt=0)
    drain: Drain
    floor: Floor
    flange: Flange
    minimum_cure: float = Field(gt=0, description="seconds")
    tolerance: float | None = Field(default=None, gt=0, lt=0.1)
    fittings: Fittings = Fittings()
    panel: Panel = Panel()

    @model_validator(mode="after")
    def _fits(self) -> UnitModel:
        if self.outside_width < self.inside_width or self.outside_depth < self.inside_depth:
            raise ValueError("the outside is smaller than the inside")
        d = self.drain
        if not (d.radius < d.x < self.inside_width - d.radius and d.radius < d.y < self.inside_depth - d.radius):
            raise ValueError("the drain lies outside the floor")
        return self


class Room(Frozen):
    room: str
    floor: str = ""
    unit: str
    ready: date | None = None
    due: date | None = None
    surveyed: dict[str, float] = Field(default_factory=dict, description="surveyed sizes, m, by column name")
    note: str = ""


class Crew(Frozen):
    """Who works together.

    skills : what they are trained for, in the job's own words;  hours : None for those of the calendar
    off : days on which they do not come;  day : what a day of theirs costs; None where nobody said
    """

    id: str
    name: str
    people: int = Field(gt=0)
    skills: tuple[str, ...] = ()
    hours: Hours | None = None
    off: tuple[date, ...] = ()
    day: float | None = Field(default=None, ge=0)


class Instrument(Frozen):
    """A measuring instrument with its standard uncertainties; length is the base it rests on."""

    id: str
    name: str
    length: float | None = Field(default=None, gt=0, description="m")
    u: float | None = Field(default=None, gt=0, description="of a height, wedge or chord, m")
    u_slope: float | None = Field(default=None, gt=0, description="of a slope, ratio")


class ReadingKind(StrEnum):
    HEIGHT = "height"
    WEDGE = "wedge"
    SLOPE = "slope"
    CHORD = "chord"
    TAP = "tap"
    PRESS = "press"


FLOOR_KINDS = (ReadingKind.HEIGHT, ReadingKind.WEDGE, ReadingKind.SLOPE, ReadingKind.CHORD)
"""The kinds that tell of a floor's shape; the others tell of its bed."""


class Reading(Frozen):
    """One reading, SI, with the written value beside it.

    height : spot height of (x, y) over one unknown datum per set-up, m
    wedge  : height at (x, y) less height at (x2, y2), m
    slope  : mean slope along (x, y) -> (x2, y2), positive where it rises that way, ratio
    chord  : straightedge over (x, y) -> (x2, y2): its height less the floor's at the middle, m
    tap    : 1 sound, 0 hollow;  press : movement under a stated weight, m;  weight : that weight, kg
    """

    id: str
    room: str
    kind: ReadingKind
    x: float
    y: float
    x2: float | None = None
    y2: float | None = None
    value: float
    u: float = Field(gt=0)
    weight: float | None = Field(default=None, gt=0)
    written: str = ""
    setup: str = ""
    stage: str = "draft"
    instrument: str = ""
    who: str = ""
    when: datetime | None = None
    note: str = ""
    file: str = ""
    line: int | None = None


class Pattern(StrEnum):
    """How water is put on a floor: sprinkled over all of it, emptied at a point, or falling from a shower head."""

    OVER_THE_FLOOR = "over the floor"
    AT_A_POINT = "at a point"
    SHOWER = "shower"


class Puddle(Frozen):
    """Water that was seen to stay: its middle in the plan, how wide and how deep there, m; None where not measured."""

    x: float
    y: float
    across: float | None = Field(default=None, gt=0)
    depth: float | None = Field(default=None, gt=0)


class WaterTest(Frozen):
    """Water poured on a floor, and what was seen, SI.

    poured, over : volume, m3, and how long the pouring took, s;  x, y : of the bucket or the head, None for the middle
    drained : s from the first water until the stream into the drain broke up into drops; None where nobody timed it
    puddles : seen after that; () none, None where nobody looked
    soap    : a drop of soap was wiped over the floor, so that a film does not hang by itself
    hottest : of the water at the head, degC;  flow : of the shower as it was caught, m3/s
    u_*     : standard uncertainties
    photo   : name of a file in `photos/` of the job folder, or of one kept in the record
    written : what was written for poured, drained and puddles
    """

    id: str
    room: str
    poured: float = Field(gt=0)
    over: float = Field(gt=0)
    how: Pattern = Pattern.OVER_THE_FLOOR
    x: float | None = None
    y: float | None = None
    drained: float | None = Field(default=None, gt=0)
    puddles: tuple[Puddle, ...] | None = None
    soap: bool = False
    hottest: float | None = None
    u_hottest: float = Field(default=1.0, gt=0)
    flow: float | None = Field(default=None, gt=0)
    u_flow: float = Field(default=5e-6, gt=0)
    photo: str = ""
    who: str = ""
    when: datetime | None = None
    note: str = ""
    written: str = ""
    file: str = ""
    line: int | None = None


class What(StrEnum):
    """What one measure of a pocket measures."""

    WIDTH = "width"
    DEPTH = "depth"
    DIAGONAL = "diagonal"
    PLUMB = "plumb"
    SQUARE = "square"
    STUD = "stud"
    SLAB = "slab"
    CORE = "core"
    CORE_FROM_LEFT = "core from left"
    CORE_FROM_BACK = "core from back"
    RECESS_WIDTH = "recess width"
    RECESS_DEPTH = "recess depth"
    RECESS_DEEP = "recess deep"
    BUILD_UP = "build-up"
    BLOCKING = "blocking"
    DOOR_WIDTH = "door width"
    CEILING = "ceiling"


class Measure(Frozen):
    """One tape, level or laser measure of a pocket; x from the left stud face, y from the back one, z from the floor.

    width    : between the left and the right stud faces at y, z;  depth : back stud faces to the front line at x, z
    diagonal : in the plan at z, from the back corner at `wall` to the other end of the front line
    plumb    : of `wall` at x or y: how far its face at z stands in over its foot, positive into the pocket
    square   : of the side wall `wall`: how far the corner at the back is open over the base y, negative where it closes
    stud     : the middle of a stud along `wall`, from the left or from the back
    slab     : spot height at x, y over one unknown datum per set-up
    core     : diameter of the hole for the drain; its middle from the left and from the back stud face
    recess   : width (along x), depth (along y) and how deep below the slab;  build-up : of the floor still to come
    blocking : the width of a board on `wall` from x or y to x2 or y2, with its lower edge at z
    door width, ceiling : clear width, and height over the finished floor
    value, u : m;  u : standard uncertainty
    """

    id: str
    room: str
    what: What
    wall: Literal["", "left", "back", "right"] = ""
    x: float | None = None
    y: float | None = None
    z: float | None = None
    x2: float | None = None
    y2: float | None = None
    value: float
    u: float = Field(gt=0)
    written: str = ""
    setup: str = ""
    instrument: str = ""
    who: str = ""
    when: datetime | None = None
    note: str = ""
    file: str = ""
    line: int | None = None


class Size(StrEnum):
    """What is measured of a unit as it arrived, or seen of it."""

    OUTSIDE_WIDTH = "outside width"
    OUTSIDE_DEPTH = "outside depth"
    OUTSIDE_HEIGHT = "outside height"
    INSIDE_WIDTH = "inside width"
    INSIDE_DEPTH = "inside depth"
    THRESHOLD_HEIGHT = "threshold height"
    DRAIN_X = "drain x"
    DRAIN_Y = "drain y"
    FLANGE_WIDTH = "flange width"
    DAMAGE = "damage"


class Received(Frozen):
    """One size of a unit as it arrived, or its damage.

    value, u : m and its standard uncertainty; for damage 1 where there is some and 0 where none was seen, u None
    written  : the size as it was written, or the damage in words
    photo    : name of a file in `photos/` of the job folder, or of one kept in the record
    """

    id: str
    room: str
    what: Size
    value: float
    u: float | None = Field(default=None, gt=0)
    written: str = ""
    photo: str = ""
    instrument: str = ""
    who: str = ""
    when: datetime | None = None
    note: str = ""
    file: str = ""
    line: int | None = None


class Work(StrEnum):
    """What was done, or measured, when a unit was set."""

    MORTAR_USED = "mortar used"
    GAP_UNDER_THRESHOLD = "gap under threshold"
    BED_PLACED = "bed placed"
    SLAB_TEMPERATURE = "slab temperature"
    AIR_TEMPERATURE = "air temperature"
    FASTENED = "fastened"
    BRACES_ON = "braces on"
    BRACES_OFF = "braces off"
    HEAD_OVER_DRAIN = "head over drain"
    HEAD_OVER_THRESHOLD = "head over threshold"
    CORRECTED = "corrected"
    SECOND_LOOK = "second look"


class SettingEvent(Frozen):
    """One thing that was done in a room when its unit was set, or measured there.

    mortar used : powder, kg;  slab temperature, air temperature : degC
    gap under threshold : from the slab to its underside, the unit dry set at its height, m
    head over drain, head over threshold : from the unit's floor and from the threshold's top straight up to the ceiling
    or the framing against which a brace is wedged, m
    the others have no value, and u None
    when : aware where a zone was written, else by the clock on the wall (`Site.utc`)
    """

    id: str
    room: str
    what: Work
    value: float | None = None
    u: float | None = Field(default=None, gt=0)
    written: str = ""
    instrument: str = ""
    who: str = ""
    when: datetime
    note: str = ""
    file: str = ""
    line: int | None = None


class Delivered(Frozen):
    """What came to the site.

    what : as `takeoff` names it, such as mortar;  packs : as it names them, less than nought for what went back
    """

    when: date
    what: str
    packs: float
    note: str = ""
    file: str = ""
    line: int | None = None


class Water(Frozen):
    """How the job wets its floors: the water test, and the shower in use, SI.

    poured, over, how : the test that is computed before one is poured
    flow : of the shower with all its heads open, m3/s;  temperature : of the water poured, degC
    contact_angle : receding and advancing, of water on the unit's surface, degrees
    """

    poured: float = Field(default=3.785411784e-3, gt=0, lt=0.2)
    over: float = Field(default=60.0, gt=0, le=3600)
    how: Pattern = Pattern.OVER_THE_FLOOR
    flow: float = Field(default=2.5 * 3.785411784e-3 / 60, gt=0, lt=0.01)
    temperature: float = Field(default=20.0, ge=1, le=60)
    contact_angle: tuple[float, float] = (30.0, 75.0)

    @field_validator("contact_angle")
    @classmethod
    def _advances(cls, angles: tuple[float, float]) -> tuple[float, float]:
        receding, advancing = angles
        if not 0 < receding <= advancing <= 150:
            raise ValueError("expected two angles, receding and advancing, the first no larger than the second")
        return angles


class RuleChoice(Frozen):
    """What the job picked: rule sets by id, local rules that override, rows confirmed against the printed text."""

    use: tuple[str, ...] = ("us-plumbing-irc-2021", "us-ada-2010", "practice")
    shower: Literal["transfer", "standard roll-in", "alternate roll-in", "not accessible"] = "standard roll-in"
    clear_space_in_shower: bool = False
    confirmed: tuple[str, ...] = ()
    local: tuple[dict[str, Any], ...] = ()


class Job(Frozen):
    name: str
    risk: float = Field(default=0.05, gt=0, lt=0.5)
    rules: RuleChoice = RuleChoice()
    fall_base: float = Field(default=0.3048, gt=0.05, lt=1.5, description="length over which a fall is judged, m")
    pond_counts: float = Field(default=0.0015875, gt=0, description="depth from which a pond counts, m")
    water: Water = Water()
    fittings: Fittings = Fittings()
    framing: Framing = Framing()
    materials: Materials = Materials()
    support: Support = Support()
    site: Site = Site()
    units: dict[str, UnitModel] = Field(default_factory=dict)
    rooms: tuple[Room, ...] = ()
    crews: tuple[Crew, ...] = ()
    instruments: dict[str, Instrument] = Field(default_factory=dict)
    readings: tuple[Reading, ...] = ()
    water_tests: tuple[WaterTest, ...] = ()
    survey: tuple[Measure, ...] = ()
    received: tuple[Received, ...] = ()
    setting: tuple[SettingEvent, ...] = ()
    delivered: tuple[Delivered, ...] = ()
    calendar: Calendar = Calendar()
    kits: Kits = Kits()
    inspectors: tuple[Inspector, ...] = ()
    corrections: dict[str, float] = Field(default_factory=dict, description="by room, s; 0 where none is needed")
