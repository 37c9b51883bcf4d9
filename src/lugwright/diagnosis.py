"""The answer as one frozen object. Everything a person is shown is a view of it.

Field names are the stable keys of `lugwright triage CASE --json`. Causes can coexist, so the probabilities of ranked
causes need not add up to one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Literal

from pydantic import BaseModel, ConfigDict

from lugwright.places import Place

#: How a notebook shows a diagnosis; the page registers itself here, because no view may be imported from this module.
PAGE_VIEW: list[Callable[[Diagnosis], str]] = []
#: From this probability on, a first cause or "no fault" is settled.
SETTLED = 0.9


class Frozen(BaseModel):
    """A closed, frozen shape."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Without(Frozen):
    """What a cause's probability would be without one finding (or one named group of findings)."""

    finding: str
    words: str
    speaks: Literal["for", "against"]
    probability: float


class RankedCause(Frozen):
    """A cause at its place, how likely it is, and what carries it.

    together: the seen signs that speak most for it, in words, where several carry it and leaving out any one of them
              changes nothing that can be told; empty otherwise.
    """

    cause: str
    name: str
    unit: str | None = None
    axle: str | None = None
    side: str | None = None
    hand: str | None = None
    place_words: str
    probability: float
    word: str
    mild: float
    prior: float
    without: tuple[Without, ...] = ()
    together: tuple[str, ...] = ()
    because: str = ""
    if_ignored: str = ""
    basis: str = ""
    written: str = ""

    @property
    def place(self) -> Place:
        """Where on the machine the cause acts."""
        return Place(self.unit or "", self.axle or "", self.side or "", self.hand or "")

    @property
    def key(self) -> str:
        """Cause and place, e.g. `toe-in-error@front-axle`."""
        return f"{self.cause}@{self.place.key}"


class NormalShown(Frozen):
    """Something normal on a sound machine that explains signs and is no fault."""

    cause: str
    name: str
    place_words: str
    probability: float
    word: str


class FindingShown(Frozen):
    """One finding as the reasoning used it. note: what the person wrote beside it."""

    symptom: str
    name: str
    place: str
    place_words: str
    state: Literal["seen", "absent"]
    extent: str | None = None
    source: str
    component: str = ""
    wheels: tuple[str, ...] = ()
    note: str = ""

    @property
    def key(self) -> str:
        """Symptom and place, e.g. `hub-hot@front-right`."""
        return f"{self.symptom}@{self.place}"


class ReadingShown(Frozen):
    """One measurement as written, what follows from it, and the findings the rules drew from it.

    void:    taken where it means nothing, such as over packed soil. refused: why it does not count as it was taken
             (empty where it counts), such as a straight run that was too short. note: what the person wrote beside it.
    too_close: whether a limit lies within its plus-or-minus, so that a rule could conclude nothing from it.
    leaves_open: signs of which nothing is known for that reason. care: what must hold when it is taken again.
    not_now: why it cannot be taken again now; empty where it can.
    """

    check: str
    name: str
    place: str
    place_words: str
    text: str
    means: str
    void: bool
    refused: str = ""
    findings: tuple[str, ...]
    note: str = ""
    too_close: bool = False
    leaves_open: tuple[str, ...] = ()
    care: tuple[str, ...] = ()
    not_now: str = ""

    @property
    def key(self) -> str:
        """How a step names this reading."""
        at = "" if self.place == "machine" else f"@{self.place}"
        return f"reading {self.check}{at}"


class AnswerShown(Frozen):
    """One answer about the machine and its work, and what made use of it.

    context: id of the question. name: what it asks about. answer: as people read it. rules: those that fired on it.
    causes:  names of causes with a sign that counts only while the answer holds, or does not hold.
    everywhere: whether it sets how common every fault is beforehand.
    """

    context: str
    name: str
    answer: str
    rules: tuple[str, ...] = ()
    causes: tuple[str, ...] = ()
    everywhere: bool = False


