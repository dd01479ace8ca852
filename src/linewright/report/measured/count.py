"""A kit counted by weight, shown on its own."""

from __future__ import annotations

from dataclasses import replace

from linewright.answer.quality.model import KitCount
from linewright.base.results import Table
from linewright.plan.model import Plan
from linewright.report import words
from linewright.report.good.charts import kit_chart
from linewright.report.good.tables import found_in_time, kit_in_words, kit_table
from linewright.report.single import Single


def shown(plan: Plan, counts: tuple[KitCount, ...]) -> Single:
    """Every kit of the plan that is weighed."""
    names = {key: words.name_of(key, item.name) for key, item in plan.items.items()}
    steps = {o.id: words.name_of(o.id, o.name) for route in plan.routes.values() for o in route.operations}
    tables: list[Table] = []
    charts = []
    for k, count in enumerate(counts):
        tables += [replace(kit_table(names, steps, count), note=""), apart(names, count), claims(count)]
        charts.append(replace(kit_chart(count, names), name=f"kit{k}"))
    good = not any(count.kit.hidden for count in counts)
    says = [said for count in counts for said in _says(names, steps, count)]
    return Single("Is a part missing from the kit?", good, tuple(says), tuple(tables), tuple(charts))


def _says(names: dict[str, str], steps: dict[str, str], count: KitCount) -> list[str]:
    step = f"{steps[count.operation]} {count.variant}".strip()
    hidden = count.kit.hidden
    if hidden:
        unseen = words.listed((names[part] for part in hidden), last="or")
        first = f'No: at the step "{step}" the scale cannot see one {unseen} missing.'
    else:
        first = f'Yes: at the step "{step}" the scale sees every part that is missing.'
    return [first, kit_in_words(names, count)]


def apart(names: dict[str, str], count: KitCount) -> Table:
    """What weighing one part apart would do."""
    if count.apart is None:
        return Table("What to weigh apart", (), ())
    rows = tuple((words.name_of(part, names.get(part, "")), words.share(worst)) for part, worst in count.apart.choices)
    columns = ("part weighed apart", "the least visible fault then passes")
    return Table(
        "What to weigh apart", columns, rows, f"All together it passes {words.share(count.apart.now)} of the time."
    )


def claims(count: KitCount) -> Table:
    """What the plan says that the check finds, beside what the masses allow."""
    rows = tuple((c.fault, found_in_time(c.written), found_in_time(c.computed)) for c in count.claims)
    return Table("What the plan says that the check finds", ("fault", "written", "by the masses"), rows)
