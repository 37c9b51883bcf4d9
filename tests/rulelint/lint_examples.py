"""One small mistake for each lint: what is edited in the quiet rule base. The messages stand in `messages/`.

A name is the code of the lint it is for, then perhaps a dot and what is special about it.
"""

# ruff: noqa: E501 - an edit reads best on one line

from __future__ import annotations

from quiet_base import Edit

S, C, K, R = "symptoms/all.yaml", "causes/all.yaml", "checks/all.yaml", "chaining/all.yaml"
X, P, M, W = "context/all.yaml", "procedures/all.yaml", "machines/all.yaml", "scales.yaml"

_SYMPTOM = """\
new-sign:
  name: New sign
  component: frame
  where: unit
  by: look
  sound: rarely
  recognise: Something new.
  because: Something happens.
  basis: judgement
"""


def _rule(name: str, when: str, then: str, unless: str = "", because: str = "Something follows.") -> str:
    blocked = f"  unless:\n    - {unless}\n" if unless else ""
    return (
        f"{name}:\n  name: {name.replace('-', ' ').capitalize()}\n  when:\n"
        + "".join(f"    - {one}\n" for one in when.split(" & "))
        + blocked
        + "  then:\n"
        + "".join(f"    - {one}\n" for one in then.split(" & "))
        + f"  because: {because}\n  basis: judgement\n"
    )


def _new_rule(when: str, then: str, unless: str = "") -> list[Edit]:
    return [(R, "", _rule("extra", when, then, unless))]


_SHIFT = "{cause: splayed-axle, becomes: likelier}"

