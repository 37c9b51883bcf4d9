"""How well the shipped rules tell the causes apart: simulated cases, judged by the tool itself.

    python tests/tools/simulate.py --layout both --stage both --per-cause 200 --out cases.csv
    python tests/tools/simulate.py --per-cause 0 --healthy 200 --two 300 --as-found 500

Machines are drawn as `simulated_machines` says. Everything that can be looked at or touched is looked at, every context
fact is answered, and the tool judges. Then the checks it recommends are done, five at a time: those it lists at the
place it names, and the one that splits what it cannot decide between, until it recommends no more or `--rounds` are
over. A check answers everything it decides there. An answer to which nothing more is recommended stands for all rounds
after it.
Before a check, packed dirt is cleaned out and whatever stops the machine is made safe, so that neither keeps a check
back; with `--as-it-stands` both do.
Left out are the weights of findings, since nobody reads them here, and signs that no cause shows: drawn beside the
rest they could contradict it, as an even polish and a scuff on one face do.

Reported, each layout and stage apart:
  first, three   true cause at its true place on top, or among the first three
  silent         P(no fault) above 0.5 although a fault is there
  undecided      the answer names what stands between instead of one cause
  confusion      what stood on top instead
Stated probabilities against the share that is right come from `--as-found`: machines with as many faults as the rates
per visit give. The bands under each table of causes give every cause the same frequency, rare ones too, which is not
what the stated probability speaks of.
"""

from __future__ import annotations

import argparse
import csv
import os
import sys
import time
import zlib
from collections import defaultdict, deque
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import fields, replace
from itertools import islice
from pathlib import Path

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_name] = "1"  # before numpy is imported

import numpy as np  # noqa: E402
from simulate_report import Answer, report  # noqa: E402
from simulated_machines import HERE, STAGES, Machine, Works, case_of, take_up  # noqa: E402

from lugwright.belief.ground import Ground  # noqa: E402
from lugwright.belief.judge import judge  # noqa: E402
from lugwright.belief.posterior import ImpossibleEvidence, TooWide  # noqa: E402
from lugwright.casefile.record import CaseRecord, Finding  # noqa: E402
from lugwright.chaining.conclude import Conclusions, conclude, engine_for  # noqa: E402
from lugwright.places import UNITS, Place, axle_of, place_from_key, units_of  # noqa: E402
from lugwright.plan.machine import extents_seen, known_signs, machine_network  # noqa: E402
from lugwright.plan.next_checks import SHOWN, weighed_checks  # noqa: E402
from lugwright.rulebase.load import RuleBase, load  # noqa: E402

TOLERANCE = 1e-6


