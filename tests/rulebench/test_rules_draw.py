"""`rules draw`: every link is drawn, nothing else is, and the picture stays readable and harmless."""

from __future__ import annotations

import html
import re
import subprocess
import sys
from collections import Counter
from pathlib import Path
from xml.etree import ElementTree

import pytest
import typer
from rulebench_bases import HOSTILE, SOUND, Edit, edited, shipped
from typer.testing import CliRunner

from lugwright.cli.rules.draw import draw_command
from lugwright.issues import UnusableInput
from lugwright.report import graph, render
from lugwright.report.lines import laid_out, printable
from lugwright.report.look_alike_graph import look_alike_graph, look_alike_lines, numbered
from lugwright.report.rule_canvas import BAND
from lugwright.report.rule_fan import words
from lugwright.report.rule_graph import rule_graph
from lugwright.report.rule_graph_text import rule_graph_lines
from lugwright.report.rule_links import MOST_IN_GROUP, Alike, alikes, links, look_alike_groups
from lugwright.rulebase.load import RuleBase, load

BASE = shipped()
CAUSES = next((SOUND / "causes").glob("*.yaml")).relative_to(SOUND).as_posix()
SYMPTOMS = next((SOUND / "symptoms").glob("*.yaml")).relative_to(SOUND).as_posix()
EDGE = re.compile(r"^\t(\S+) -> (\S+) \[(.*)\]$", re.M)
NODE = re.compile(r"^\t+(\w+) \[(.*?)\]$", re.M | re.S)


def written(rulebase: RuleBase) -> Counter[tuple[str, str, str]]:
    """Cause, symptom and file:line of every link, counted from the rule base itself."""
    return Counter(
        (name, show.symptom, str(rulebase.spots[f"causes/{name}/{field}/{n}"]))
        for name, cause in rulebase.causes.items()
        for field in ("shows", "never_shows")
        for n, show in enumerate(getattr(cause, field))
    )


def drawn(source: str) -> Counter[tuple[str, str, str]]:
    """The links that the lines of a fan stand for: a line to the words and a line on to the item, once each."""
    to_words, to_item = Counter[tuple[str, str, str]](), Counter[tuple[str, str, str]]()
    for tail, _, look in EDGE.findall(source):
        cause, symptom, spot = re.search(r'tooltip="(\S+): (\S+)   ([^"]+)"', look).groups()  # type: ignore[union-attr]
        (to_words if tail.startswith("hub") else to_item)[cause, symptom, spot] += 1
    assert to_words == to_item
    return to_words


def test_every_link_of_a_cause_is_drawn_once_and_nothing_else() -> None:
    every = written(BASE)
    for name in BASE.causes:
        assert drawn(rule_graph(BASE, name).source) == Counter({row: n for row, n in every.items() if row[0] == name})


def test_every_link_of_a_symptom_is_drawn_once_and_nothing_else() -> None:
    every = written(BASE)
    for name in BASE.symptoms:
        assert drawn(rule_graph(BASE, name).source) == Counter({row: n for row, n in every.items() if row[1] == name})


def test_what_speaks_against_is_dashed_and_what_speaks_for_is_not() -> None:
    for name, cause in BASE.causes.items():
        looks = [look for _, _, look in EDGE.findall(rule_graph(BASE, name).source)]
        dashed = [look for look in looks if "style=dashed" in look]
        assert len(dashed) == 2 * len(cause.never_shows)
        assert all(graph.AGAINST in look for look in dashed)
        assert all(graph.FOR in look for look in looks if look not in dashed)


def test_a_more_frequent_sign_has_a_thicker_line() -> None:
    thick: dict[str, set[float]] = {}
    for name in BASE.causes:
        source = rule_graph(BASE, name).source
        found = re.findall(r"^\tr(\d+):e -> .*penwidth=([\d.]+).*style=solid", source, re.M)
        said = dict(re.findall(r'^\tr(\d+) \[label="([a-z ]+?)(?:,|\\l)', source, re.M))
        for number, width in found:
            thick.setdefault(said[number], set()).add(float(width))
    order = [thick[word] for word in ("rarely", "sometimes", "often", "usually", "almost always")]
    assert all(len(widths) == 1 for widths in order)
    assert [*order] == sorted(order, key=min)
    assert len({min(widths) for widths in order}) == 5


