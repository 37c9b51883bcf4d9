"""Answering many cases of one rule base fast: what cases share is built once, and nothing is weighed that is not asked.

The answers are those of `lugwright.triage` (a test holds it). Cases share the engine of their machine sheet, and the
links of the network where machine, extents and the context that links read are the same; only the prior is their own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from lugwright.belief.ground import Ground, Shift, ground_network
from lugwright.belief.judge import judge
from lugwright.chaining.conclude import Conclusions, conclude, engine_for
from lugwright.plan.machine import extents_seen, known_signs, rate_changes
from lugwright.plan.next_checks import SHOWN, weighed_checks
from lugwright.plan.verdict import verdict
from lugwright.rulecases.answer import Answer, asks_how_likely
from lugwright.summing_up import refused

if TYPE_CHECKING:
    from lugwright.casefile.load import CaseRecord
    from lugwright.chaining.engine import Engine
    from lugwright.rulebase.load import RuleBase
    from lugwright.rulecases.schema import Expect


class Bench:
    """Answers cases of one rule base. Use one for all cases of a run."""

    def __init__(self, rulebase: RuleBase) -> None:
        self.rulebase = rulebase
        self._names = {name: one.name for kind in (rulebase.symptoms, rulebase.checks) for name, one in kind.items()}
        self._read = _context_read_by_links(rulebase)
        self._engines: dict[str, Engine] = {}
        self._networks: dict[Any, Ground] = {}

    def engine(self, case: CaseRecord) -> Engine:
        """The engine for this case's machine sheet."""
        if case.sheet_id not in self._engines:
            self._engines[case.sheet_id] = engine_for(self.rulebase, case.sheet)
        return self._engines[case.sheet_id]

    def answer(self, case: CaseRecord, expect: Expect | None = None) -> Answer:
        """The answer to one case, as far as its expectations ask for it; without them all of it.

        Raises UnusableInput as `triage` does.
        """
        concluded = conclude(case, self.rulebase, self.engine(case))
        ruling = verdict(concluded, self._names)
        if expect is not None and not asks_how_likely(expect):
            return Answer(concluded=concluded, verdict=ruling)
        ground = self._network(case, concluded)
        with refused(case, self.rulebase):
            judgement = judge(ground, *known_signs(concluded), weigh=False)
        marginal = judgement.posterior.marginal.clip(0, 1).round(9)
        faults = [row for row in range(len(marginal)) if row not in ground.harmless]
        order = sorted(faults, key=lambda row: (-marginal[row], ground.network.causes[row]))
        likely = Answer(
            concluded=concluded,
            verdict=ruling,
            order=tuple(ground.causes[row] for row in order),
            likely={key: float(value) for key, value in zip(ground.causes, marginal, strict=True)},
            no_fault=judgement.no_fault,
        )
        if expect is not None and expect.undecided is None and expect.next_check is None:
            return likely
        weighed = weighed_checks(case, self.rulebase, ground, judgement, concluded)
        return replace(
            likely,
            undecided=weighed.undecided is not None,
            checks=tuple(one.check for one in weighed.rows[:SHOWN]),
        )

    def _network(self, case: CaseRecord, concluded: Conclusions) -> Ground:
        """This case's network, on the links of an earlier one where the two are the same."""
        context = {name: concluded.context[name] for name in self._read if name in concluded.context}
        extents = extents_seen(concluded)
        key = (case.layout, case.drive, tuple(context.items()), tuple(extents.items()))
        if key not in self._networks:
            self._networks[key] = ground_network(
                self.rulebase, case.layout, case.drive, context=context, extents=extents
            )
        return with_rates(self._networks[key], *rate_changes(concluded, self.rulebase))


def with_rates(ground: Ground, shifts: Sequence[Shift], excluded: Sequence[Shift]) -> Ground:
    """The same network with the rates of some causes changed: r * factor where there was r, and none where excluded.

    ground: one that was made without shifts. P = 1 - exp(-r), so r comes back as -log(1 - P).
    """
    before = ground.network.prior.sum(axis=1)
    factor = np.ones(len(before))
    rows: dict[str, list[int]] = {}
    for row, (cause, _) in enumerate(ground.causes):
        rows.setdefault(cause, []).append(row)
    for one, times in (*((shift, shift.factor) for shift in shifts), *((out, 0.0) for out in excluded)):
        factor[[row for row in rows.get(one.cause, ()) if one.reaches(*ground.causes[row])]] *= times
    after = -np.expm1(np.log1p(-before) * factor)
    share = np.divide(after, before, out=np.zeros_like(before), where=before > 0)
    return replace(ground, network=replace(ground.network, prior=ground.network.prior * share[:, None]))


def _context_read_by_links(rulebase: RuleBase) -> tuple[str, ...]:
    """The questions whose answers decide which links hold, and the one that sets the rate per visit."""
    every = (show for cause in rulebase.causes.values() for show in (*cause.shows, *cause.never_shows))
    return tuple(sorted({"visit", *(name for show in every for name in (*show.given, *show.unless))}))
