"""The variants of a plan with options: what each is wanted, takes and costs, and what waits for its mate."""

from __future__ import annotations

from linewright.answer.model import Answer
from linewright.base.results import Table, show, show_interval
from linewright.plan.called import kind_called
from linewright.report import words

MANY = 16
"""Variants that a terminal shows one by one; more are summed up by what is chosen."""


def in_short(answer: Answer) -> Table:
    """The variants for a terminal: one by one where they are few, else by the value of each option."""
    every = table(answer)
    return every if len(every.rows) <= MANY else by_value(answer)


def by_value(answer: Answer) -> Table:
    """One row a value of an option where there are many variants; nothing where they are few."""
    found = answer.variants
    if found is None or len(found.wanted) <= MANY:
        return Table("The variants by what is chosen", (), ())
    told = found.by_value()
    options = {key: words.name_of(key, option.name) for key, option in answer.plan.options.items()}
    rows = tuple(
        (f"{options[option]}: {value}", show(wanted), f"{minutes:.1f}", *(f"{money:,.2f}" for money in rest))
        for option, value, wanted, minutes, *rest in told.rows
    )
    costs = [product.total for product in found.cost.products]
    note = (
        f"{len(costs)} variants; means of those with each value, by how many are wanted. One costs "
        f"{min(costs):,.2f} to {max(costs):,.2f} {answer.cost.money}. Every variant is in the report."
    )
    return Table(told.title, ("variants with", *told.columns[2:]), rows, note)


def table(answer: Answer) -> Table:
    """One row a demanded variant; nothing where the plan has none."""
    found = answer.variants
    if found is None or len(found.wanted) < 2:
        return Table("The variants one by one", (), ())
    told = found.to_table()
    items = {key: words.name_of(key, item.name) for key, item in answer.plan.items.items()}
    run = answer.simulation.as_planned if answer.simulation is not None else None
    rows = []
    for k, (item, values, wanted, minutes, material, cost, margin) in enumerate(told.rows):
        made = show_interval(run.variant_rates.interval(k)) if run is not None and run.variants else ""
        sold = f"{margin:,.2f}" if margin is not None else ""
        money = (f"{material:,.2f}", f"{cost:,.2f}", sold)
        rows.append((items.get(item, item), values, show(wanted), made, f"{minutes:.1f}", *money))
    unit = answer.cost.money
    columns = (
        "what", "variant", "wanted a day", "simulated", "people's time [min]", f"material [{unit}]", f"cost [{unit}]",
        f"margin [{unit}]",
    )  # fmt: skip
    kept = [k for k in range(len(columns)) if any(row[k] for row in rows)]
    shown = tuple(tuple(row[k] for k in kept) for row in rows)
    return Table("The variants one by one", tuple(columns[k] for k in kept), shown)


def mates(answer: Answer) -> Table:
    """What lies without its mate, as the simulation saw it; the sets with most of it first."""
    run = answer.simulation.as_planned if answer.simulation is not None else None
    if run is None or not run.mates:
        return Table("Waiting for a mate", (), ())
    order = sorted(range(len(run.mates)), key=lambda k: -float(run.orphans.mean[k]))
    rows = tuple((kind_called(answer.plan.items, run.mates[k]), show_interval(run.orphans.interval(k))) for k in order)
    note = f"{show(float(run.orphans.mean.sum()))} on average, all together."
    return Table("Waiting for a mate", ("of", "on hand without a mate"), rows, note)
