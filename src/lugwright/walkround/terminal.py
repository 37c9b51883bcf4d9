"""Asking at a terminal or over a plain pipe: one line in, one question out, everything saved in between."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from lugwright.report.lines import printable
from lugwright.report.text import VERDICTS
from lugwright.summing_up import COMMON_CAUTION
from lugwright.walkround.advice import Advice
from lugwright.walkround.draft import Draft
from lugwright.walkround.question import WHOLE, NotUnderstood, Question, Stop
from lugwright.walkround.save import kept, save, still
from lugwright.walkround.script import COMMANDS, Script, State

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase

WIDTH = 96
PROMPT = "> "


@dataclass
class Talk:
    """One conversation. echo: repeat what was typed, for a pipe, so that the record can be read."""

    script: Script
    path: Path
    lines: TextIO
    out: TextIO
    echo: bool
    _known: bytes | None = None
    _warned: set[str] = field(default_factory=set)

    def run(self, draft: Draft) -> str:
        """Ask until it is settled or the person leaves; gives the reason."""
        state = State(self.script.taken_up(draft))
        self._known = kept(self.path)
        section = ""
        self._say(
            "Answers are saved at once. `?` explains, `back` takes the last one back, `quit` leaves; `help` for more."
        )
        self._say(COMMON_CAUTION, "! ")
        while True:
            asked = self.script.question(state)
            if isinstance(asked, Stop):
                self._warned.clear()  # at the end all of them are said, the verdict first
            self._warn(state.draft)
            if isinstance(asked, Stop):
                self._say("")
                for line in asked.lines:
                    self._say(line)
                self._say("Saved. The whole answer:")
                self.out.write(f"  lugwright triage {printable(str(self.path))}\n")
                return asked.reason
            if asked.section != section:
                section = asked.section
                self._say("")
                self._say(f"--- {section} ---")
            self._ask(asked)
            state_after = self._take(state, asked)
            if state_after is None:
                self._say("Saved. To go on from here:")
                self.out.write(f"  lugwright walkround {printable(str(self.path))}\n")
                return "left"
            state = state_after

    def _warn(self, draft: Draft) -> None:
        """Say at once what stops the machine or limits its use; each reason once."""
        lines = []
        for one in self.script.adviser.warnings(draft):
            lines.append(f"{VERDICTS[one.action][0]}: {one.heading}. {one.limit}".strip())
        new = [line for line in dict.fromkeys(lines) if line not in self._warned]
        for line in ("", *new) if new else ():
            self._say(line, "! " if line else "")
        self._warned.update(new)

    def _ask(self, asked: Question) -> None:
        self._say("")
        for line in asked.why:
            self._say(line, "  ", "  ")
        self._say(asked.text)
        for number, line in enumerate(asked.listed, 1):
            self._say(f"{number:>4}  {line}", "", " " * 6)
        for word, means in asked.choices:
            self._say(f"  {word}" + (f" = {means}" if means else ""), "", " " * 6)
        if asked.empty:
            self._say(f"  Enter = {asked.empty}")

    def _take(self, state: State, asked: Question) -> State | None:
        """Lines until one of them gives a new state; None when the person leaves."""
        while True:
            self.out.write(PROMPT)
            self.out.flush()
            try:
                line = self.lines.readline()
            except (KeyboardInterrupt, OSError):  # nothing more can be typed: the person left
                line = ""
            if not line or ("\n" not in line and not line.strip()):
                self.out.write("\n")
                return None
            text = line.removeprefix("\ufeff").strip()
            if self.echo:
                self.out.write(printable(text) + "\n")
            if text.lower() in ("quit", "q"):
                return None
            try:
                after = self._command(state, asked, text)
                if after is None:
                    continue
                still(self.path, self._known)
                save(after.draft, self.path)
                self._known = kept(self.path)
            except NotUnderstood as problem:
                self._say(f"Not understood: {problem}.", "  ", "  ")
                continue
            return after

    def _command(self, state: State, asked: Question, text: str) -> State | None:
        """The state after a line; None when the line only asked for something to be shown."""
        word, _, rest = text.partition(" ")
        said = text.lower()
        if word == "?" or (text.startswith("?") and WHOLE.fullmatch(text[1:].strip())):
            self._explain(asked, text[1:].strip())
            return None
        if said == "help":
            for name, means in COMMANDS:
                self._say(f"{self.script.fitted(name, state.draft):<24}{means}", "  ", " " * 26)
            return None
        if said == "list":
            self._show(state.draft)
            return None
        if said == "back":
            if state.before is None:
                again = self.script.fitted("change lugs front-left", state.draft)
                raise NotUnderstood(f"nothing was answered in this sitting; `{again}` asks a part again")
            return state.before
        if said == "done" and not asked.id.startswith("check/"):
            return self.script.skip_section(state, asked)
        if word.lower() == "change" and rest:
            return self.script.again(state, rest)
        return self.script.answer(state, asked, text)

    def _explain(self, asked: Question, number: str) -> None:
        lines: Iterable[str] = asked.help
        if number and asked.details:
            at = int(number) if WHOLE.fullmatch(number) else 0
            if not 1 <= at <= len(asked.details):
                raise NotUnderstood(f"the list goes from 1 to {len(asked.details)}")
            lines = asked.details[at - 1]
        for line in lines or ("There is no more to say about this.",):
            self._say(line, "  ", "  ")

    def _show(self, draft: Draft) -> None:
        from lugwright.walkround.draft import as_text

        for line in as_text(draft).splitlines():
            if not line.startswith("#"):
                self._say(line, "  ", "    ")

    def _say(self, text: str, first: str = "", later: str = "") -> None:
        rows = textwrap.wrap(
            printable(text), WIDTH, initial_indent=first, subsequent_indent=later or first, break_on_hyphens=False
        )
        self.out.write("\n".join(rows) + "\n")


def talk(path: Path, draft: Draft, rulebase: RuleBase, lines: TextIO, out: TextIO, *, echo: bool) -> str:
    """Lead through a case at a terminal or over a pipe. Gives why it ended: settled, nothing-left, undecided or left.

    Raises UnusableInput when the file cannot be written.
    """
    advice = Advice(rulebase)
    return Talk(Script(rulebase, advice), path, lines, out, echo).run(draft)