class Bench:
    """Judges drawn machines of one rule base."""

    def __init__(self, rulebase: RuleBase, *, as_it_stands: bool = False) -> None:
        """as_it_stands: keep back checks that packed dirt or a stop verdict forbids, as the tool does."""
        self.rulebase, self.engine, self.as_it_stands = rulebase, engine_for(rulebase, None), as_it_stands
        self.looked = {name for name, one in rulebase.symptoms.items() if one.by in ("look", "touch")}
        self._networks: dict[str, Ground] = {}

    def answers(
        self, kind: str, layout: str, drive: str, machine: Machine, number: int, rounds: int
    ) -> Iterator[Answer]:
        """The answer before any check and after each round of recommended checks."""
        index = machine.ground.sign_index
        telling: list[bool] = np.any(machine.ground.shows > 0, axis=(0, 1)).tolist()
        known = {column for (name, _), column in index.items() if name in self.looked and telling[column]}
        truth = [machine.ground.network.causes[row] for row, _ in machine.faults]
        stages = {list(STAGES)[stage] for _, stage in machine.faults}
        did: set[tuple[str, Place]] = set()
        minutes = 0.0
        self._networks.clear()
        for count in range(rounds + 1):
            case = case_of(layout, drive, machine.work.answers, self._findings(machine, known))
            concluded = conclude(case, self.rulebase, self.engine)
            ground = self._network(case, concluded)
            judgement = judge(ground, *known_signs(concluded), tolerance=TOLERANCE, weigh=False)
            last = count == rounds
            free = concluded if self.as_it_stands else replace(concluded, verdicts=(), void=())
            weighed = weighed_checks(case, self.rulebase, ground, judgement, free)
            checks = () if last else weighed.rows[:SHOWN]
            open_question = weighed.undecided
            marginal = np.round(judgement.posterior.marginal, 9)
            faults = set(range(len(marginal))) - ground.harmless
            order = sorted(faults, key=lambda row: (-marginal[row], ground.network.causes[row]))
            rows = [ground.network.causes.index(key) for key in truth]
            answer = Answer(
                kind,
                layout,
                "+".join(sorted(stages)),
                "+".join(truth),
                number,
                count,
                "+".join(str(order.index(row) + 1) for row in rows),
                round(max((float(marginal[row]) for row in rows), default=0.0), 4),
                ground.network.causes[order[0]],
                round(float(marginal[order[0]]), 4),
                round(judgement.no_fault, 4),
                int(open_question is not None),
                len(did),
                minutes,
            )
            yield answer
            wanted = {(one.check, Place(unit=one.unit or "", axle=one.axle or "")) for one in checks}
            if open_question and open_question.check:
                wanted |= self._splits(open_question.check, open_question.between, layout)
            if not wanted - did:  # nothing more is recommended: so it stays
                yield from (replace(answer, rounds=later) for later in range(count + 1, rounds + 1))
                return
            for check, at in sorted(wanted - did, key=lambda one: (one[0], one[1].key)):
                entry = self.rulebase.checks[check]
                minutes += entry.minutes + entry.set_up_minutes
                known |= {
                    column
                    for (name, place), column in index.items()
                    if name in entry.decides and telling[column] and (entry.where == "machine" or _stands(place, at))
                }
            did |= wanted

    def _network(self, case: CaseRecord, concluded: Conclusions) -> Ground:
        """The network of the machine; most rounds change nothing that it is built from."""
        built_from = repr((concluded.context, concluded.shifts, concluded.excluded, extents_seen(concluded)))
        if built_from not in self._networks:
            self._networks[built_from] = machine_network(case, self.rulebase, concluded)
        return self._networks[built_from]

    def _findings(self, machine: Machine, known: set[int]) -> list[Finding]:
        return [
            Finding(name, place, "seen", "seen", HERE)
            if machine.there[column]
            else Finding(name, place, "absent", "looked_at" if name in self.looked else "not_seen", HERE)
            for (name, place), column in machine.ground.sign_index.items()
            if column in known
        ]

    def _splits(self, check: str, between: Iterable[str], layout: str) -> set[tuple[str, Place]]:
        """The splitting check at the places that stand between; on every unit for a cause of the whole machine."""
        where = self.rulebase.checks[check].where
        if where == "machine":
            return {(check, Place())}
        units: set[str] = set()
        for key in between:
            place = place_from_key(key.partition("@")[2]) if "@" in key else Place()
            units.update({place.unit} if place.unit else units_of(place.axle) if place.axle else ())
        spread = units or set(UNITS[layout])
        return {(check, Place(unit=unit) if where == "unit" else Place(axle=axle_of(unit))) for unit in spread}


def _stands(place: Place, at: Place) -> bool:
    """Whether a sign at a place is settled by a check done there."""
    if at.unit:
        return place.unit == at.unit or (not place.unit and place.axle == axle_of(at.unit))
    return at.axle in (place.axle, axle_of(place.unit) if place.unit else "") or not (place.unit or place.axle)


def rng_for(seed: int, *words: object) -> np.random.Generator:
    """A generator of its own for each case, so that a part of the cases comes out like the whole."""
    return np.random.default_rng([seed, zlib.crc32(" ".join(map(str, words)).encode())])


def jobs(args: argparse.Namespace, rulebase: RuleBase) -> Iterator[tuple[str, Works, Machine, int]]:
    """Every machine asked for: kind, its pool of works, the machine, its number."""
    layouts = ("two-track", "four-track") if args.layout == "both" else (args.layout,)
    for layout in layouts:
        works = Works(rulebase, layout, "complaint", seed=args.seed, answered=not args.no_context)
        rows: dict[str, list[int]] = defaultdict(list)
        for row, (cause, _) in enumerate(works.plain.causes):
            rows[cause].append(row)
        for name in [name for name in rows if rulebase.causes[name].harmless]:
            del rows[name]
        names = [name for name in rows if not args.causes or name in args.causes.split(",")]
        for stage in ("mild", "advanced") if args.stage == "both" else (args.stage,):
            grow = [name for name in names if stage == "advanced" or rulebase.causes[name].grows]
            for number in range(args.per_cause):  # every cause once, and again, so that a part of it is balanced
                for name in grow:
                    rng = rng_for(args.seed, layout, stage, name, number)
                    row = rows[name][int(rng.integers(len(rows[name])))]
                    yield "one", works, works.with_faults(rng, [(row, STAGES[stage])]), number
        for number in range(args.two):
            rng = rng_for(args.seed, layout, "two", number)
            faults = []
            for name in rng.choice(list(rows), size=2, replace=False):
                stage = 1 + int(rng.integers(2)) if rulebase.causes[str(name)].grows else STAGES["advanced"]
                faults.append((rows[str(name)][int(rng.integers(len(rows[str(name)])))], stage))
            try:
                yield "two", works, works.with_faults(rng, faults), number
            except ValueError:  # no work allows both
                continue
        for number in range(args.as_found):
            yield "as-found", works, works.as_found(rng_for(args.seed, layout, "as-found", number)), number
        for visit in ("complaint", "routine") if args.healthy else ():
            sound = works if visit == "complaint" else Works(rulebase, layout, visit, seed=args.seed)
            for number in range(args.healthy):
                yield f"healthy {visit}", sound, sound.sound(rng_for(args.seed, layout, "healthy", number)), number


