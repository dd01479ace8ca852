"""What the balance of a season answers: how much of the harvest can be finished, and what every week looks like."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from linewright.base.results import Honesty, Provenance, Shown, Table, show
from linewright.network.model import Floats

LimitKind = Literal["harvest", "station", "crew", "store", "perishing", "lead time"]

MUCH = 0.02
"""The part of what comes of an item that may be over while one still says that all of the harvest is worked up."""
LITTLE = 1e-4
"""Less of it than that is not named."""


@dataclass(frozen=True, slots=True)
class Limit:
    """What keeps a season from finishing more: ``weight`` is its share of the reason, all shares add up to 1.

    ``weeks`` are the Mondays of the weeks in which it does, first and last.
    """

    kind: str
    name: str
    weight: float
    weeks: tuple[str, str]


@dataclass(frozen=True, slots=True)
class WeekBalance:
    """Every week of a season, Monday to Sunday: arrays [n_weeks, ...], units of each item.

    ``came``, ``spoiled`` of each item of ``harvest`` in the week; ``on_hand`` of it at the week's end. ``stock`` of
    each item of ``kept`` (made here, waiting) at the week's end. ``in_use`` is the mean number of places of each of
    ``vessels`` that hold something at midnight, ``most_in_use`` the greatest. ``finished`` of each of ``products``.
    """

    mondays: tuple[str, ...]
    harvest: tuple[str, ...]
    kept: tuple[str, ...]
    vessels: tuple[str, ...]
    counts: tuple[int, ...]
    products: tuple[str, ...]
    came: Floats
    spoiled: Floats
    on_hand: Floats
    stock: Floats
    in_use: Floats
    most_in_use: Floats
    finished: Floats

    def to_table(self) -> Table:
        """One row a week."""
        columns = ["week of"]
        columns += [f"{name} {what}" for name in self.harvest for what in ("in", "on hand", "spoiled")]
        columns += [f"{name} waiting" for name in self.kept]
        columns += [f"{name}, of {count}" for name, count in zip(self.vessels, self.counts, strict=True)]
        columns += [f"{name} finished" for name in self.products]
        rows = []
        for w, monday in enumerate(self.mondays):
            row: list[object] = [monday]
            for h in range(len(self.harvest)):
                row += [float(self.came[w, h]), float(self.on_hand[w, h]), float(self.spoiled[w, h])]
            row += [float(v) for v in self.stock[w]]
            row += [float(v) for v in self.most_in_use[w]]
            row += [float(v) for v in self.finished[w]]
            rows.append(tuple(row))
        return Table(
            "The season by weeks", tuple(columns), tuple(rows), "Stocks at the week's end, vessels at their most."
        )


@dataclass(frozen=True, slots=True)
class Variant:
    """One variant of what a season makes: ``aim`` units wanted, or its part of what the harvest gives; ``most``."""

    name: str
    unit: str
    aim: float
    most: float


@dataclass(frozen=True, slots=True)
class Season(Shown):
    """The most that a season can finish, as an upper bound for every way of running it.

    ``begins`` and ``ends`` are dates; ``products`` and ``units`` what is wanted. ``potential`` is what the harvest
    would give if nothing else were scarce (None where the products do not come from it), ``limits_item`` the item of it
    that is used up first, ``over`` [n_harvest] what is over of each item even when all of that is worked up.
    ``wanted`` is the demand over the horizon (None: as much as can be). ``most`` [n_products] is
    the bound, ``left`` the part of the harvest, by item, that is over at the end, spoiled or not. ``limits`` say why it
    is not more, the weightiest first; ``balance`` is one plan that reaches the bound, finishing as early as it can.
    Of a plan with options all this is of what was written, and ``variants`` tells those that are wanted one by one.
    """

    begins: str
    ends: str
    days: int
    working_days: int
    products: tuple[str, ...]
    units: tuple[str, ...]
    potential: float | None
    limits_item: str
    wanted: tuple[float, ...] | None
    most: tuple[float, ...]
    harvest: tuple[str, ...]
    harvest_units: tuple[str, ...]
    came: tuple[float, ...]
    spoiled: tuple[float, ...]
    left: tuple[float, ...]
    over: tuple[float, ...]
    limits: tuple[Limit, ...]
    balance: WeekBalance
    honesty: Honesty
    provenance: Provenance
    variants: tuple[Variant, ...] = ()

    @property
    def aim(self) -> float:
        """Units wanted, or where no demand is written what the harvest would give; all products together."""
        if self.wanted is not None:
            return sum(self.wanted)
        return self.potential if self.potential is not None else sum(self.most)

    @property
    def share(self) -> float:
        """The most that can be finished over what is aimed at, 1 at most."""
        return min(sum(self.most) / self.aim, 1.0) if self.aim > 0 else 1.0

    @property
    def fits(self) -> bool:
        """Whether no bound rules the aim out."""
        return self.share >= 1 - 1e-6

    @property
    def much_over(self) -> tuple[tuple[str, str, float], ...]:
        """Item, unit and amount of what no way of running the season could use, where it is more than a little."""
        every = zip(self.harvest, self.harvest_units, self.came, self.over, strict=True)
        return tuple((item, unit, over) for item, unit, came, over in every if over > MUCH * came)

    @property
    def tightest(self) -> str:
        """The name of what first keeps the season from finishing more, empty where the harvest alone does."""
        return next((limit.name for limit in self.limits if limit.kind != "harvest"), "") if not self.fits else ""

    @property
    def why(self) -> str:
        """One sentence: what keeps the season from finishing more, things by their ids."""
        return self.because(lambda id: id)

    def because(self, called: Callable[[str], str]) -> str:
        """The same with what things are called: an item, a station, a crew, a store or an operation by its id."""
        hard = [limit for limit in self.limits if limit.kind != "harvest"]
        if not self.fits and self.limits and not hard and self.wanted is not None:
            short = " and ".join(called(limit.name) for limit in self.limits)
            return f"At most {100 * self.share:.3g} % of it can be finished: no more comes of {short}."
        if self.fits or not hard:
            return self._why_it_fits(called)
        first, name = hard[0], called(hard[0].name)
        what = {
            "station": f"all room in {name} is taken", "crew": f"no hours of {name} are to spare",
            "store": f"there is no more room behind {name}" if first.name else "a store is full",
            "perishing": f"what waits of {name} spoils", "lead time": f"{name} is not through by the end",
        }.get(first.kind, name)  # fmt: skip
        begin, end = first.weeks
        when = f"in the week of {begin}" if begin == end else f"between the weeks of {begin} and {end}"
        return f"At most {100 * self.share:.3g} % of it can be finished: {what} {when}."

    def _why_it_fits(self, called: Callable[[str], str]) -> str:
        if self.wanted is not None:
            return "All that is wanted can be made within the horizon, by every bound."
        if not self.much_over:
            return f"Everything that comes can be worked up within the horizon, by every bound{self._but_for(called)}."
        left = " and ".join(f"{show(round(amount))} {unit} of {called(item)}" for item, unit, amount in self.much_over)
        return (
            f"As much as {called(self.limits_item)} allows can be made within the horizon, by every bound; it is used "
            f"up first, and {left} are left over."
        )

    def _but_for(self, called: Callable[[str], str]) -> str:
        """The little that goes into nothing, because something else is used up first; empty where there is none."""
        every = zip(self.harvest, self.harvest_units, self.came, self.over, strict=True)
        little = [(item, unit, over) for item, unit, came, over in every if over > LITTLE * came]
        if not little:
            return ""
        named = " and ".join(f"{show(round(amount))} {unit} of {called(item)}" for item, unit, amount in little)
        return f", but for {named}, which the recipe has no use for (used up first: {called(self.limits_item)})"

    def to_table(self) -> Table:
        """What came, what of it is lost or left, what is finished."""
        rows: list[tuple[object, ...]] = []
        for name, unit, came, spoiled, left in zip(
            self.harvest, self.harvest_units, self.came, self.spoiled, self.left, strict=True
        ):
            rows.append((f"{name} delivered", unit, came))
            rows.append((f"{name} spoiled", unit, spoiled))
            rows.append((f"{name} left over", unit, left - spoiled))
        for name, unit, most in zip(self.products, self.units, self.most, strict=True):
            rows.append((f"{name} finished, at most", unit, most))
        rows += [(f"{one.name} finished, at most", one.unit, one.most) for one in self.variants]
        if self.potential is not None:
            rows.append((f"all of the harvest would give ({self.limits_item} first)", self.units[0], self.potential))
        return Table(f"The season from {self.begins} to {self.ends}", ("what", "unit", "amount"), tuple(rows), self.why)

    def limits_table(self) -> Table:
        """What limits the season, by its weight."""
        rows = tuple((one.kind, one.name, 100 * one.weight, *one.weeks) for one in self.limits)
        columns = ("kind", "what", "share of the reason [%]", "from the week of", "to the week of")
        return Table("What limits the season", columns, rows)
