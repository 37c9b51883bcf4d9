"""`lugwright rules`: the trainer's bench. One module per command."""

from __future__ import annotations

import typer

from lugwright.cli.rules import book, check, diff, draw, formatting, listing, new, schema, show, table, testing

app = typer.Typer(
    no_args_is_help=True, help="Look into a rule base and check it.\n\nExample: lugwright rules check rules"
)
app.command("check")(check.check_command)
app.command("list")(listing.list_command)
app.command("show")(show.show_command)
app.command("test")(testing.test_command)
app.command("diff")(diff.diff_command)
app.command("draw")(draw.draw_command)
app.command("table")(table.table_command)
app.command("book")(book.book_command)
app.command("new")(new.new_command)
app.command("format")(formatting.format_command)
app.command("schema")(schema.schema_command)
