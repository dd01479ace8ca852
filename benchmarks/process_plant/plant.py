"""The plan being played: its parts put together."""

from __future__ import annotations

import random

import simpy

from linewright.network import Network
from linewright.simulate.simulate import Prepared
from process_plant.carriers import Carriers
from process_plant.flows import Flows
from process_plant.journeys import Journeys
from process_plant.people import People
from process_plant.places import Places
from process_plant.readiness import Readiness
from process_plant.stock import Stock
from process_plant.tables import Tables
from process_plant.work import Work


class Plant:
    """A network let in flat out, with the parts made ahead that the simulation keeps."""

    def __init__(self, network: Network, prepared: Prepared, tables: Tables, seed: int) -> None:
        self.network, self.luck, self.env, self.tables = network, random.Random(seed), simpy.Environment(), tables
        self.stock = Stock(self, prepared)
        self.people = People(self)
        self.carriers = Carriers(self)
        self.places = Places(self)
        self.readiness = Readiness(self)
        self.work = Work(self)
        self.journeys = Journeys(self)
        self.flows = Flows(self, prepared)

    def begin(self) -> None:
        """Let in the first pieces, of each item in turn."""
        wanted = list(self.stock.made)
        while wanted:
            wanted = [item for item in wanted if self.stock.let_one_in(item)]