class SheetShown(Frozen):
    """The machine sheet whose numbers were used, and where it is written."""

    sheet: str
    name: str
    written: str = ""


class Reason(Frozen):
    """Why a verdict was given: the finding, the number behind it, the rule, and the work that comes first, if any.

    work, procedures: that work in words, and its ids.
    """

    action: Literal["stop", "limit-use", "keep-running"]
    place_words: str
    finding: str
    measured: str = ""
    limit: str = ""
    number: str = ""
    rule: str = ""
    work: str = ""
    procedures: tuple[str, ...] = ()

    @property
    def heading(self) -> str:
        """What was found, and where."""
        return f"{self.finding} ({self.place_words})" if self.place_words else self.finding


class VerdictShown(Frozen):
    """May the machine keep running? The most severe reason decides; no probability softens it."""

    action: Literal["stop", "limit-use", "keep-running"]
    reasons: tuple[Reason, ...]

    @property
    def work_first(self) -> bool:
        """Whether a reason names work that comes before any check at its place."""
        return any(one.procedures for one in self.reasons)

    @property
    def grouped(self) -> tuple[tuple[Reason, ...], ...]:
        """The reasons in their order, those of one action that rest on the same thing at the same place together.

        What another of its group says as well, limit or figure, a reason comes without, so that it is read once.
        """
        groups: dict[tuple[str, str, str], list[Reason]] = {}
        for one in self.reasons:
            groups.setdefault((one.action, one.heading, one.measured), []).append(one)
        return tuple(tuple(_said_once(group)) for group in groups.values())


def _said_once(group: list[Reason]) -> Iterator[Reason]:
    said: list[str] = []
    for one in sorted(group, key=lambda reason: -len(reason.limit)):
        again = {name: "" for name in ("limit", "number") if any(getattr(one, name) in text for text in said)}
        yield one.model_copy(update=again)
        said += [one.limit, one.number]


class Undecided(Frozen):
    """The leaders cannot be told apart yet; this check splits them.

    words:   what stands between, in words. not_now: why the check cannot be done now, where that is so.
    """

    between: tuple[str, ...]
    words: tuple[str, ...] = ()
    check: str | None
    check_name: str = ""
    how: str = ""
    not_now: str = ""

    @property
    def split_words(self) -> str:
        """The check that splits them with what it shows, and why not now; nothing where none is known."""
        if not self.check:
            return ""
        stop = "" if self.check_name.endswith(("?", "!", ".")) else "."
        later = f" Not now: {self.not_now}." if self.not_now else ""
        return f"{self.check_name}{stop} {self.how[:1].upper()}{self.how[1:]}{later}"


class Outcome(Frozen):
    """What the ranking becomes if a check comes out one way: the first cause, and the cause that moves most."""

    result: str
    probability: float
    first: str
    first_words: str
    first_probability: float
    moves: str
    moves_words: str
    moves_from: float
    moves_to: float


class NextCheck(Frozen):
    """A check worth doing next.

    minutes:   the work with its set-up. gain_bits: expected drop of uncertainty, in bits over the causes.
    gain_is:   `exact` when every outcome of every open sign it settles is counted, `at-least` when only some are.
    several_as_one: it covers several units, and more than one sign seen counts as one outcome, whichever they are.
    signs:     those that are counted. after: checks that must be done before it and are not done.
    cautions:  what stands before the check, in the words of the rule base.
    share_set_up: other checks at this place that need the same set-up; its minutes then count once.
    first_for: names of the checks that need it first, where it stands in the list only for their sake.
    """

    check: str
    name: str
    unit: str | None = None
    axle: str | None = None
    place_words: str
    minutes: float
    set_up_minutes: float = 0.0
    gain_bits: float
    gain_is: Literal["exact", "at-least"] = "exact"
    several_as_one: bool = False
    risk: str
    cautions: tuple[str, ...] = ()
    asks: str
    signs: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    preconditions: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    share_set_up: tuple[str, ...] = ()
    first_for: tuple[str, ...] = ()
    outcomes: tuple[Outcome, ...]