def areas(source: str, prefix: str) -> list[tuple[float, float, float, float]]:
    """Left, right, low and high edge of the nodes whose id is the prefix and a number, in inches."""
    found = []
    for node, look in NODE.findall(source):
        if re.fullmatch(prefix + r"\d+", node):
            x, y = map(float, re.search(r'pos="(\S+),(\S+)!"', look).groups())  # type: ignore[union-attr]
            wide, tall = (float(re.search(rf"{key}=([\d.]+)", look)[1]) for key in ("width", "height"))  # type: ignore[index]
            found.append((x - wide / 2, x + wide / 2, y - tall / 2, y + tall / 2))
    return found


@pytest.mark.parametrize("name", [*BASE.causes, *BASE.symptoms])
def test_no_words_and_no_box_lie_on_another_and_the_page_is_not_shrunk_beyond_reading(name: str) -> None:
    source = rule_graph(BASE, name).source
    placed = areas(source, "r") + areas(source, "i")
    assert len(areas(source, "r")) == sum(written_of(name).values())
    ordered = sorted(placed)
    for n, one in enumerate(ordered):
        for two in ordered[n + 1 :]:
            apart = one[1] <= two[0] + 1e-3 or one[3] <= two[2] + 2e-3 or two[3] <= one[2] + 2e-3
            assert apart, (one, two)
    if placed:
        deep = max(one[3] for one in placed) - min(one[2] for one in placed) + 1.2  # the title takes an inch
        assert min(1.0, 10.9 / deep, 7.5 / max(one[1] for one in placed)) > 0.7  # of 9 points, 6.3 are left


def written_of(name: str) -> Counter[tuple[str, str, str]]:
    return Counter({row: n for row, n in written(BASE).items() if name in row[:2]})


def test_text_and_picture_say_the_same() -> None:
    for name in (*BASE.causes, *BASE.symptoms):
        rows = links(BASE, cause=name) if name in BASE.causes else links(BASE, symptom=name)
        lines = [line for line in rule_graph_lines(BASE, name) if line.tone in ("for", "against")]
        source = rule_graph(BASE, name).source
        assert len(lines) == len(rows) == len(areas(source, "r"))
        assert Counter(line.tone == "against" for line in lines) == Counter(row.against for row in rows)


def joined(pairs: tuple[Alike, ...]) -> set[tuple[str, str, str]]:
    return {(pair.one, pair.two, pair.check) for pair in pairs}


def test_every_pair_of_look_alikes_is_a_line_or_small_print_at_both_and_nothing_else_is() -> None:
    wanted = {
        (*sorted((name, alike.cause)), alike.split_by)
        for name, cause in BASE.causes.items()
        for alike in cause.look_alikes
    }
    number = numbered(look_alike_groups(alikes(BASE)))
    names = {node: name for name, node in number.items()}
    source = look_alike_graph(BASE).source
    lines = set()
    for tail, head, look in re.findall(r"^\tc(\w+) -> c(\w+) \[(.*?)\]$", source, re.M | re.S):
        check = re.search(r'label=(?:"([^"]*)"|(\S+))', look)
        said = (check[1] or check[2]).replace("\n", "")  # type: ignore[index]
        lines.add((*sorted((names[tail.replace("_", ".")], names[head.replace("_", ".")])), said))
    small: Counter[tuple[str, ...]] = Counter()
    for node, text in re.findall(r"^\t\tc(\w+) \[label=<(.*?)> ", source, re.M):
        said = " ".join(re.findall(r'POINT-SIZE="8.5">([^<]*)<', text))
        for check, others in re.findall(r"([a-z-]+): ([\d. ]+)", said):
            for other in others.split():
                small[(*sorted((names[node.replace("_", ".")], names[other])), check)] += 1
    assert lines | set(small) == wanted == joined(alikes(BASE))
    assert not lines & set(small)
    assert set(small.values()) <= {2}


