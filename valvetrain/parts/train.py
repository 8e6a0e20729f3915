"""Everything that moves one valve."""

from dataclasses import dataclass, field

from valvetrain.parts.adjuster import Adjuster, Head, Shapes
from valvetrain.parts.contact import Contact
from valvetrain.parts.control import Control
from valvetrain.parts.lobe import Lash, Lobe
from valvetrain.parts.masses import Masses
from valvetrain.parts.piston import Piston
from valvetrain.parts.pushrod import Pushrod, Tappet
from valvetrain.parts.rocker import Rocker, Shaft
from valvetrain.parts.spring import InsideSpring, Spring
from valvetrain.parts.thermal import Hot, Thermal
from valvetrain.parts.valve import Station, Valve

__all__ = ["Train"]


@dataclass(frozen=True, kw_only=True)
class Train:
    """The train of one valve, from lobe to valve head.

    Attributes:
        name: the valve's name, such as "3E".
        cylinder: number of its cylinder, from 1 at the front.
        role: "intake" or "exhaust".
    """

    name: str
    cylinder: int
    role: str
    shaft: Shaft
    rocker: Rocker
    pushrod: Pushrod
    tappet: Tappet
    valve: Valve
    station: Station
    spring: Spring
    lobe: Lobe
    lash: Lash
    adjuster: Adjuster = field(default_factory=Adjuster)
    head: Head = field(default_factory=Head)
    shapes: Shapes = field(default_factory=Shapes)
    contact: Contact = field(default_factory=Contact)
    masses: Masses = field(default_factory=Masses)
    control: Control = field(default_factory=Control)
    thermal: Thermal = field(default_factory=Thermal)
    hot: Hot = field(default_factory=Hot)
    piston: Piston = field(default_factory=Piston)
    middle_spring: InsideSpring = field(default_factory=InsideSpring)
    inner_spring: InsideSpring = field(default_factory=InsideSpring)
