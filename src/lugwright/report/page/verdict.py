"""The head of the page: may the machine keep running, the answer in short, and every reason for the verdict."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.diagnosis import Diagnosis, RankedCause, Reason
from lugwright.report.figures import percent
from lugwright.report.page.blocks import Banner, Block, Facts, Heading, Table, Text, Tone
from lugwright.report.sentences import stands_all_the_same
from lugwright.report.text import VERDICTS

TONES: dict[str, Tone] = {"stop": "stop", "limit-use": "limit", "keep-running": "go"}


def verdict_blocks(answer: Diagnosis) -> Iterator[Block]:
    """The verdict, the answer in a sentence, the note of the person, then every reason."""
    verdict = answer.verdict
    word, _, plain = VERDICTS[verdict.action]
    said = plain or {
        "limit-use": "It may run within these limits.",
        "keep-running": "Nothing that was noted calls for a limit. What nobody looked at is not cleared by this.",
    }.get(verdict.action, "")
    yield Banner(word, said[0].upper() + said[1:] if said else "", TONES[verdict.action])
    yield from _in_short(answer)
    if answer.note:
        yield Text(f"Noted at the machine: {answer.note}")
    told = [one for one in verdict.reasons if one.rule or one.limit]  # what no rule said stands in the banner
    for reasons in verdict.grouped:
        first = reasons[0]
        if first.action != verdict.action or not (first.rule or first.limit):
            continue
        yield Heading(first.heading, right=VERDICTS[first.action][0].capitalize())
        rows = [("Measured", first.measured)]
        for reason in reasons:
            rows += [
                ("What to keep to", reason.limit),
                ("The figure behind it", reason.number),
                ("Before anything else", reason.work),
                ("Rule", _rule(reason, answer)),
            ]
        yield Facts(tuple((name, text) for name, text in rows if text))
    lesser = [one for one in told if one.action != verdict.action]
    if lesser:
        columns = ("Sign", "Alone it would mean", "What to keep to", "The figure behind it", "Rule")
        cells = tuple(
            (
                f"{one.heading}{f': {one.measured}' if one.measured else ''}",
                VERDICTS[one.action][0].lower(), one.limit, one.number, _rule(one, answer),
            )
            for one in lesser
        )  # fmt: skip
        yield Table("Less severe; to be kept to once what stands above is put right", columns, cells)


def _rule(reason: Reason, answer: Diagnosis) -> str:
    """The rule behind a reason and where it is written; a reason that no rule gave says that it is built in."""
    if not reason.rule:
        return ""
    step = next((one for one in answer.steps if one.rule == reason.rule), None)
    written = f", {step.file}:{step.line}" if step else ", built in: it follows from the other limits there"
    return f"{reason.rule}{answer.rulebase.mark('chaining', reason.rule)}{written}"


def _in_short(answer: Diagnosis) -> Iterator[Block]:
    """The answer in short, right under the verdict: what is likeliest first, then what is undecided."""
    first = answer.ranked[0] if answer.ranked else None
    said = [f"no fault beyond normal wear: {answer.no_fault_word}, {percent(answer.no_fault)}"]
    if first and first.probability > answer.no_fault:
        said.insert(0, _likeliest(first))
    elif first and answer.undecided:
        said.append(_likeliest(first))
    text = "; ".join(said)
    yield Text(f"{text[0].upper()}{text[1:]}.")
    if told := stands_all_the_same(answer):
        yield Text(f"{told[0].upper()}{told[1:]}.")
    if answer.undecided:
        yield Text("Undecided between: " + "; ".join(answer.undecided.words) + ".")


def _likeliest(one: RankedCause) -> str:
    return f"likeliest cause: {one.name}, {one.place_words} ({one.word}, {percent(one.probability)})"
