"""The telling: every operation once, numbered as on the map, in sentences that hold what the plan says."""

from __future__ import annotations

from linewright.plan import PlanBuilder
from linewright.plan.model import Amount, Operation, Plan, Route
from linewright.report.map.graph import graph_of
from linewright.report.story import told_order
from linewright.report.telling import telling


def test_every_operation_is_told_once_with_its_number_on_the_map(kit: Plan) -> None:
    told = {step.id: step.number for chapter in telling(kit) for step in chapter.steps}
    drawn = {node.id: node.number for node in graph_of(kit).nodes if node.number}
    assert told == drawn
    assert sorted(told.values()) == list(range(1, len(told) + 1))


def test_sentences_hold_what_the_plan_says(kit: Plan) -> None:
    said = {step.id: " ".join(step.sentences) for chapter in telling(kit) for step in chapter.steps}
    assert "Takes oversize or chips." in said["mill"]
    assert "Takes furnish and resin." in said["glue"]
    assert "Then it stands for 30 min and keeps its place." in said["cool"]
    assert "Checked for void (finds 90 %)." in said["look"]
    number = next(s.number for c in telling(kit) for s in c.steps if s.id == "glue")
    assert f"sent back to step {number} (glue) at most 2 times, then scrapped" in said["look"]
    assert "What goes wrong here: void (2 %)." in said["look"]
    assert "Waits in the bunker (room for 20)." in said["mix"]
    assert "Gives 20 % oversize and 3 % dust beside it." in said["screen"]


def test_hazards_of_operation_and_station_are_told(kit: Plan) -> None:
    hazards = {step.id: step.hazards for chapter in telling(kit) for step in chapter.steps}
    assert hazards["mill"] == ("noise",)
    assert hazards["cool"] == ("hot_surface",)


def test_makers_are_told_before_users(kit: Plan) -> None:
    order = [chapter.id for chapter in telling(kit)]
    assert order.index("particles") < order.index("board")
    assert order.index("box") < order.index("board")


def test_a_user_of_a_by_product_is_told_after_its_maker() -> None:
    maker = Route("b", "flakes", (Operation("screen", gives=(Amount("fines", share=0.2),)),))
    user = Route("a", "board", (Operation("press", takes=(Amount("fines"), Amount("flakes"))),))
    plan = Plan("p", "EUR", (), {}, {"a": user, "b": maker})
    assert [route.id for route in told_order(plan)] == ["b", "a"]


def test_routes_in_a_loop_are_each_told_once() -> None:
    one = Route("a", "x", (Operation("p", takes=(Amount("y"),)),))
    two = Route("b", "y", (Operation("q", takes=(Amount("x"),)),))
    assert [route.id for route in told_order(Plan("p", "EUR", (), {}, {"a": one, "b": two}))] == ["b", "a"]


def test_windows_carriers_and_work_while_it_stands_are_told() -> None:
    """On the page and on the sheets for the floor: when a step may begin, what it goes on, what comes back to it."""
    plan = PlanBuilder("Shoes", makes="shoe", demand="10 each/day", money="EUR").item("shoe", unit="each")
    plan.document["options"] = {"size": {"name": "Shoe size", "values": ["40", "41"]}}
    plan.document["items"]["shoe"]["options"] = ["size"]
    plan.shift("day", hours="06:00-14:00").crew("hand", people=2, shift="day")
    plan.document["carriers"] = {
        "last": {"count": {"by": "size", "table": {"40": 4, "41": 5}}, "options": ["size"], "from": "glue",
                 "to": "press", "way_back": "4 min"},
    }  # fmt: skip
    plan.document["crews"]["hand"]["name"] = "Shoe hand"
    route = plan.route("shoe", gives="shoe")
    route.operation("glue", crew="hand", time="1 min", name="Glue the sole")
    route.operation(
        "dry", stand="30 min", during=[{"name": "turn it", "every": "10 min", "time": "20 s", "crew": "hand"}]
    )
    route.operation(
        "press", crew="hand", time="1 min", wait={"after": "glue", "least": "20 min", "most": "50 min", "else": "scrap"}
    )
    glue, dry, press = telling(plan.build())[0].steps
    assert "Goes on a last of its shoe size." in glue.sentences
    assert "While it stands, every 10 min: turn it (20 s, by one shoe hand)." in dry.sentences
    window = "Begins at least 20 min and at most 50 min after step 1 (Glue the sole); what is too late is scrapped."
    assert window in press.sentences
    assert "Comes off the last, which is back 4 min later." in press.sentences
    for step in (glue, dry, press):
        assert {s for s in step.sentences if s.split()[0] in ("Goes", "While", "Begins", "Comes")} <= set(step.also)
