"""What a place must do before it works: clean, set up, start up; and the cleaning after a load.

As docs/simulate.md says it: cleaning follows a load before the next may come, or comes due by shift, day or count; a
setup once per so many pieces or when the item changes; a start-up after a stoppage or when a shift begins, and what it
spoils are the first pieces that come. A shift begins where nobody was there for more than two hours.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from linewright.base.calendar import DAY, NS, WEEK, Calendar, shifts_begin
from linewright.network.model import Cleans, Setups, Starts
from linewright.simulate.kernel import rows as r
from process_plant.luck import draws_of
from process_plant.things import Needs, Place, Steps

if TYPE_CHECKING:
    from process_plant.plant import Plant

DAY_S, WEEK_S = DAY / NS, WEEK / NS
CLEANING, SETTING, STARTING = "cleaning", "setting", "starting"


class Readiness:
    """The clocks and counts of cleaning, setups and start-ups, kept by place and step."""

    def __init__(self, plant: Plant) -> None:
        self.plant, self.tables, p = plant, plant.tables, plant.network.operations
        self.times = {
            what: draws_of(d, plant.luck) for what, d in ((CLEANING, p.clean), (SETTING, p.setup), (STARTING, p.start))
        }
        self.shifts = [self.begins(o) for o in range(self.tables.n)]
        self.may_be_due = [
            bool(p.clean_when[o] > Cleans.LOAD or p.setup_when[o] or p.start_when[o]) for o in range(self.tables.n)
        ]

        self.counts = [
            bool(p.clean_when[o] in (Cleans.LOAD, Cleans.EVERY) or p.setup_when[o] == Setups.EVERY)
            for o in range(self.tables.n)
        ]
        """[n_operations] whether a start brings anything nearer."""
        self.known: dict[tuple[int, str], tuple[Needs, Needs]] = {}

    def begins(self, o: int) -> list[float]:
        """When in the week shifts begin at an operation: by its first crew, else its station, else anybody's hours."""
        network = self.plant.network
        crews, stations = network.operations.crews.row(o)[0], network.operations.stations.row(o)[0]
        calendar: Calendar = network.open_calendar
        if len(crews):
            calendar = network.calendars[int(network.crews.calendar[crews[0]])]
        elif len(stations) and network.stations.calendar[stations[0]] >= 0:
            calendar = network.calendars[int(network.stations.calendar[stations[0]])]
        starts = shifts_begin(calendar.at, calendar.level)
        return [t / NS for t in calendar.at[starts].tolist()]

    def shift(self, o: int) -> int:
        """Shifts begun at an operation so far."""
        weeks, passed = divmod(self.plant.env.now, WEEK_S)
        return int(weeks) * len(self.shifts[o]) + sum(at <= passed for at in self.shifts[o])

    def until_due(self, place: Place, o: int, rate: float) -> float:
        """s until something comes due by count at a rate, or another day begins; shifts begin with people."""
        step, soonest = self.tables.step[o], math.inf
        if self.tables.clean_when[o] == Cleans.DAY:
            soonest = DAY_S - self.plant.env.now % DAY_S
        for left in (place.left_to_setup.get(step), place.left_to_clean.get(step)):
            if left is not None:
                soonest = min(soonest, max(left, 0.0) / rate)
        return soonest

    def due(self, place: Place, o: int) -> str | None:
        """What comes first: cleaning, a setup, a start-up, or nothing."""
        if not self.may_be_due[o]:
            return None
        tables, step = self.tables, self.tables.step[o]
        clean, setup, start = tables.clean_when[o], tables.setup_when[o], tables.start_when[o]
        if clean in (Cleans.SHIFT, Cleans.DAY) and place.cleaned.get(step, 0) != self.period(o, clean):
            return CLEANING
        if clean == Cleans.EVERY and place.left_to_clean.setdefault(step, tables.clean_every[o]) <= 1e-9:
            return CLEANING
        if setup == Setups.EVERY and place.left_to_setup.get(step, 0.0) <= 1e-9:
            return SETTING
        if setup == Setups.ITEM_CHANGES and self.is_another(place, o):
            return SETTING
        if start == Starts.STOP and place.restart:
            return STARTING
        if start == Starts.SHIFT and place.started.get(step, -1) != self.shift(o):
            return STARTING
        return None

    def period(self, o: int, clean: int) -> int:
        return self.shift(o) if clean == Cleans.SHIFT else int(self.plant.env.now // DAY_S)

    def is_another(self, place: Place, o: int) -> bool:
        """Whether the place ran another item last, or something from which a changeover is written."""
        if place.last == o:
            return False
        other = place.last < 0 or self.tables.changing[place.last] != self.tables.changing[o]
        return other or (place.last, o) in self.tables.changes

    def needs(self, o: int, what: str) -> tuple[Needs, Needs]:
        """Parts and people for it; a start-up is done by the people of the operation."""
        if (o, what) not in self.known:
            tables, items = self.tables, self.plant.stock.items
            crews = {CLEANING: tables.clean_crews, SETTING: tables.setup_crews, STARTING: tables.crews}[what][o]
            takes = [] if what == STARTING else (tables.clean_takes if what == CLEANING else tables.setup_takes)[o]
            parts = [(items[i], a) for i, a in takes if not items[i].endless]
            self.known[o, what] = parts, self.plant.work.team(o, crews)
        return self.known[o, what]

    def make_ready(self, place: Place, o: int, what: str) -> Steps:
        """One of them is done."""
        tables, step, work = self.tables, self.tables.step[o], self.plant.work
        seconds = tables.changes.get((place.last, o)) if what == SETTING else None
        seconds = self.times[what][o]() if seconds is None else seconds
        needs, crews = self.needs(o, what)
        yield from work.crewed(place, seconds, needs, crews, r.SETTING_UP)
        if what == CLEANING:
            place.dirty = -1
            if tables.clean_when[o] == Cleans.EVERY:
                place.left_to_clean[step] += tables.clean_every[o]
            else:
                place.cleaned[step] = self.period(o, tables.clean_when[o])
        elif what == SETTING:
            place.last = o
            if tables.setup_when[o] == Setups.EVERY:
                place.left_to_setup[step] = place.left_to_setup.get(step, 0.0) + tables.setup_every[o]
        else:
            place.restart = False
            place.started[step] = self.shift(o)
            place.due_scrap += tables.start_scrap[o]

    def count(self, place: Place, o: int, pieces: float) -> None:
        """So many pieces are begun: what comes due by count comes nearer, and after a load there is cleaning."""
        tables, step = self.tables, self.tables.step[o]
        if tables.setup_when[o] == Setups.EVERY:
            place.left_to_setup[step] = place.left_to_setup.get(step, 0.0) - pieces
        if tables.clean_when[o] == Cleans.EVERY:
            place.left_to_clean[step] = place.left_to_clean.get(step, tables.clean_every[o]) - pieces
        elif tables.clean_when[o] == Cleans.LOAD:
            place.dirty = o
