"""All tables of named things, with their fields and the class of the model that each makes."""

from __future__ import annotations

from collections.abc import Mapping

from linewright.plan.carrier_fields import CARRIER
from linewright.plan.item_fields import ITEM
from linewright.plan.line_fields import LINE
from linewright.plan.model import Carrier, Crew, Item, Line, Route, Shift, Station, Store, Tool, Utility
from linewright.plan.option_fields import OPTION
from linewright.plan.option_model import Option
from linewright.plan.people_fields import CREW_TABLE, SHIFT
from linewright.plan.quality_fields import FIT
from linewright.plan.quality_model import Fit
from linewright.plan.record import Record
from linewright.plan.route_fields import ROUTE
from linewright.plan.station_fields import STATION, STORE, TOOL, UTILITY

CLASSES: Mapping[str, type] = {
    "options": Option,
    "items": Item,
    "stations": Station,
    "stores": Store,
    "tools": Tool,
    "carriers": Carrier,
    "crews": Crew,
    "shifts": Shift,
    "routes": Route,
    "lines": Line,
    "fits": Fit,
    "utilities": Utility,
}

RECORDS: Mapping[str, Record] = {
    "options": OPTION,
    "items": ITEM,
    "utilities": UTILITY,
    "shifts": SHIFT,
    "stores": STORE,
    "tools": TOOL,
    "carriers": CARRIER,
    "crews": CREW_TABLE,
    "stations": STATION,
    "routes": ROUTE,
    "lines": LINE,
    "fits": FIT,
}
"""Tables of named things, in the order in which they are read: what is named by others comes first."""