def test_an_arrow_leaves_the_only_cause_that_names_the_other() -> None:
    one_way = {(a, b.cause) for a, cause in BASE.causes.items() for b in cause.look_alikes}
    for pair in alikes(BASE):
        for name in pair.named_by:
            assert (name, pair.other(name)) in one_way
    source = look_alike_graph(BASE).source
    inside = re.findall(r"\bdir=(\w+)", source)
    groups = look_alike_groups(alikes(BASE))
    group = {name: n for n, names in enumerate(groups) for name in names}
    together = [pair for pair in alikes(BASE) if group[pair.one] == group[pair.two]]
    assert Counter(way == "none" for way in inside) == Counter(len(pair.named_by) == 2 for pair in together)


def test_groups_hold_every_cause_once_and_stay_small() -> None:
    groups = look_alike_groups(alikes(BASE))
    members = [name for group in groups for name in group]
    assert sorted(members) == sorted(set(members))
    assert set(members) == {name for pair in alikes(BASE) for name in (pair.one, pair.two)}
    assert max(map(len, groups)) <= MOST_IN_GROUP


def test_the_text_of_the_look_alikes_names_each_pair_at_both_causes() -> None:
    rows = [line for line in look_alike_lines(BASE) if line.indent == 7]
    assert len(rows) == 2 * len(alikes(BASE))


#: HOSTILE as it can stand in a YAML file: without the marks that the reader of plain YAML refuses.
IN_YAML = HOSTILE.replace("'", "''").replace("\u202e", "").replace("\u200b", "")
EVIL: tuple[Edit, ...] = tuple(
    (file, f"name: {name}", f"name: '{IN_YAML} {name}'")
    for file, names in ((CAUSES, ("Frame out of line", "Axle splayed")), (SYMPTOMS, ("Scuffed face", "One side hot")))
    for name in names
)


def sources(rulebase: RuleBase) -> dict[str, str]:
    names = ("out-of-line", "splayed-axle", "face-scuff", "side-hot")
    return {"": look_alike_graph(rulebase).source, **{name: rule_graph(rulebase, name).source for name in names}}


def test_hostile_text_reaches_the_picture_as_text(tmp_path: Path) -> None:
    run = render.renderer("svg")
    if run is None:
        pytest.skip("nothing here can draw")
    rulebase = edited(tmp_path, EVIL)
    plain = {name: run(source).decode() for name, source in sources(load(SOUND)).items()}
    for name, source in sources(rulebase).items():
        tree = ElementTree.fromstring(run(source))
        tags = {element.tag.rpartition("}")[2] for element in tree.iter()}
        assert tags <= {"svg", "g", "title", "polygon", "polyline", "path", "ellipse", "text", "a"}
        assert tags == {element.tag.rpartition("}")[2] for element in ElementTree.fromstring(plain[name]).iter()}
        # The pieces that wrapping leaves whole stand in the picture as they were written.
        shown = "\n".join("".join(element.itertext()) for element in tree.iter() if element.tag.endswith("text"))
        for piece in ("&amp;\\N\\G", "onclick=x>", "'q'"):
            assert piece in shown.replace("\xa0", " "), (name, piece)
        count = len(re.findall(r"class=\"node\"", run(source).decode()))
        assert count == len(re.findall(r"class=\"node\"", plain[name]))


def test_marks_that_turn_the_reading_direction_are_made_visible() -> None:
    from lugwright.report.rule_canvas import label, wrap

    said = "".join(label(wrap("a\u202eb\u200bc\x1b[31m", 40)))
    assert all(letter.isprintable() for letter in said)


def test_a_label_that_looks_like_markup_is_quoted() -> None:
    import graphviz

    from lugwright.report.rule_canvas import label

    one = graphviz.Digraph()
    one.node("n", label(["<b>x</b>"]))
    assert 'label="<b>x</b>"' in one.source


