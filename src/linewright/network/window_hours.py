"""Can a window be met by the hours of the people? Where it opens in the evening and closes before morning it cannot."""

from __future__ import annotations

from linewright.base.calendar import HOUR, WEEK, Calendar
from linewright.base.problems import Problems
from linewright.network.lending import able_to
from linewright.network.model import Network, Stops


def check_window_hours(network: Network, problems: Problems) -> None:
    """An error for every window that is never open while those are there who must begin the operation.

    Asked where people do the operation before to its end, so that it ends in their hours; what stands or runs alone may
    end at any time.
    """
    operations, windows = network.operations, network.windows
    for w, (after, o) in enumerate(zip(windows.after.tolist(), windows.operation.tolist(), strict=True)):
        least, most = int(windows.least[w]), int(windows.most[w])
        by_hand = bool(operations.hands_all[o]) or int(operations.hands_start[o]) > 0
        if most == 0 or not by_hand or not _ends_in_hours(network, after):
            continue
        ends = [_hours(able_to(network, c)) for c in operations.crews.row(after)[0].tolist()]
        begins = [_hours(able_to(network, c)) for c in operations.crews.row(o)[0].tolist()]
        never = [c for c, hours in enumerate(begins) if not any(_meet(end, hours, least, most) for end in ends)]
        if never:
            crew = network.crews.ids[operations.crews.row(o)[0].tolist()[never[0]]]
            opens = f"from {least / HOUR:g} h to {most / HOUR:g} h" if least else f"for {most / HOUR:g} h"
            problems.error(
                f"{operations.paths[o]}.wait",
                f"the window of {operations.ids[o]} can never be met: it is open {opens} after "
                f"{operations.ids[after]}, and no {crew} is there then",
                expected="a time at which people are there", hint="other hours, or a longer window",
            )  # fmt: skip


def _ends_in_hours(network: Network, o: int) -> bool:
    """Whether an operation surely ends while its people are there."""
    operations = network.operations
    stays = bool(operations.hands_all[o]) and float(operations.stand.mean[o]) == 0
    return stays and int(operations.stop[o]) != Stops.FINISH


def _hours(calendar: Calendar) -> list[tuple[int, int]]:
    """From and to of every stretch of the week at which anybody is there."""
    ends = [*calendar.at.tolist()[1:], WEEK]
    rows = zip(calendar.at.tolist(), ends, calendar.level.tolist(), strict=True)
    return [(begin, end) for begin, end, level in rows if level > 0]


def _meet(ends: list[tuple[int, int]], begins: list[tuple[int, int]], least: int, most: int) -> bool:
    """Whether something that ends in one stretch may begin ``least`` to ``most`` later in another, in any week."""
    for begin, end in ends:
        opens, closes = begin + least, end + most
        for first, last in begins:
            week = (opens - last) // WEEK + 1  # the first week in which the stretch ends after the window opens
            if first + week * WEEK <= closes:
                return True
    return False
