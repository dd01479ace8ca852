"""A whole plan in SimPy, a general-purpose process-simulation library: the yardstick for the examples.

It plays what most plans hold (pieces, loads and flows) as docs/simulate.md says it; what it does not play it names. It
is written from that page and knows nothing of the kernel, so it is a second reading of the meaning too. The same
statistics are kept: pieces finished, time in plant, states of places, crew use, stock over time.

One idea a file. ``playable`` says what is not played. ``things`` are pools, claims, pieces, places and stations.
``tables`` are the plan in plain lists, ``variants`` what those of one operation share, ``luck`` its random times.
``people`` takes crews, tools and parts together; ``stock`` keeps what is on hand and lets work in; ``carriers`` brings
them back; ``places`` has the queues and who goes in; ``work`` is a place at work, ``readiness`` its cleaning, setups
and start-ups; ``journeys`` says what becomes of a piece. ``flows`` has the events of what runs at a rate: ``runners``
are the places, ``levels`` what moves, ``feeds`` what is drawn, ``columns`` who changes what, ``active`` and ``rates``
how fast. ``plant`` puts them together, ``playing`` runs it and reads the statistics. Each part has the plant as
``self.plant`` and reaches the others through it.
"""

from process_plant.playable import cannot_play
from process_plant.playing import Played, play_plant

__all__ = ["Played", "cannot_play", "play_plant"]