class Steadiness(Frozen):
    """How much the first place hangs on the frequencies, each redrawn within what its word allows.

    first:    the cause (or `no-fault`) that stands first with the words as they are; first_in: draws in which it still
              does. low, high: 5 and 95 % of its probability over the draws. instead: who else came first, most often
              first. note: what was cut short, if anything.
    """

    draws: int
    first: str
    first_in: int
    word: str
    low: float
    high: float
    instead: tuple[str, ...] = ()
    note: str = ""


class WorkStep(Frozen):
    """One step of work with its caution standing before it."""

    caution: str = ""
    do: str


class Work(Frozen):
    """The procedure for a cause at its place, with this machine's numbers.

    confirm: the undone test that would show the cause most directly, in words. confirm_not_now: why it cannot be done
             now; empty where it can. repairs_stop: whether this work puts right what stops the machine.
    """

    procedure: str
    name: str
    cause: str
    place_words: str
    confirm: str = ""
    confirm_not_now: str = ""
    repairs_stop: bool = False
    before: tuple[str, ...]
    cautions: tuple[str, ...]
    tools: tuple[str, ...]
    steps: tuple[WorkStep, ...]
    prove: str
    recheck: tuple[str, ...]


class StepShown(Frozen):
    """One firing of a rule. used_words: what it used, in words with units."""

    number: int
    rule: str
    file: str
    line: int
    used: tuple[str, ...]
    absent: tuple[str, ...]
    concluded: tuple[str, ...]
    because: str = ""
    name: str = ""
    basis: str = ""
    used_words: tuple[str, ...] = ()


class RuledOut(Frozen):
    """A cause a rule excluded, and the rule that did."""

    cause: str
    name: str
    place_words: str
    rule: str


class RulebaseLabel(Frozen):
    """Which rule base said it.

    overlays: titles of the overlays that lie over it, from the bottom up.
    layer_of: `kind/id` of every entry an overlay added or replaced -> the title of that overlay.
    replaced, retired: `kind/id [title]` of what an overlay put in the place of an entry below, and no longer counts.
    """

    version: str
    fingerprint: str
    overlays: tuple[str, ...] = ()
    layer_of: dict[str, str] = {}
    replaced: tuple[str, ...] = ()
    retired: tuple[str, ...] = ()

    @property
    def words(self) -> str:
        """As people read it.

        >>> RulebaseLabel(version="0.1.0", fingerprint="a1b2c3d4", overlays=("yard rules",)).words
        'rule base 0.1.0 (a1b2c3d4) + yard rules'
        """
        return f"rule base {self.version} ({self.fingerprint})" + "".join(f" + {title}" for title in self.overlays)

    def mark(self, kind: str, name: str) -> str:
        """The overlay an entry comes from, in brackets after a space; empty for an entry of the rule base below.

        >>> RulebaseLabel(version="1.0.0", fingerprint="x", layer_of={"checks/toe": "yard rules"}).mark("checks", "toe")
        ' [yard rules]'
        """
        title = self.layer_of.get(f"{kind}/{name}", "")
        return f" [{title}]" if title else ""


class Edge(Frozen):
    """A sign that bears on a ranked cause, and what it is worth: the change of probability when it is left out."""

    finding: str
    cause: str
    worth: float
    how_often: str


#: Where a state of a sign comes from that the person wrote down and no rule concluded.
NOTED = "noted"


class Clash(Frozen):
    """A sign that is there and not there at one place, so that it counts neither way.

    finding: `symptom@place`. words: the sign in words. seen_from, absent_from: where each state comes from, in words:
    that it was noted, or the rule that concluded it and what that rule used.
    """

    finding: str
    words: str
    seen_from: tuple[str, ...]
    absent_from: tuple[str, ...]


