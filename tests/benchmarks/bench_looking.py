"""How long the next question takes after an answer, and 300 redraws, on four-tracks that were looked at all round.

Run from anywhere:  python tests/benchmarks/bench_looking.py --machines 10

Machines with one or two faults are drawn from the shipped rule base. Times are of this process (`process_time`), so
that a busy machine does not count; the posterior of the same findings stands beside them as a yardstick within the run.
"""

from __future__ import annotations

import argparse
import os
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # set before numpy is loaded

import numpy as np

from lugwright.belief.ground import ground_network
from lugwright.belief.posterior import Evidence, posterior
from lugwright.belief.steadiness import steadiness
from lugwright.places import place_from_key
from lugwright.rulebase.load import load
from lugwright.walkround.advice import Advice
from lugwright.walkround.draft import Draft
from lugwright.walkround.question import Question, Stop
from lugwright.walkround.script import Script, State

LAYOUT, DRIVE = "four-track", "positive"
#: Signs seen in the cases that are redrawn.
POSITIVES = 20


def run(machines: int, seed: int) -> None:
    """Print the figures."""
    rulebase = load()
    ground = ground_network(rulebase, LAYOUT, DRIVE)
    network, random = ground.network, np.random.default_rng(seed)
    looked = [at for at, (name, _) in enumerate(ground.signs) if rulebase.symptoms[name].by in ("look", "touch")]
    faults = [row for row in range(len(network.causes)) if row not in ground.harmless]
    weight = network.prior[faults].sum(axis=1)
    advice = Advice(rulebase)
    script = Script(rulebase, advice)
    answers, redraws, yardstick = [], [], []
    for _ in range(machines):
        rows = random.choice(faults, size=int(random.integers(1, 3)), replace=False, p=weight / weight.sum())
        unshown = (1 - network.leak) * np.prod(1 - ground.shows[rows, -1], axis=0)
        there = random.random(len(unshown)) < 1 - unshown
        draft = Draft({"case": "drawn", "machine": {"name": "drawn", "layout": LAYOUT, "drive": DRIVE}})
        parts = {rulebase.symptoms[ground.signs[at][0]].component for at in looked}
        draft = draft.put("looked_at", [{"component": one, "units": "all"} for one in sorted(parts)])
        taken = set()
        for at in looked:
            name, place = ground.signs[at]
            if there[at] and not (rulebase.symptoms[name].directed and (name, place.unit) in taken):
                draft = draft.with_sign(name, place, "seen")
                taken.add((name, place.unit))
        names = ("machine/hours", "machine/sheet", *(f"context/{one}" for one in rulebase.context))
        state = State(Draft(draft.data, asked=names))
        asked = script.question(state)
        for _ in range(24):
            if isinstance(asked, Stop):
                break
            said = _said(asked, state, advice, ground.sign_index, there)
            start = time.process_time()
            state = script.answer(state, asked, said)
            asked = script.question(state)
            answers.append(time.process_time() - start)
        seen = sorted(random.permutation([at for at in looked if there[at]])[:POSITIVES].tolist())
        evidence = Evidence(tuple(seen), tuple(at for at in looked if not there[at]))
        start = time.process_time()
        steadiness(rulebase, ground, evidence, layout=LAYOUT, drive=DRIVE, context={}, extents={})
        redraws.append(time.process_time() - start)
        start = time.process_time()
        posterior(network, evidence, tolerance=1e-4)
        yardstick.append(time.process_time() - start)
    for name, rows_ in (("next question", answers), ("300 redraws", redraws), ("one posterior", yardstick)):
        if rows_:
            times = np.array(rows_)
            print(
                f"{name:<15} {len(times):>4} times   median {np.median(times):.3f} s   "
                f"95 % {np.quantile(times, 0.95):.3f} s   most {times.max():.3f} s   "
                f"{np.median(times) / np.median(yardstick):.1f} posteriors"
            )


def _said(asked: Question, state: State, advice: Advice, index: dict, there: np.ndarray) -> str:  # type: ignore[type-arg]
    """What a person would answer about a drawn machine."""
    if asked.id.startswith("check/"):
        return "done"
    kind, check, key = asked.id.split("|")[:3]
    if kind == "figures":
        return ""
    signs = advice.open_signs(state.draft, check, place_from_key(key))
    return " ".join(str(at + 1) for at, one in enumerate(signs) if there[index[one]]) or "none"


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("--machines", type=int, default=10)
    parser.add_argument("--seed", type=int, default=3)
    asked_for = parser.parse_args()
    run(asked_for.machines, asked_for.seed)
