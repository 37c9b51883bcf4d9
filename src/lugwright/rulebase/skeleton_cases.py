"""The skeleton of the cases beside a new entry: what must come out of a machine that has it and of one that has not."""

from __future__ import annotations

from lugwright.rulebase.known import Known

#: Kinds of entry that are tested by cases of their own. Another kind is tested through the causes that use it.
WITH_CASES = ("causes", "chaining", "symptoms")
LONGEST = 60  # characters of an id

_HEAD = """\
## Cases for {name}.
## Write something for every TODO. Lines with ## explain. A key behind a single # may be left out; take the # away to
## use it.
"""

_ONE = """
{name}-{kind}:
  ## {told}
  sentence: TODO
  for: [{of}]
  kind: {kind}
  case:
    ## layout: two-track or four-track; drive: friction, positive or none
    machine: {{layout: TODO, drive: TODO}}
{context}\
    ## the signs that are there; a sign noted per side needs side: inboard, outboard or both
    seen:
      - {{symptom: TODO, unit: TODO}}
    ## parts that were looked over: their other signs by look or touch are absent
    looked_at:
      - {{component: TODO, units: all}}
    ## readings, each with its unit of measurement
    # measured:
    #   - {{check: id-of-a-check, unit: TODO, field: 8 mm}}
  ## what must come out; further keys are first, among_first, not_first, at_least, at_most, no_fault, verdict, fires,
  ## silent, undecided, next_check and excluded
  expect:
"""

_CAUSE = (
    ("typical", "a machine that has it well established: say what shows it, and that it comes out first",
     ("## with its place behind an @, as in {name}@front-left, where the place matters", "first: {name}")),
    ("mild", "a machine on which it has just begun: only the early signs, so that it is likely but not certain",
     ("at_least: {{{name}: TODO}}",)),
    ("look-alike", "a machine that has what it is mistaken for: say which check or sign tells them apart",
     ("## the cause that it is", "first: TODO", "not_first: [{name}]")),
)  # fmt: skip
_CHAINING = (
    ("fires", "a machine on which all conditions hold, the limit itself where there is one", ("fires: [{name}]",)),
    ("silent", "a machine that is nearly the same, and where one condition does not hold", ("silent: [{name}]",)),
)
_SYMPTOM = (
    ("sound", "a sound machine that shows it all the same: say why nobody should be alarmed",
     ("## the least probability that nothing is wrong, as in 60 %", "no_fault: {{at_least: TODO}}")),
)  # fmt: skip


def skeleton_cases(kind: str, name: str, known: Known) -> str:
    """The text of the cases for a new entry, without the line that wires it to a schema; empty where it has none.

    kind: the folder of the entry, such as `causes`.

    >>> [line for line in skeleton_cases("chaining", "wet-shim", Known()).splitlines() if line.endswith(":")][:3]
    ['wet-shim-fires:', '  case:', '    seen:']
    """
    if kind not in WITH_CASES:
        return ""
    visit = "complaint" if kind == "causes" else "routine"
    context = ""
    if visit in known.answers("visit"):
        context = "    ## what was asked; more makes a better case\n    context:\n" + f"      visit: {visit}\n"
    text = _HEAD.format(name=name)
    cases = {"causes": _CAUSE, "chaining": _CHAINING, "symptoms": _SYMPTOM}[kind]
    for number, (one, told, expected) in enumerate(cases):
        of = name if kind != "symptoms" else ""
        short = name[: LONGEST - 1 - len(one)].rstrip("-")
        made = _ONE.format(name=short, kind=one, told=told, of=of, context=context)
        if number:
            explained = ("    ## ", "  ## what must", "  ## silent")
            made = "".join(line for line in made.splitlines(keepends=True) if not line.startswith(explained))
        text += made + "".join(f"    {line.format(name=name)}\n" for line in expected)
    return text
