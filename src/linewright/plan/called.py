"""What the author of a plan calls a thing: the name that he gave it, else its id with spaces."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from linewright.plan.model import Operation, Plan


class Named(Protocol):
    """Anything of a plan that has an id and may have a name."""

    @property
    def id(self) -> str:
        """The id."""

    @property
    def name(self) -> str:
        """The name; empty where none is written."""


def called(thing: Named) -> str:
    """The name of a thing as it stands in the middle of a sentence; of an operation in quotes, for it is a sentence.

    >>> from linewright.plan.model import Station
    >>> called(Station("bond_frame", name="Bonding frame")), called(Station("CNC")), called(Station("trim_booth"))
    ('bonding frame', 'CNC', 'trim booth')
    >>> called(Operation("cure", "Cure in the frame")), called(Operation("lift_out"))
    ('"Cure in the frame"', 'lift out')
    """
    if isinstance(thing, Operation) and thing.name:
        return f'"{thing.name}"'
    name = thing.name or thing.id.replace("_", " ")
    return name if name[1:2].isupper() else name[:1].lower() + name[1:]


def kind_called(things: Mapping[str, Named], id: str) -> str:
    """What one of several kinds is called, such as ``last [41, left]``: the name of all, then the values.

    >>> from linewright.plan.model import Carrier
    >>> lasts = Carrier("last", 12, joins=("pull_on",), leaves=("slip",), name="Plastic last")
    >>> kind_called({"last": lasts}, "last [41, left]"), kind_called({}, "jig [41]")
    ('plastic last 41, left', 'jig 41')
    """
    own, _, values = id.partition(" [")
    thing = things.get(own)
    name = called(thing) if thing is not None else own.replace("_", " ")
    return f"{name} {values.removesuffix(']')}".strip()


def thing_called(plan: Plan, id: str) -> str:
    """What an item, a station, a crew, a store or an operation is called, by its id and what may follow its comma."""
    own, comma, rest = id.partition(",")
    tables: tuple[Mapping[str, Named], ...] = (plan.items, plan.stations, plan.crews, plan.stores)
    found = next((table[own] for table in tables if own in table), None)
    return f"{called(found) if found is not None else step_called(plan, own)}{comma}{rest}"


def step_called(plan: Plan, id: str) -> str:
    """What an operation is called, by its id; an id that no operation has is given with spaces."""
    every = (o for route in plan.routes.values() for o in route.operations)
    return next((called(o) for o in every if o.id == id), id.replace("_", " "))


def item_called(plan: Plan, id: str) -> str:
    """What an item is called, by its id; an id that no item has is given with spaces."""
    return called(plan.items[id]) if id in plan.items else id.replace("_", " ")