def test_pictures_are_the_same_to_the_byte_whatever_the_hash_seed() -> None:
    program = (
        "import hashlib\n"
        "from lugwright.rulebase.load import load\n"
        "from lugwright.report.look_alike_graph import look_alike_graph\n"
        "from lugwright.report.rule_graph import rule_graph\n"
        "from lugwright.report.rule_table import KINDS, as_csv, matrix\n"
        "from lugwright.report.rule_table_html import as_html\n"
        "from pathlib import Path\n"
        "from lugwright.rulediff.compare import compare\n"
        f"base, sound = load(), load(Path({str(SOUND)!r}))\n"
        "parts = [look_alike_graph(base).source, compare(base, sound).model_dump_json()]\n"
        "parts += [rule_graph(base, name).source for name in (*base.causes, *base.symptoms)]\n"
        "parts += [view(matrix(base, kind)) for kind in KINDS for view in (as_csv, as_html)]\n"
        "print(hashlib.sha256(''.join(parts).encode()).hexdigest())\n"
    )
    found = {
        subprocess.run(
            [sys.executable, "-c", program], env={"PYTHONHASHSEED": seed}, capture_output=True, text=True, check=True
        ).stdout
        for seed in ("0", "1", "77")
    }
    assert len(found) == 1


def luminance(colour: str) -> float:
    """Relative luminance. source: WCAG 2.1, definition of relative luminance."""
    parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    r, g, b = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, two: str) -> float:
    """Contrast ratio. source: WCAG 2.1, definition of contrast ratio."""
    low, high = sorted((luminance(one), luminance(two)))
    return (high + 0.05) / (low + 0.05)


def test_colours_of_the_picture_can_be_read_and_keep_their_order_in_grey() -> None:
    # source: WCAG 2.1, 1.4.3 (text 4.5 to 1) and 1.4.11 (lines 3 to 1)
    for ground in (graph.PAPER, graph.SIGN, graph.CAUSE, BAND):
        assert contrast(graph.INK, ground) >= 4.5
    for line in (graph.FOR, graph.AGAINST):
        assert contrast(line, graph.PAPER) >= 3
    assert luminance(graph.PAPER) > luminance(graph.SIGN) > luminance(graph.CAUSE)


def command(*words_: str) -> tuple[int, str, str, BaseException | None]:
    app = typer.Typer()
    app.command()(draw_command)
    done = CliRunner().invoke(app, list(words_))
    return done.exit_code, done.stdout, done.stderr, done.exception


def test_without_a_file_the_command_prints_the_same_as_indented_text() -> None:
    code, out, _, _ = command("toe-in-error")
    assert code == 0
    rows = laid_out(rule_graph_lines(BASE, "toe-in-error"), 100)
    assert out == "".join(text.rstrip() + "\n" for text, _ in rows)
    assert "what it may mean" in command("hub-hot")[1]
    assert "Group 1" in command()[1]


def test_the_command_takes_another_name_of_a_symptom(tmp_path: Path) -> None:
    code, out, _, _ = command("scuffed-face", "--rules", str(SOUND))
    assert code == 0
    assert "face-scuff" in out


def test_the_command_draws_to_a_file(tmp_path: Path) -> None:
    target = tmp_path / "toe.dot"
    code, out, err, _ = command("toe-in-error", "-o", str(target))
    assert (code, out) == (0, "")
    assert "drawn:" in err
    assert target.read_text(encoding="utf-8") == rule_graph(BASE, "toe-in-error").source
    assert [path.name for path in tmp_path.iterdir()] == ["toe.dot"]


def test_an_unknown_id_is_refused_with_the_nearest_name() -> None:
    *_, problem = command("toe-in-eror")
    assert isinstance(problem, UnusableInput)
    assert "did you mean 'toe-in-error'" in str(problem)


def test_a_cause_without_look_alikes_is_named_as_such() -> None:
    text = "\n".join(line.label + line.text for line in look_alike_lines(load(SOUND)))
    assert "without a look-alikeside-slope" in text


def test_the_words_of_a_line_say_how_often_and_where() -> None:
    said = {words(link) for link in links(load(SOUND))}
    assert said == {
        "usually, same side", "often, same side", "speaks against", "usually", "often, inboard",
        "sometimes, when slope is yes",
    }  # fmt: skip
    assert html.escape(printable("<")) == "&lt;"
