"""The balance of one operation: shares and rests of mass become kilograms, and what goes in is what comes out.

Streams with a known share of water are balanced twice, dry matter and water, so that a dryer's water appears by name:
a product "rest" of known moisture and a loss ``water = "rest"`` are two unknowns in two equations.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from linewright.network.context import Context


@dataclass(slots=True)
class Stream:
    """One thing that leaves an operation, for one piece in work: kg, base units, share of water (None: as the feed)."""

    name: str
    path: str = ""
    water: float | None = None
    unit_mass: float = math.nan
    share: float | None = None
    rest: bool = False
    kg: float = math.nan
    units: float = math.nan
    kg_water: float = math.nan


def separate(
    streams: list[Stream],
    losses: list[Stream],
    product: Stream,
    mass: float,
    water: float,
    unknown: list[str],
    path: str,
    context: Context,
) -> None:
    """Fill in kg and units of every stream; problems where the balance does not close or cannot be solved.

    ``mass`` and ``water`` are kg going in. ``product`` is the piece itself, among the streams: where its mass is not
    written it is what remains.
    """
    everything = streams + losses
    wants_mass = [s for s in everything if s.share is not None or s.rest]
    if wants_mass and not mass > 0:
        _refuse_unknown_mass(wants_mass[0], unknown, context)
        return
    for stream in everything:
        if stream.share is not None:
            stream.kg = stream.share * mass
    if math.isnan(mass):
        return
    open_streams = [s for s in everything if math.isnan(s.kg) and (s.rest or s is product)]
    wet = not math.isnan(water) and any(s.water is not None for s in everything)
    if any(math.isnan(s.kg) for s in everything if s not in open_streams):
        return  # a by-product counted in pieces whose mass is not known: nothing to balance
    _solve(open_streams, everything, mass, water, wet, path, context)
    for stream in everything:
        if math.isnan(stream.units) and not math.isnan(stream.kg):
            _to_units(stream, context)
        mean = water / mass if mass > 0 else 0.0
        stream.kg_water = stream.kg * (stream.water if stream.water is not None else mean)
    if product.water is None:  # nothing is said of the piece: it keeps the water that does not leave
        product.kg_water = water - sum(s.kg_water for s in everything if s is not product)
    _check(everything, product, mass, water, wet, path, context)


def _refuse_unknown_mass(stream: Stream, unknown: list[str], context: Context) -> None:
    names = ", ".join(unknown)
    context.problems.error(
        stream.path,
        f"a share of mass needs the mass of what goes in, and that of {names} is not known"
        if unknown
        else "a share of mass needs something that goes in, and nothing does",
        value="rest" if stream.rest else f"{(stream.share or 0):.6g}",
        hint=f"write items.{unknown[0]}.mass" if unknown and unknown[0] in context.items else None,
    )


def _solve(
    unknowns: list[Stream],
    everything: list[Stream],
    mass: float,
    water: float,
    wet: bool,
    path: str,
    context: Context,
) -> None:
    known = [s for s in everything if s not in unknowns]
    mean = water / mass if wet and mass > 0 else 0.0
    rest = mass - sum(s.kg for s in known)
    if len(unknowns) == 1:
        unknowns[0].kg = rest
    elif len(unknowns) == 2 and wet:
        a, b = unknowns
        if a.water is None or b.water is None or abs(a.water - b.water) < 1e-12:
            _refuse_two(unknowns, path, context)
            return
        rest_water = water - sum(s.kg * (s.water if s.water is not None else mean) for s in known)
        a.kg = (rest_water - b.water * rest) / (a.water - b.water)
        b.kg = rest - a.kg
    elif unknowns:
        _refuse_two(unknowns, path, context)
        return
    for stream in unknowns:
        if stream.kg < -1e-9 * mass:
            context.problems.error(
                stream.path or path,
                f"more leaves than goes in: {stream.name} would be {stream.kg:.6g} kg for a piece of {mass:.6g} kg",
            )
            stream.kg = math.nan
        elif stream.kg < 0:
            stream.kg = 0.0


def _refuse_two(unknowns: list[Stream], path: str, context: Context) -> None:
    names = " and ".join(s.name for s in unknowns)
    context.problems.error(
        unknowns[0].path or path,
        f"the mass of {names} cannot both be told from one balance",
        expected="one rest, or two streams of different known moisture",
        hint="write how much of one of them, or their moisture; or write the rest in the last operation of the route, "
        "where the mass of what it makes is known",
    )


def _to_units(stream: Stream, context: Context) -> None:
    if not stream.path or math.isnan(stream.kg):
        return  # the piece itself, going on as it is
    if stream.unit_mass > 0:
        stream.units = stream.kg / stream.unit_mass
        return
    context.problems.error(
        stream.path,
        f"a share of mass becomes units of {stream.name} only where the mass of one is known",
        hint=f"write items.{stream.name}.mass",
    )


def _check(
    everything: list[Stream],
    product: Stream,
    mass: float,
    water: float,
    wet: bool,
    path: str,
    context: Context,
) -> None:
    """Mass in = mass out within the plan's tolerance, and the same of water where every stream's water is known."""
    if any(math.isnan(s.kg) for s in everything):
        return
    out = sum(s.kg for s in everything)
    limit = context.plan.tolerance * max(mass, out)
    if abs(out - mass) > limit + 1e-12:
        more = "leaves more" if out > mass else "takes in more"
        context.problems.error(
            path,
            f"the operation {more} than it {'takes in' if out > mass else 'leaves'}: "
            f"{mass:.6g} kg in, {out:.6g} kg out for a piece",
            hint='name what leaves (loses = { trim = "rest" }), or mend a mass; plan.tolerance is '
            f"{context.plan.tolerance:.3g}",
        )
    elif wet and (product.water is not None):
        out_water = sum(s.kg_water for s in everything)
        if abs(out_water - water) > limit + 1e-12:
            context.problems.error(
                path,
                f"water does not balance: {water:.6g} kg in, {out_water:.6g} kg out for a piece",
                hint='name the water that leaves: loses = { water = "rest" }',
            )
