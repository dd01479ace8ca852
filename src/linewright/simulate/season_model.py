"""What the play of a season shows: what is finished, lost and left, and the tanks in use, each with its interval."""

from __future__ import annotations

from dataclasses import dataclass

from linewright.base.results import Honesty, Interval, Provenance, Shown, Table
from linewright.network.model import Floats
from linewright.simulate.model import Cared, Estimates

DUST = 1e-6
"""Units that are nothing but rounding."""


@dataclass(frozen=True, slots=True)
class Standing:
    """What stood in the places of a station at the end of a season, on its way to becoming an item."""

    station: str
    item: str
    unit: str
    amount: Interval


@dataclass(frozen=True, slots=True)
class SeasonRun(Shown):
    """A season played again and again; intervals of 95 % from independent replications, nothing left out as warm-up.

    ``finished`` [n_products] units by the end, ``total`` of all together, ``total_of_each`` [n_replications] behind it.
    Of each item of ``harvest``: ``came`` (the same every time), ``spoiled``, ``left`` on hand at the end. ``waiting``
    [n_kept]: units of what is made here on hand at the end; ``open_pieces`` [n_routes] in work at the end, and
    ``standing`` how much of it was in the places of which station.

    By week, means over replications: ``week_finished`` [n_weeks, n_products], ``week_on_hand`` [n_weeks, n_harvest] at
    the end, ``week_spoiled`` [n_weeks, n_harvest] in the week, ``week_in_use`` [n_weeks, n_stations] the greatest
    number of places that hold something at a midnight (mean over replications, with intervals). ``most_in_use``
    [n_stations] is the greatest of all. ``state_share`` [n_stations, n_states] of the horizon, ``crew_use`` people at
    work over people there.

    ``campaigns``: how often each route with a campaign began one. ``cares``: work during stands. Of a plan with
    options all this is of what was written; ``variants`` pairs each that is wanted with what is finished of it.
    """

    products: tuple[str, ...]
    units: tuple[str, ...]
    harvest: tuple[str, ...]
    kept: tuple[str, ...]
    kept_units: tuple[str, ...]
    stations: tuple[str, ...]
    crews: tuple[str, ...]
    routes: tuple[str, ...]
    mondays: tuple[str, ...]
    finished: tuple[Interval, ...]
    total: Interval
    total_of_each: Floats
    came: Floats
    spoiled: Estimates
    left: Estimates
    waiting: Estimates
    open_pieces: Estimates
    standing: tuple[Standing, ...]
    week_finished: Estimates
    week_on_hand: Estimates
    week_spoiled: Estimates
    week_in_use: Estimates
    most_in_use: Floats
    state_share: Estimates
    crew_use: Estimates
    campaigns: tuple[tuple[str, Interval], ...]
    cares: tuple[Cared, ...]
    events: int
    provenance: Provenance
    honesty: Honesty
    notes: tuple[str, ...] = ()
    variants: tuple[tuple[str, Interval], ...] = ()

    def to_table(self) -> Table:
        """What is finished, spoiled and left, with intervals."""
        rows: list[tuple[object, ...]] = [
            (f"{name} finished", unit, one.mean, one.low, one.high)
            for name, unit, one in zip(self.products, self.units, self.finished, strict=True)
        ]
        unit = dict(zip(self.products, self.units, strict=True))
        rows += [
            (f"{name} finished", unit[name.partition(" [")[0]], one.mean, one.low, one.high)
            for name, one in self.variants
        ]
        for what, found in (("spoiled", self.spoiled), ("left", self.left)):
            for k, name in enumerate(self.harvest):
                one = found.interval(k)
                rows.append((f"{name} {what}", "", one.mean, one.low, one.high))
        columns = ("what", "unit", "mean", "low", "high")
        note = f"95 % intervals from {self.honesty.replications} independent replications of the season"
        return Table("What really happens in the season", columns, tuple(rows), note)

    @property
    def unfinished(self) -> tuple[tuple[str, str, str, Interval], ...]:
        """Item, unit, station ("" where it lies outside of places) and amount of what was made and not used up or not
        made ready by the end; the dust of rounding is left out.
        """
        lies = [
            (item, unit, "", self.waiting.interval(k))
            for k, (item, unit) in enumerate(zip(self.kept, self.kept_units, strict=True))
        ]
        stands = [(one.item, one.unit, one.station, one.amount) for one in self.standing]
        return tuple(row for row in (*stands, *lies) if row[3].mean > DUST)

    def care_table(self) -> Table:
        """One row a kind of work during a stand."""
        rows = tuple(
            (one.operation, one.name, one.done.mean, one.late.mean, one.missed.mean, one.delay) for one in self.cares
        )
        columns = ("while", "what", "done", "of it late", "missed", "mean lateness [h]")
        return Table("Work while it stands", columns, rows, "Times in the season, means over the replications.")

    def week_table(self) -> Table:
        """One row a week: what is finished, and the most places of each station that hold something."""
        used = [s for s in range(len(self.stations)) if self.most_in_use[s] > 0]
        columns = ("week of", *(f"{p} finished" for p in self.products), *(f"{h} on hand" for h in self.harvest),
                   *(f"{self.stations[s]} in use" for s in used))  # fmt: skip
        rows = tuple(
            (monday, *self.week_finished.mean[w].tolist(), *self.week_on_hand.mean[w].tolist(),
             *self.week_in_use.mean[w, used].tolist())
            for w, monday in enumerate(self.mondays)
        )  # fmt: skip
        return Table("The season by weeks, played", columns, rows, "Means over the replications.")