class Diagnosis(Frozen):
    """Everything triage says about one case."""

    case: str
    machine: str
    layout: str
    drive: str
    hours: float | None
    invented: bool
    rulebase: RulebaseLabel
    verdict: VerdictShown
    ranked: tuple[RankedCause, ...]
    no_fault: float
    no_fault_word: str
    normal: tuple[NormalShown, ...]
    undecided: Undecided | None
    unexplained: tuple[FindingShown, ...]
    contradictory: tuple[str, ...]
    conflict_bits: float
    bound: float
    next_checks: tuple[NextCheck, ...]
    work: tuple[Work, ...]
    cautions: tuple[str, ...]
    void: tuple[str, ...]
    ruled_out: tuple[RuledOut, ...]
    findings: tuple[FindingShown, ...]
    readings: tuple[ReadingShown, ...]
    not_looked_at: tuple[str, ...]
    not_noted: tuple[str, ...] = ()
    not_counted: tuple[str, ...] = ()
    steps: tuple[StepShown, ...]
    edges: tuple[Edge, ...]
    steadiness: Steadiness | None = None
    machine_name: str = ""
    note: str = ""
    other_notes: tuple[str, ...] = ()
    sheet: SheetShown | None = None
    context: tuple[AnswerShown, ...] = ()
    clashes: tuple[Clash, ...] = ()

    def undecided_with(self, cause: str) -> tuple[str, ...]:
        """What the answer is undecided between beside a cause (`cause@place`), in words; empty where it is not."""
        one = self.undecided
        if one is None or cause not in one.between:
            return ()
        return tuple(words for other, words in zip(one.between, one.words, strict=True) if other != cause)

    def likely_beside(self, cause: str) -> tuple[RankedCause, ...]:
        """Causes that are more likely than not beside one (`cause@place`), without those it is undecided with."""
        open_ones = self.undecided.between if self.undecided and self.undecided_with(cause) else ()
        others = (one for one in self.ranked if one.key != cause and one.key not in open_ones)
        return tuple(one for one in others if one.probability >= 0.5)

    def _repr_html_(self) -> str | None:
        """The page, where a notebook asks for it; None, so that it falls back to text, where no page is loaded."""
        return PAGE_VIEW[-1](self) if PAGE_VIEW else None


class RuleSaid(Frozen):
    """A rule that fired and bears on one cause. says: the word of a shift, or `excluded`.

    used_words: what it used, in words with units.
    """

    rule: str
    name: str
    says: str
    because: str
    basis: str
    written: str
    used: tuple[str, ...]
    used_words: tuple[str, ...] = ()


class OpenSign(Frozen):
    """A sign nobody has looked at yet and what it would do to one cause.

    probability: of seeing it. if_seen, if_absent: the cause after that. check: the quickest that settles it, or empty.
    not_now: why that check cannot be done now; empty where it can.
    """

    finding: str
    words: str
    probability: float
    if_seen: float
    if_absent: float
    check: str = ""
    check_name: str = ""
    minutes: float = 0.0
    not_now: str = ""


class CauseAccount(Frozen):
    """Everything that bears on one cause at one place, likely or not.

    rank:   1 for the likeliest of all faults at all places. rivals: faults that stand ahead of it, likeliest first.
    prior:  before anything was looked at, with what context rules made of it.
    without: what it would be without each finding that matters, largest change first.
    open_signs: signs of it that nobody looked at, the one that would lift it most first.
    elsewhere: the same cause at its other places, likeliest first, as (place in words, probability).
    """

    case: str
    machine: str
    rulebase: RulebaseLabel
    cause: str
    name: str
    place: str
    place_words: str
    because: str
    written: str
    probability: float
    word: str
    prior: float
    rank: int
    of: int
    normal: bool = False
    no_fault: float
    without: tuple[Without, ...]
    excluded_by: tuple[RuleSaid, ...]
    shifted_by: tuple[RuleSaid, ...]
    rivals: tuple[NormalShown, ...]
    open_signs: tuple[OpenSign, ...]
    elsewhere: tuple[tuple[str, float], ...]

    @property
    def key(self) -> str:
        """Cause and place, e.g. `toe-in-error@front-axle`."""
        return f"{self.cause}@{self.place}"
