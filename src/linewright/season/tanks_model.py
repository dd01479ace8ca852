"""How many vessels of each size a harvest needs, and what is lost if one fails: the tables of the search."""

from __future__ import annotations

from dataclasses import dataclass

from linewright.base.results import Honesty, Interval, Provenance, Shown, Table


@dataclass(frozen=True, slots=True)
class Choice:
    """Counts of the vessels of one station by size, and how much of the aim is finished with them.

    ``most`` is the bound of the balance as a share of the aim, ``played`` the share that was played (None: not played).
    ``volume`` is what they hold together, in the unit of the sizes. ``planned`` tells the plan's own counts.
    """

    station: str
    counts: tuple[int, ...]
    volume: float
    most: float
    played: Interval | None
    planned: bool = False


@dataclass(frozen=True, slots=True)
class Failure:
    """One vessel out of use for the whole season: how much less is finished, at the bound and as it was played.

    ``lost`` and ``played_lost`` are units of the products together; ``money`` is the played loss (else that of the
    bound) at the price it is sold for, None without a price.
    """

    station: str
    size: str
    of: int
    lost: float
    played_lost: Interval | None
    money: float | None


@dataclass(frozen=True, slots=True)
class Tanks(Shown):
    """``sizes`` [n_stations] names of the sizes of each of ``stations`` (one empty name where all are alike).

    ``choices``: the plan's own counts, then those combinations than which none smaller can do: a bound, exact up to
    whole vessels. ``failures``: one vessel less than the plan has. ``money`` is the currency.
    """

    stations: tuple[str, ...]
    sizes: tuple[tuple[str, ...], ...]
    choices: tuple[Choice, ...]
    failures: tuple[Failure, ...]
    aim: float
    unit: str
    money: str
    honesty: Honesty
    provenance: Provenance
    notes: tuple[str, ...] = ()

    def of(self, station: str) -> tuple[Choice, ...]:
        """The choices of one station."""
        return tuple(choice for choice in self.choices if choice.station == station)

    def to_table(self) -> Table:
        """One row a choice."""
        rows = []
        for choice in self.choices:
            sizes = self.sizes[self.stations.index(choice.station)]
            named = ", ".join(
                f"{count} of {size}" if size else f"{count}" for count, size in zip(choice.counts, sizes, strict=True)
            )
            played = None if choice.played is None else 100 * choice.played.mean
            half = None if choice.played is None else 100 * choice.played.half_width
            what = "as planned" if choice.planned else "enough, and no fewer are"
            rows.append((choice.station, named, choice.volume, what, 100 * choice.most, played, half))
        columns = ("station", "vessels", "hold together", "what", "at most [%]", "played [%]", "+/- [%]")
        return Table("How many vessels of each size", columns, tuple(rows), "Shares of what the harvest would give.")

    def failure_table(self) -> Table:
        """One row a vessel that fails."""
        rows = []
        for one in self.failures:
            played = None if one.played_lost is None else one.played_lost.mean
            half = None if one.played_lost is None else one.played_lost.half_width
            rows.append((one.station, one.size, one.of, one.lost, played, half, one.money))
        columns = ("station", "size", "of", f"lost at the bound [{self.unit}]", f"lost, played [{self.unit}]",
                   f"+/- [{self.unit}]", f"money lost [{self.money}]" if self.money else "money lost")  # fmt: skip
        return Table("What is lost if one fails", columns, tuple(rows), "Out of use for the whole season.")