#: What one process judges with; filled once in each.
_BENCH: list[Bench] = []


def _begin(rules: str, as_it_stands: bool) -> None:
    rulebase = load(Path(rules) if rules else None)
    take_up(rulebase)
    _BENCH[:] = [Bench(rulebase, as_it_stands=as_it_stands)]


def _judged(job: tuple[str, str, str, Machine, int, int]) -> list[Answer] | None:
    """Every answer about one machine, or nothing where it is too wide to judge exactly."""
    try:
        return list(_BENCH[0].answers(*job))
    except (TooWide, ImpossibleEvidence):
        return None


def run(args: argparse.Namespace) -> list[Answer]:
    """Draw and judge everything that was asked for."""
    _begin(args.rules, args.as_it_stands)
    found: list[Answer] = []
    start, told, wide, count = time.time(), 0.0, 0, 0
    waiting = (
        (kind, works.layout, works.drive, machine, number, 0 if kind == "as-found" else args.rounds)
        for kind, works, machine, number in jobs(args, _BENCH[0].rulebase)
    )
    with ProcessPoolExecutor(args.at_once, initializer=_begin, initargs=(args.rules, args.as_it_stands)) as pool:
        ahead = deque(pool.submit(_judged, one) for one in islice(waiting, 8 * args.at_once))
        while ahead:
            answers = ahead.popleft().result()
            count += 1
            found += answers or []
            wide += answers is None
            if found and time.time() - told > 5:
                told = time.time()
                print(f"\r{count} machines, {told - start:.0f} s, {found[-1].truth[:60]:60}", end="", file=sys.stderr)
            if not args.minutes or time.time() - start < 60 * args.minutes:
                ahead.extend(pool.submit(_judged, one) for one in islice(waiting, 1))
    print(f"\n{count} machines in {time.time() - start:.0f} s; {wide} too wide to judge exactly", file=sys.stderr)
    return found


def main() -> None:
    """Read the options, run, write, report."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--per-cause", type=int, default=30, help="machines with one fault, per cause and stage")
    parser.add_argument("--layout", choices=("two-track", "four-track", "both"), default="both")
    parser.add_argument("--stage", choices=("mild", "advanced", "both"), default="both")
    parser.add_argument("--rounds", type=int, default=12, help="rounds of recommended checks at most")
    parser.add_argument("--causes", default="", help="only these, joined by commas")
    parser.add_argument("--two", type=int, default=0, help="machines with two faults, per layout")
    parser.add_argument("--healthy", type=int, default=0, help="sound machines, per layout and kind of visit")
    parser.add_argument("--as-found", type=int, default=0, help="machines with faults by the rates, per layout")
    parser.add_argument("--no-context", action="store_true", help="leave every question about the work unanswered")
    parser.add_argument("--as-it-stands", action="store_true", help="no cleaning and no making safe between checks")
    parser.add_argument("--at-once", type=int, default=os.cpu_count() or 1, help="machines judged side by side")
    parser.add_argument("--minutes", type=float, default=0, help="stop after so long with what there is; 0: never")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rules", default="", help="a rule base folder; the shipped one unless named")
    parser.add_argument("--out", default="", help="csv file for every answer")
    args = parser.parse_args()
    found = run(args)
    if args.out:
        with open(args.out, "w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file)
            writer.writerow([field.name for field in fields(Answer)])
            writer.writerows([getattr(one, field.name) for field in fields(Answer)] for one in found)
    report(found, args.rounds)


if __name__ == "__main__":
    main()
