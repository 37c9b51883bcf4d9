"""Running one of the bench commands in this process, and an overlay to run it on."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import pytest
import typer

from lugwright.cli import app as real
from lugwright.cli import main
from lugwright.cli.rules import formatting, new, schema

COMMANDS = {"new": new.new_command, "schema": schema.schema_command, "format": formatting.format_command}


def _app() -> Any:
    """The command line; what is not part of it yet is added, so that these tests need nothing else."""
    from lugwright.cli import rules

    there = {command.name for command in rules.app.registered_commands}
    for name, command in COMMANDS.items():
        if name not in there:
            rules.app.command(name)(command)
    return real


class Bench:
    """A folder `yard` that is an overlay over the shipped rule base, and the command line beside it."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
        self.folder, self.yard = folder, folder / "yard"
        self._capsys, self._monkeypatch = capsys, monkeypatch
        monkeypatch.chdir(folder)
        assert isinstance(_app(), typer.Typer)
        self.yard.mkdir()
        (self.yard / "overlay.yaml").write_text("title: yard rules\nover: shipped\n", encoding="utf-8")

    def __call__(self, *words: str) -> tuple[int, str, str]:
        """Exit code, standard output, standard error."""
        self._monkeypatch.setattr(sys, "argv", ["lugwright", "rules", *words])
        code = 0
        try:
            main()
        except SystemExit as stop:
            code = int(stop.code or 0)
        said = self._capsys.readouterr()
        return code, said.out, said.err

    def files(self) -> dict[str, str]:
        """Every file of the overlay with its text."""
        found = sorted(path for path in self.yard.rglob("*") if path.is_file())
        return {path.relative_to(self.yard).as_posix(): path.read_text(encoding="utf-8") for path in found}