EXAMPLES: dict[str, list[Edit]] = {
    # --- symptoms
    "unread-symptom": [(S, "", _SYMPTOM)],
    "finding-leads-nowhere": [
        (S, "", _SYMPTOM),
        *_new_rule("{seen: face-scuff, unit: $unit, side: inboard}", "{finding: new-sign, unit: $unit}"),
    ],
    "measured-not-decided": [(K, "  decides: [side-hot]", "  decides: []")],
    "shown-by-all": [
        (C, "{symptom: face-scuff, how_often: usually, side: same}", "{symptom: face-scuff, how_often: often, side: same}")
    ],
    "symptom-like-itself": [(S, "look_alikes: [even-polish]", "look_alikes: [even-polish, face-scuff]")],
    "symptom-alike-one-sided": [(S, "  look_alikes: [even-polish]\n", "")],
    # --- causes
    "cause-without-signs": [
        (C, "    - {symptom: unit-leans, how_often: usually}\n", ""),
        (C, "how_often: often, side: inboard}", "how_often: often, side: inboard, drive: friction}"),
        (C, "how_often: sometimes, side: inboard}", "how_often: sometimes, side: inboard, drive: friction}"),
    ],
    "link-reaches-nothing": [
        (C, "  oriented: hand\n", "  oriented: hand\n  layouts: [two-track]\n"),
        (C, "how_often: sometimes, given: {slope: yes}}", "how_often: sometimes, given: {slope: yes}}\n"
            "    - {symptom: even-polish, how_often: almost-always, units: rear}"),
    ],
    "sign-twice": [
        (C, "{symptom: side-hot, how_often: often, side: same}",
         "{symptom: side-hot, how_often: often, side: same}\n    - {symptom: face-scuff, how_often: often, side: both}")
    ],
    "shown-and-never": [
        (C, "    - {symptom: even-polish, how_often: never}",
         "    - {symptom: even-polish, how_often: never}\n    - {symptom: side-hot, how_often: never, side: same}")
    ],
    "never-says-nothing": [(S, "  by: look\n  sound: often", "  by: look\n  sound: never")],
    "difference-both-ways": [
        (C, "{symptom: side-hot, how_often: often, side: same}",
         "{symptom: side-hot, how_often: often, side: same}\n"
         "    - {symptom: side-hot, how_often: sometimes, side: opposite}")
    ],
    "orientation-not-shown": [
        (C, "how_often: usually, side: same}\n    - {symptom: off-centre, how_often: usually, side: same}",
         "how_often: usually, side: both}\n    - {symptom: off-centre, how_often: usually, side: either}"),
        (C, "{symptom: side-hot, how_often: often, side: same}", "{symptom: side-hot, how_often: often, side: either}"),
    ],
    "weaker-at-home": [
        (C, "{symptom: side-hot, how_often: often, side: same}",
         "{symptom: side-hot, how_often: often, side: same, units: partner}")
    ],
    "causes-alike": [
        (C, "", """\
bent-axle:
  name: Axle bent
  acts_on: axle
  beforehand: common
  if_ignored: Both units wear.
  remedy: Straighten it.
  procedure: straighten
  shows:
    - {symptom: unit-leans, how_often: usually}
    - {symptom: face-scuff, how_often: often, side: inboard}
    - {symptom: off-centre, how_often: sometimes, side: inboard}
  because: Steel that is struck bends.
  basis: judgement
""")
    ],
    "cause-without-procedure": [(C, "  procedure: straighten\n", "")],
    "feeds-in-vain": [(C, "feeds: [out-of-line]", "feeds: [splayed-axle]")],
    "feeds-in-vain.machine": [
        (C, "feeds: [out-of-line]", "feeds: [side-slope]\n  drives: [none]"),
        (C, "  oriented: hand\n", "  oriented: hand\n  drives: [friction]\n"),
        (R, "    - {machine: drive, is: friction}\n", ""),
    ],
    "key-without-effect": [(C, "how_often: often, side: same}\n    - {symptom: pulls-aside",
                            "how_often: often, side: same, appears: late}\n    - {symptom: pulls-aside")],
    "key-without-effect.rarer": [(C, "  beforehand: rare\n", "  beforehand: rare\n  rarer_on: {two-track: rare}\n")],
    # --- look-alikes
    "look-alike-of-itself": [(C, "{cause: splayed-axle, split_by: clearance", "{cause: out-of-line, split_by: clearance")],
    "look-alike-never-meets": [
        (C, "  acts_on: axle\n", "  acts_on: axle\n  drives: [none]\n"),
        (C, "  oriented: side\n", "  oriented: side\n  drives: [friction, positive]\n"),
        (C, "  feeds: [out-of-line]\n", ""),
        (R, "    - {machine: drive, is: friction}\n", ""),
    ],
    "look-alike-one-sided": [
        (C, "  look_alikes:\n    - {cause: out-of-line, split_by: clearance, how: Both units or one.}\n", "")
    ],
    "look-alike-not-split": [(C, "split_by: clearance, how: Centred on the flat", "split_by: toe, how: Centred on the flat")],
    # --- rules that never fire
    "rule-never-fires.answer": [(R, "  then:\n    - {context: belt-life, is: old}", "  then:\n    - {context: belt-life, is: new}")],
    "rule-never-fires.figures": [(R, "with: {tight: {is: inboard}, offset: {above: 1 mm}}", "with: {tight: {is: inboard}, offset: {below: -1 mm}}")],
    "rule-never-fires.hours": _new_rule("{context: belt-hours, above: 20 h, below: 10 h}", _SHIFT),
    "rule-never-fires.two-answers": _new_rule("{context: slope, is: yes} & {context: slope, is: no}", _SHIFT),
    "rule-never-fires.seen-and-absent": _new_rule(
        "{seen: even-polish, unit: $unit} & {absent: even-polish, unit: $unit}", _SHIFT
    ),
    "rule-never-fires.two-readings": _new_rule(
        "{reading: toe, axle: front, with: {toe-in: {above: 3 mm}}}"
        " & {reading: toe, axle: front, with: {toe-out: {above: 3 mm}}}", _SHIFT
    ),
    "rule-never-fires.machine": _new_rule("{machine: drive, is: none} & {seen: pulls-aside}", _SHIFT),
    "rule-never-fires.layouts": _new_rule("{machine: layout, is: two-track} & {seen: even-polish, unit: rear-left}", _SHIFT),
    "rule-never-fires.unless": _new_rule(
        "{seen: face-scuff, unit: $unit, side: inboard}", _SHIFT, "{seen: face-scuff, unit: $unit}"
    ),
    "rule-never-fires.void": _new_rule(
        "{seen: even-polish, unit: $unit} & {reading: warmth, unit: $unit, with: {inboard: {above: 60 °C}}}", _SHIFT
    ),
    "rule-never-fires.never-void": _new_rule("{void: clearance, unit: $unit} & {seen: even-polish, unit: $unit}", _SHIFT),
    # --- rules among themselves
    "rule-shadowed": _new_rule(
        "{context: belt-life, is: old} & {machine: drive, is: friction} & {context: slope, is: yes}", _SHIFT
    ),
    "rule-shadowed.same": [
        (R, "", _rule("zoo", "{context: uphill, is: right}", "{cause: side-slope, hand: right, becomes: likelier}"))
    ],
    "negation-cycle": [
        *_new_rule(
            "{seen: face-scuff, unit: $unit, side: inboard}",
            "{finding: even-polish, unit: $unit, is: seen}",
            "{absent: off-centre, unit: $unit, side: inboard}",
        ),
        (R, "", _rule("further", "{seen: even-polish, unit: $unit}", "{finding: off-centre, unit: $unit, side: inboard, is: absent}")),
    ],
    "concludes-its-condition": [
        *_new_rule("{seen: even-polish, unit: $unit} & {context: slope, is: yes}", "{finding: even-polish, unit: $unit}"),
    ],
    "concludes-its-condition.opposite": _new_rule(
        "{seen: even-polish, unit: $unit} & {context: slope, is: yes}", "{finding: even-polish, unit: $unit, is: absent}"
    ),
    "condition-twice": _new_rule(
        "{context: belt-hours, above: 100 h} & {context: belt-hours, above: 50 h}", "{cause: side-slope, becomes: likelier}"
    ),
    "unless-never-blocks": _new_rule("{context: slope, is: yes}", _SHIFT, "{context: slope, is: no}"),
    "conclusion-nowhere": [(R, "    - {cause: splayed-axle, becomes: likelier}", "    - {finding: pulls-aside, is: absent}"),
                           (R, "{machine: drive, is: friction}", "{machine: drive, is: none}")],
    "verdict-without-number": [(R, ", number: see the operator's manual", "")],
    "no-mirror-image": [(R, "{cause: side-slope, hand: right, becomes: likelier}",
                         "{cause: side-slope, hand: right, becomes: much-likelier}")],
    "rules-contradict": [(R, "with: {offset: {at_most: 1 mm}}", "with: {offset: {at_most: 2 mm}}")],
    "answers-contradict": [(R, "at_least: 20 h", "at_least: 10 h")],
    "shift-either-way": [
        (R, "", _rule("sloping", "{context: slope, is: yes}", "{cause: splayed-axle, becomes: likelier}")),
        (R, "", _rule("flat-land", "{context: slope, is: no}", "{cause: splayed-axle, becomes: much-likelier}")),
    ],
    # --- evidence
    "evidence-twice": [
        (C, "{symptom: side-hot, how_often: often, side: same}", "{symptom: side-hot, how_often: usually, side: same}"),
        *_new_rule("{seen: face-scuff, unit: $unit, side: inboard}", "{finding: side-hot, unit: $unit, side: inboard}"),
    ],
    "measured-and-swept": [(S, "  directed: yes\n  by: measure\n  sound: rarely\n  recognise: One face is hotter.",
                            "  directed: yes\n  by: touch\n  sound: rarely\n  recognise: One face is hotter.")],
    "concluded-not-decided": [(K, "decides: [unit-leans]", "decides: [pulls-aside]"),
                              (S, "  where: axle\n  by: measure", "  where: axle\n  by: ask")],
    "reading-unread": [(R, "{reading: warmth, unit: $unit, with: {inboard-excess: {above: 8 K}}}",
                        "{absent: even-polish, unit: $unit}")],
    # --- checks, context, procedures, sheets
    "check-decides-nothing": [(K, "", """\
new-check:
  name: New check
  where: unit
  minutes: 5
  risk: low
  decides: []
  steps: [Look.]
  because: Something is looked at.
  basis: judgement
""")],
    "checks-in-a-circle": [(K, "  minutes: 5\n", "  minutes: 5\n  needs_first: [toe]\n"),
                           (K, "  order: 10\n", "  order: 20\n"), (K, "  order: 40\n", "  order: 20\n")],
    "check-before-its-need": [(K, "  order: 20\n", "  order: 50\n"), (K, "  order: 40\n", "  order: 60\n"),
                              (K, "  order: 10\n", "  order: 70\n")],
    "check-at-another-place": [(S, "  where: unit\n", "  where: machine\n"), (R, "{seen: even-polish, unit: $unit}", "{seen: face-scuff, unit: $unit}"),
                               (R, "{absent: even-polish, unit: $unit}", "{absent: even-polish}")],
    "set-up-alone": [(K, "  minutes: 20\n", "  minutes: 20\n  set_up: tape\n")],
    "set-up-alone.minutes": [(K, "  minutes: 20\n", "  minutes: 20\n  set_up: tape\n  set_up_minutes: 4\n"),
                             (K, "  minutes: 5\n", "  minutes: 5\n  set_up: tape\n  set_up_minutes: 5\n")],
    "context-unread": [(X, "", "weather:\n  name: Weather\n  question: Did it rain?\n  answers: {dry: no, wet: yes}\n"
                               "  because: Rain falls.\n  basis: judgement\n")],
    "context-never-concluded": [(R, "  then:\n    - {context: belt-life, is: old}", "  then:\n    - {cause: side-slope, becomes: likelier}"),
                                (R, "    - {context: belt-life, is: old}\n    - {machine", "    - {machine")],
    "visit-without-rate": [(X, "", "visit:\n  name: Visit\n  question: Why are you here?\n"
                                   "  answers: {complaint: something is wrong, planned: nothing is}\n"
                                   "  because: People call when something is wrong.\n  basis: judgement\n")],
    "procedure-unused": [(P, "", "wash:\n  name: Wash it\n  steps:\n    - {do: Wash.}\n  prove: It is clean.\n"
                                 "  because: Dirt hides what is wrong.\n  basis: judgement\n")],
    "sheet-number-unused": [(M, "  because:", "    lock-torque: {value: 90 N·m, means: the lock bolts}\n  because:")],
    "sheet-number-unfit": [(M, "{value: 6 mm,", "{value: 6 N·m,")],
    "sheet-number-unfit.other-sheet": [(M, "", """\
other:
  name: Other machine
  layout: two-track
  drive: positive
  invented: yes
  numbers:
    first-step: {value: 6 mm, means: the first step}
  because: Invented for tests.
  basis: judgement
""")],
    "sheet-number-odd": [(M, "", """\
other:
  name: Other machine
  layout: two-track
  drive: positive
  invented: yes
  numbers:
    toe-limit: {value: 60 mm, means: the limit of toe}
  because: Invented for tests.
  basis: judgement
""")],
    "sheet-number-odd.sign": [(M, "value: 1/2 turn", "value: -1/2 turn")],
    "sheet-numbers-crossed": [
        (M, "  because:", "    gap-least: {value: 1/2 in, means: the least}\n    gap-most: {value: 10 mm, means: the most}\n  because:"),
        (P, "Take it to the press.", "'Keep it between {gap-least} and {gap-most}.'"),
    ],
    # --- texts and names
    "unfinished-text": [(S, "recognise: The machine drifts.", "recognise: The machine drifts. TBD how far")],
    "because-copied": [(S, "because: Unequal drag turns a machine.", "because: Sliding roughens rubber.")],
    "recognise-copied": [(S, "recognise: One face is hotter.", "recognise: One face is matt.")],
    "same-name": [(C, "name: Axle splayed", "name: Frame out of line")],
    "ids-too-close": [(P, "habits:\n", "aligns:\n"), (C, "procedure: habits", "procedure: aligns")],
    "ids-too-close.letter": [(R, "new-belt-slope:\n", "nwe-belt:\n")],
    "alias-of-another-kind": [(S, "also_called: [scuffed-face]", "also_called: [splayed-axle]")],
    "listed-twice": [(K, "decides: [even-polish, face-scuff]", "decides: [even-polish, face-scuff, even-polish]")],
    # --- scales
    "words-out-of-order": [(W, "often: {value: 0.50, low: 0.38, high: 0.62}", "often: {value: 0.50, low: 0.38, high: 0.92}")],
    "words-out-of-order.shift": [(W, "slightly-likelier: 1.5", "slightly-likelier: 0.9")],
    "words-out-of-order.extent": [(W, "many: {sound: 0.25, fault: 0.6}", "many: {sound: 0.25, fault: 0.06}")],
    "stage-incomplete": [(W, "mild: {share: 0.5, drop: {before-wear: 0, at-once: 0, soon: 1, late: 2}}",
                          "mild: {share: 0.5, drop: {before-wear: 0, at-once: 0, soon: 1}}")],
    "stage-incomplete.backward": [(W, "at-once: 0, soon: 1, late: 2}", "at-once: 1, soon: 0, late: 2}")],
}  # fmt: skip
