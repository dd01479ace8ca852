"""The horizon as a whole: dates that do not fit together, deliveries that nobody takes or that miss the horizon."""

from __future__ import annotations

from linewright.plan.model import Intake, Plan
from linewright.plan.paths import join
from linewright.plan.reading import Reading
from linewright.plan.season_fields import LONGEST_DAYS


def check_season(plan: Plan, reading: Reading) -> None:
    """Note the problems of a plan with a horizon."""
    if not _horizon(plan, reading):
        return
    for number, intake in enumerate(plan.intake):
        _intake(intake, plan, f"intake[{number}]", reading)
    if plan.makes is not None and not plan.intake:
        reading.error("plan.makes", "no harvest says how much of it is made", plan.makes, "`demand`, or an [[intake]]")


def _horizon(plan: Plan, reading: Reading) -> bool:
    """Whether the horizon makes sense, where there is one."""
    begins, ends = plan.begins, plan.ends
    if begins is None or ends is None:
        if begins is not None or ends is not None:
            missing = "to" if ends is None else "from"
            reading.error(f"plan.{missing}", "`from` and `to` belong together", None, 'a date such as "2027-03-31"')
        elif plan.intake:
            what = "what comes in season has no steady state: the plan needs a horizon"
            reading.error("plan.from", what, None, '`from` and `to` in [plan], such as "2026-09-14"')
        elif plan.closed:
            reading.error("plan.closed", "days can be closed in a horizon only", None, "`from` and `to` in [plan]")
        return False
    days = (ends - begins).days + 1
    if days < 1:
        reading.error("plan.to", "the horizon ends before it begins", str(ends), f"{begins} or later")
    elif days > LONGEST_DAYS:
        reading.error("plan.to", f"the horizon has {days} days", str(ends), f"{LONGEST_DAYS} days at most")
    return 1 <= days <= LONGEST_DAYS


def _intake(intake: Intake, plan: Plan, path: str, reading: Reading) -> None:
    assert plan.begins is not None  # _horizon
    assert plan.ends is not None
    if intake.ends < plan.begins or intake.begins > plan.ends:
        what = f'the intake of "{intake.item}" is outside the horizon'
        reading.error(f"{path}.from", what, str(intake.begins), f"days from {plan.begins} to {plan.ends}")
    elif intake.begins < plan.begins or intake.ends > plan.ends:
        what = f'a part of the intake of "{intake.item}" is outside the horizon and does not come'
        reading.problems.warn(f"{path}.from", what, hint=f"the horizon is {plan.begins} to {plan.ends}")
    makers = [route.id for route in plan.routes.values() if route.gives == intake.item]
    if makers:
        what = f'"{intake.item}" comes in season, and route "{makers[0]}" makes it too'
        reading.error(
            join("items", intake.item), what, None, "one of them", hint="give what is bought a name of its own"
        )
