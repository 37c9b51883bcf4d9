"""Why a cause stands where it stands, and why it does not stand higher, in a short text."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from lugwright.diagnosis import CauseAccount, OpenSign, RuleSaid, Without
from lugwright.report.figures import moved, percent
from lugwright.report.lines import Line

#: Rows of a kind that are printed before the rest is counted.
SHOWN, SIGNS_SHOWN = 6, 3
WIDTH = 14
#: Said where no sign of a cause that is still open would move it one way by the sign's own answer.
NONE_LOWERS = "none of its own signs that are still open would lower it by not being there"
NONE_LIFTS = "none of its own signs that are still open would lift it by being there"
#: Letters from which on the opening of a mechanism says something by itself.
ENOUGH = 80


def why_lines(account: CauseAccount) -> Iterator[Line]:
    """What carries a cause, what speaks against it, which rules bear on it, and what could still overturn it."""
    yield from _head(account)
    yield from _exclusions(account)
    carries = [one for one in account.without if one.speaks == "for"]
    yield from _findings(carries, account, "Carried by", "no single finding")
    yield from _findings([one for one in account.without if one.speaks == "against"], account, "Against", "nothing")
    yield from _shifts(account)
    falling = sorted(account.open_signs, key=lambda one: (one.if_absent, one.finding))
    falling = [one for one in falling if _moves(one.if_absent, account) < 0]
    yield Line()
    yield from _open(falling, account, "Would fall most", NONE_LOWERS, seen=False)
    yield from _open(_lifting(account), account, "Would rise most", NONE_LIFTS, seen=True)
    yield from _elsewhere(account)


def whynot_lines(account: CauseAccount) -> Iterator[Line]:
    """What keeps a cause down: rules, findings against it, rivals that explain the same; and what would lift it."""
    yield from _head(account)
    yield from _exclusions(account)
    yield from _shifts(account)
    against = [one for one in account.without if one.speaks == "against"]
    yield from _findings(against, account, "Against", "no single finding speaks against it")
    yield from _findings([one for one in account.without if one.speaks == "for"], account, "For", "no single finding")
    yield from _ahead(account)
    yield Line()
    yield from _open(_lifting(account), account, "Would lift it", NONE_LIFTS, seen=True)
    yield from _elsewhere(account)


def _head(account: CauseAccount) -> Iterator[Line]:
    yield Line(f"{account.case}   {account.machine}", tone="strong")
    yield Line(account.rulebase.words, tone="faint")
    yield Line()
    layer = account.rulebase.mark("causes", account.cause)
    yield Line(
        f"{account.name}: {account.place_words}{layer}",
        tone="strong",
        right=f"{account.word}  {percent(account.probability)}",
    )
    place = (
        "normal on a sound machine"
        if account.normal
        else f"place {account.rank} of {account.of} (causes at their places)"
    )
    yield Line(
        f"{percent(account.prior)} before anything was looked at; {place}; no fault beyond normal wear "
        f"{percent(account.no_fault)}",
        indent=2,
    )
    yield Line(f"{_opening(account.because)} ({account.written})", indent=2, tone="faint")
    yield Line()


def _opening(text: str) -> str:
    """The first sentences of a text, enough of them to say something.

    >>> _opening("It is slight. Each turn lays the belt a little more to one side, until a row of lugs leans. More.")
    'It is slight. Each turn lays the belt a little more to one side, until a row of lugs leans.'
    """
    said = ""
    for sentence in text.split(". "):
        said = f"{said} {sentence.rstrip('.')}.".lstrip()
        if len(said) >= ENOUGH:
            break
    return said


def _exclusions(account: CauseAccount) -> Iterator[Line]:
    for one in account.excluded_by:
        yield Line(f"{one.name}, rule {_rule(one, account)}", label="Ruled out", label_width=WIDTH, tone="strong")
        yield Line(f"from {_used(one)}. {one.because}", indent=WIDTH)
        yield Line(f"rests on {one.basis}", indent=WIDTH, tone="faint")
    if account.excluded_by:
        yield Line("While that rule holds, no finding can lift this cause.", indent=WIDTH)


def _used(one: RuleSaid) -> str:
    """What a rule used, in words."""
    return "; ".join(text for text in one.used_words or one.used if text)


def _rule(one: RuleSaid, account: CauseAccount) -> str:
    return f"{one.rule}{account.rulebase.mark('chaining', one.rule)} ({one.written})"


def _shifts(account: CauseAccount) -> Iterator[Line]:
    for index, one in enumerate(account.shifted_by):
        label = "Rules" if not index else " "
        text = f"{one.says.replace('-', ' ')}: {one.name}, rule {_rule(one, account)}, from {_used(one)}"
        yield Line(text, label=label, label_width=WIDTH)


def _findings(rows: Iterable[Without], account: CauseAccount, label: str, nothing: str) -> Iterator[Line]:
    found = list(rows)
    if account.excluded_by:
        return
    if not found:
        yield Line(nothing, label=label, label_width=WIDTH, tone="faint")
    for index, one in enumerate(found[:SHOWN]):
        yield Line(
            one.words,
            label=label if not index else " ",
            label_width=WIDTH,
            right=f"without it {_fine(account.probability, one.probability):>6}",
        )
    if len(found) > SHOWN:
        yield Line(f"and {len(found) - SHOWN} more", label=" ", label_width=WIDTH, tone="faint")


def _ahead(account: CauseAccount) -> Iterator[Line]:
    for index, one in enumerate(account.rivals):
        yield Line(
            f"{one.name}: {one.place_words}",
            label="Ahead of it" if not index else " ",
            label_width=WIDTH,
            right=f"{one.word}  {percent(one.probability)}",
        )
    if len(account.rivals) < account.rank - 1:
        yield Line(f"and {account.rank - 1 - len(account.rivals)} more", label=" ", label_width=WIDTH, tone="faint")


def _lifting(account: CauseAccount) -> list[OpenSign]:
    return [one for one in account.open_signs if _moves(one.if_seen, account) > 0]


def _moves(after: float, account: CauseAccount) -> float:
    """The change, or 0 where the printed figure would stay the same."""
    return 0.0 if percent(after) == percent(account.probability) else after - account.probability


def _open(rows: list[OpenSign], account: CauseAccount, label: str, nothing: str, *, seen: bool) -> Iterator[Line]:
    if account.excluded_by:
        return
    if not rows:
        yield Line(nothing, label=label, label_width=WIDTH + 2, tone="faint")
    for index, one in enumerate(rows[:SIGNS_SHOWN]):
        after = one.if_seen if seen else one.if_absent
        share = one.probability if seen else 1 - one.probability
        yield Line(
            f"{one.words}, {'if it is there' if seen else 'if it is not there'} ({percent(share)})",
            label=label if not index else " ",
            label_width=WIDTH + 2,
            right=f"{percent(account.probability)} → {percent(after)}",
        )
        settles = f"settled by {one.check_name}, {one.minutes:.0f} min ({one.check})" if one.check else "look at it"
        settles += f"; not now: {one.not_now}" if one.not_now else ""
        yield Line(settles, indent=WIDTH + 2, tone="faint")


def _elsewhere(account: CauseAccount) -> Iterator[Line]:
    if account.elsewhere:
        rows = [f"{place} {percent(value)}" for place, value in account.elsewhere if percent(value) != percent(0.0)]
        if len(rows) < len(account.elsewhere):
            rows.append(f"{'' if not rows else 'at its other places '}{percent(0.0)}")
        yield Line()
        yield Line("; ".join(rows), label="Elsewhere", label_width=WIDTH + 2, tone="faint")


def _fine(now: float, without: float) -> str:
    """A probability, with one digit more below 10 %, where figures move in small steps, and likewise near 100 %."""
    if 0.0005 <= without < 0.095:
        return f"{without * 100:.1f} %"
    return moved(now, without)[1]
