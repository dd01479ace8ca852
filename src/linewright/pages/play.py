"""What the process of a run does: the plan played, compared, improved, balanced or traced, and told as it goes."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Mapping
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TYPE_CHECKING, Any

from linewright.base.problems import ProblemsError
from linewright.base.results import Interval, plain, show_interval
from linewright.pages import work
from linewright.pages.asked import Asked
from linewright.pages.refused import RefusedError

if TYPE_CHECKING:
    from linewright.answer.model import Answer
    from linewright.improve.model import Effect

EVERY = 0.1
"""Seconds between two progresses at least."""


class Teller:
    """What a run says to the server, and whether it was asked to stop."""

    def __init__(self, channel: Connection) -> None:
        self._channel, self._told = channel, 0.0
        self._turn = threading.Lock()
        self._stop = threading.Event()
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        try:
            while self._channel.recv() != "stop":
                pass
        except (EOFError, OSError):
            pass
        self._stop.set()

    def stop(self) -> bool:
        """Whether it was asked to stop."""
        return self._stop.is_set()

    def say(self, kind: str, data: Any) -> None:
        """Tell something."""
        with self._turn:
            self._channel.send((kind, work.as_json(plain(data))))

    def progress(self, message: str, done: int, of: int) -> None:
        """Tell how far it is, not too often."""
        now = time.monotonic()
        if now - self._told >= EVERY or done == of:
            self._told = now
            self.say("progress", {"done": done, "of": of, "message": message})

    def rate(self, way: str, done: int, of: int, rate: Interval | None) -> None:
        """Tell how far a simulation is, and the rate so far."""
        self.progress(f"simulating, {way}", done, of)
        if rate is not None and done > 1:
            self.say("partial", {"said": f"{show_interval(rate)} a day so far, {way}", "html": "", "rate": rate})


def live(channel: Connection, root: str, kind: str, arguments: dict[str, Any]) -> None:
    """Do a run and tell its end, whatever it is."""
    work.confine(root)
    tell = Teller(channel)
    try:
        tell.progress("getting ready", 0, 1)
        tell.say("done", PLAYS[kind](tell, Asked(arguments.pop("options")), **arguments))
    except ProblemsError as wrong:
        file = Path(arguments["file"])
        problems = [work.told(problem, file) for problem in wrong.problems]
        tell.say("failed", {"error": wrong.problems[0].what, "problems": problems, "stopped": tell.stop()})
    except RefusedError as refused:
        tell.say("failed", {**refused.body(), "stopped": tell.stop()})
    except MemoryError:
        tell.say("failed", {"error": "this needs more memory than the pages allow", "stopped": False})
    except Exception as fault:
        words = str(fault).split("\n")[0][:300]
        tell.say("failed", {"error": f"Linewright itself failed: {type(fault).__name__}: {words}", "stopped": False})


def _seconds(ask: Asked, default: float) -> float:
    return ask.number("seconds", default, 0.5, 300.0)


def _seed(ask: Asked) -> int:
    return int(ask.number("seed", 0, 0, 2**32 - 1))


def _opened(ask: Asked) -> list[str] | None:
    return ask.words("open") if ask.has("open") else None


def simulate(tell: Teller, ask: Asked, file: str, text: str) -> dict[str, Any]:
    """The plan played as planned and flat out: the answer with the simulation in it."""
    from linewright.answer import answer
    from linewright.pages.answered import key_of, told
    from linewright.report.map.shades import states_of

    found = answer(
        work.plan_of(file, text), simulate=True, half_width=ask.number("half_width", 0.01, 0.0005, 0.2),
        seed=_seed(ask), budget_seconds=_seconds(ask, 6.0), progress=tell.rate, stop=tell.stop,
    )  # fmt: skip
    played = found.simulation.as_planned if found.simulation is not None else found.season_run
    if played is None:
        raise RefusedError(422, found.unplayed or "stopped before anything was done")
    return {
        **told(found, _opened(ask)), "key": key_of(found), "states": states_of(found), "makes": found.makes,
        "verdict": found.verdict, "said": f"{found.headline[:1].upper()}{found.headline[1:]}.",
        "stopped": played.honesty.status == "stopped", "fingerprint": found.network.fingerprint,
        "warnings": [work.told(problem, Path(file)) for problem in found.problems],
    }  # fmt: skip


def improve(tell: Teller, ask: Asked, file: str, text: str) -> dict[str, Any]:
    """What would help most."""
    from linewright.answer import improve_plan
    from linewright.report.improved.tables import in_one_sentence

    found = improve_plan(
        work.plan_of(file, text), seed=_seed(ask), budget_seconds=_seconds(ask, 30.0), progress=tell.progress,
        stop=tell.stop,
    )  # fmt: skip
    done = found.improvement
    if done is None:  # a season is helped by its vessels, which its section tells
        return {**_section(found, "helps", "", stopped=tell.stop()), "tries": []}
    made = _section(found, "helps", in_one_sentence(found, done), stopped=done.stopped)
    return {**made, "tries": [_trial(effect) for effect in done.confirmed]}


def _trial(effect: Effect) -> dict[str, Any]:
    """One change as the page makes it in the text: each edit as it is typed, empty where a field is taken out."""
    from linewright.improve.model import written

    change = effect.candidate
    edits = [{"path": e.path, "text": "" if e.after is None else written(e.after), "toml": True} for e in change.edits]
    gain = show_interval(effect.gain) if effect.gain is not None else ""
    return {"what": change.what, "assumes": change.assumes, "gain": gain, "verdict": effect.verdict, "edits": edits}


def balance(tell: Teller, ask: Asked, file: str, text: str) -> dict[str, Any]:
    """Who does what: the lines of the plan shared out, and played so."""
    from linewright.answer import answer
    from linewright.answer.ask_balance import share_out

    plan = work.plan_of(file, text)
    if not plan.lines:
        raise RefusedError(422, "the plan has no line to share out: write [lines.main] with its routes")
    tell.progress("sharing out the lines", 0, 1)
    found = share_out(answer(plan), seconds=_seconds(ask, 6.0) / (2 * len(plan.lines)), stop=tell.stop)
    from linewright.report.balanced import tables
    from linewright.report.balanced.view import view_of_line

    lines = found.balanced.lines if found.balanced is not None else ()
    views = [(line, view_of_line(line, plan)) for line in lines]
    said = " ".join(f"{view.title}: {tables.sentence(line.balance, view)}" for line, view in views)
    return _section(found, "people", said, stopped=tell.stop())


def _section(found: Answer, id: str, said: str, *, stopped: bool) -> dict[str, Any]:
    """One section of an answer as the outcome."""
    from linewright.pages.answered import told

    data = told(found, [id])
    own = next(section for section in data["sections"] if section["id"] == id)
    said = said or own["short"]
    capital = f"{said[:1].upper()}{said[1:]}"
    return {"html": own["html"], "short": own["short"], "charts": data["charts"], "said": capital, "stopped": stopped}


def compare(tell: Teller, ask: Asked, file: str, a: dict[str, str], b: dict[str, str]) -> dict[str, Any]:
    """Two texts of a plan played under the same luck."""
    from linewright.answer import answer
    from linewright.answer.compared import simulated_differences
    from linewright.report import compared

    first, second = (answer(work.plan_of(file, one["text"], one["label"])) for one in (a, b))
    found = simulated_differences(
        first, second, (a["label"], b["label"]), seed=_seed(ask),
        replications=int(ask.number("replications", 10, 2, 200)), budget_seconds=_seconds(ask, 20.0),
        progress=tell.progress, stop=tell.stop,
    )  # fmt: skip
    return {**compared.as_data(found), "stopped": found.honesty.status == "stopped"}


def trace(tell: Teller, ask: Asked, file: str, text: str) -> dict[str, Any]:
    """A day event by event."""
    from linewright.answer import answer
    from linewright.answer.stretch import play_stretch
    from linewright.report.played.moving import moving

    tell.progress("playing a day", 0, 1)
    found = answer(work.plan_of(file, text))
    return moving(play_stretch(found, seed=_seed(ask), stop=tell.stop))


PLAYS: Mapping[str, Callable[..., dict[str, Any]]] = {
    "simulate": simulate, "compare": compare, "improve": improve, "balance": balance, "trace": trace,
}  # fmt: skip
"""Everything that may be run, by name."""
