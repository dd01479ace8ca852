"""Who changes which slack, as things are now: the matrix that the rates are solved from.

It is laid out anew where a start-up begins or ends to spoil, or where other options are drawn; the most that everyone
may run is set at each solving.
"""

from __future__ import annotations

from linewright.simulate.kernel import flow_rows as f
from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.flow_belts import front
from linewright.simulate.kernel.flow_choices import AS_IT_COMES, RESTED_ON, lay_draws


def lay_out(m: Whole, x: Real, flows: int) -> None:
    """Who may run how fast, and the matrix where outputs or what is drawn have changed."""
    caps = m[flows + f.F_CAPS]
    changed = m[flows + f.F_STALE] == 1
    runner = m[flows + f.F_RUNNERS]
    for j in range(m[flows + f.F_N]):
        x[caps + j] = x[runner + f.N_CAP] if m[runner + f.N_MODE] != f.OFF else 0.0
        if m[runner + f.N_BELT] != 0:
            x[runner + f.N_FRONT] = front(m, x, runner)
            x[caps + m[runner + f.N_LEAVES]] = x[caps + j] * x[runner + f.N_FRONT]
        if lay_draws(m, x, flows, runner):
            changed = True
        runner += f.RUNNER_WIDTH
    if changed:
        m[flows + f.F_STALE] = 0
        _lay_out_matrix(m, x, flows)
    runner = m[flows + f.F_RUNNERS]
    for j in range(m[flows + f.F_N]):
        _cap_options(m, x, flows, runner, j)
        runner += f.RUNNER_WIDTH


def _lay_out_matrix(m: Whole, x: Real, flows: int) -> None:
    """What changes which slack now: outputs or scrap of each runner, what it rests on, what it draws as it comes."""
    acts, n, n_bounds = m[flows + f.F_ACTS], m[flows + f.F_N], m[flows + f.F_N_BOUNDS]
    present = m[flows + f.F_PRESENT]
    columns = m[flows + f.F_COLUMNS]
    for k in range(n_bounds * acts):
        x[present + k] = 0.0
        m[present + k] = 0
    runner = m[flows + f.F_RUNNERS]
    for j in range(n):
        for b in range(n_bounds):
            row, source = present + b * acts, m[flows + f.F_MATRIX] + b * columns
            x[row + j] = x[source + j]
            if m[runner + f.N_SPOILS] == 0:
                made = x[source + n + j]
            else:
                made = _spoiled(m, x, m[flows + f.F_BOUNDS] + b * f.BOUND_WIDTH, runner)
            x[row + (m[runner + f.N_LEAVES] if m[runner + f.N_BELT] != 0 else j)] += made
        _lay_out_options(m, x, flows, runner, j)
        for b in range(n_bounds):
            row, leaves = present + b * acts, m[runner + f.N_LEAVES]
            m[row + j] = 1 if x[row + j] < 0.0 else 0
            if m[runner + f.N_BELT] != 0 and x[row + leaves] < 0.0:
                m[row + leaves] = 1
                m[row + j] = 1
        runner += f.RUNNER_WIDTH
    for b in range(n_bounds):
        row, entries = present + b * acts, m[flows + f.F_ENTRIES] + b * (acts + 1)
        m[entries] = 0
        for a in range(acts):
            if x[row + a] != 0.0:
                m[entries] += 1
                m[entries + m[entries]] = a


def _spoiled(m: Whole, x: Real, bound: int, runner: int) -> float:
    """What is spoiled is open no more and wanted anew."""
    op, kind = m[runner + f.N_OP], m[bound + f.B_KIND]
    if m[bound + f.B_OF] != m[runner + f.N_ITEM] or (kind != f.WANTED and kind != f.OPEN_UNITS):
        return 0.0
    units = (1.0 if m[runner + f.N_BELT] != 0 else x[op + r.O_SURVIVES]) * x[op + r.O_TO_GO]
    return units if kind == f.WANTED else -units


def _lay_out_options(m: Whole, x: Real, flows: int, runner: int, j: int) -> None:
    """A runner draws what it rests on; an option drawn as it comes replaces that."""
    choices = m[runner + f.N_CHOICES]
    if choices == 0:
        return
    acts, n, n_bounds = m[flows + f.F_ACTS], m[flows + f.F_N], m[flows + f.F_N_BOUNDS]
    columns = m[flows + f.F_COLUMNS]
    a = m[runner + f.N_OPTION]
    for c in range(m[choices]):
        options = m[m[choices + 1 + c]]
        for b in range(n_bounds):
            source = m[flows + f.F_MATRIX] + b * columns + n
            row = m[flows + f.F_PRESENT] + b * acts
            rest = 0.0
            for k in range(options):
                if m[m[flows + f.F_DRAWS] + a + k] == RESTED_ON:
                    rest += x[m[flows + f.F_DRAWS] + a + k] * x[source + a + k]
            x[row + j] += rest
            for k in range(options):
                x[row + a + k] = x[source + a + k] - rest
            for k in range(options):
                if m[m[flows + f.F_DRAWS] + a + k] == AS_IT_COMES:
                    own = (m[m[flows + f.F_DRAWS] + a + k + acts] - m[flows + f.F_BOUNDS]) // f.BOUND_WIDTH
                    m[row + a + k] = 1 if own == b else 0
                else:
                    x[row + a + k] = 0.0
        a += options


def _cap_options(m: Whole, x: Real, flows: int, runner: int, j: int) -> None:
    """An option drawn as it comes may fill the whole feed; several share it."""
    choices = m[runner + f.N_CHOICES]
    if choices == 0:
        return
    a, caps = m[runner + f.N_OPTION], m[flows + f.F_CAPS]
    for c in range(m[choices]):
        options = m[m[choices + 1 + c]]
        drawn = _as_they_come(m, flows, a, options)
        for k in range(options):
            comes = m[m[flows + f.F_DRAWS] + a + k] == AS_IT_COMES
            x[caps + a + k] = x[caps + j] / drawn if comes else 0.0
        a += options


def _as_they_come(m: Whole, flows: int, a: int, options: int) -> int:
    count = 0
    for k in range(options):
        if m[m[flows + f.F_DRAWS] + a + k] == AS_IT_COMES:
            count += 1
    return max(count, 1)


def limits(m: Whole, flows: int, b: int, a: int) -> bool:
    """Whether a bound limits an activity; an option is also limited by all that limits its runner."""
    acts, n = m[flows + f.F_ACTS], m[flows + f.F_N]
    row = m[flows + f.F_PRESENT] + b * acts
    if m[row + a] == 1:
        return True
    owner = m[m[flows + f.F_CAPS] + a]
    return a >= n and owner >= 0 and m[row + owner] == 1
