"""What every key of a file means, in a line: its own description where the shape gives one, else the words here."""

from __future__ import annotations

from typing import Any

#: Shape name (or * for any shape) -> key -> meaning, for keys whose shape does not describe them itself.
MEANINGS: dict[str, dict[str, str]] = {
    "*": {
        "note": "anything else a reader should know",
        "layouts": "the machines it occurs on; both where it is left out",
        "drives": "the drives it occurs with; all where it is left out",
        "unit": "at which unit; $unit stands for any, and for the same one wherever it is written in the rule",
        "axle": "at which axle; $axle stands for any, and for the same one wherever it is written in the rule",
        "side": "at which side; $side stands for any, and for the same one wherever it is written in the rule",
        "hand": "at which hand of the machine; $hand stands for any, the same one wherever it is written in the rule",
        "is": "the word it must be",
        "above": "more than this quantity",
        "below": "less than this quantity",
        "at_least": "this quantity or more",
        "at_most": "this quantity or less",
        "extent": "how far the sign goes, a word of the scales",
        "cautions": "what could hurt somebody; stands before the steps",
        "component": "the part it is about",
        "title": "what it is called",
        "version": "three numbers, as in 1.0.0; raise them when the content changes",
    },
    "Basis": {"kind": "on what the entry rests"},
    "Symptom": {"component": "the part the sign is seen on"},
    "Cause": {
        "acts_on": "what goes wrong as one: a single unit, an axle with its two units, or the whole machine",
        "oriented": "whether it points to a side of its unit or a hand of the machine",
        "if_ignored": "what happens when nobody does anything",
        "remedy": "what puts it right, in a sentence or two",
        "procedure": "the id of the work steps",
        "shows": "its signs; each must be clearly more frequent with the cause than on a sound machine",
        "look_alikes": "what it is mistaken for, and the check that splits the two",
    },
    "Shows": {"symptom": "the id of the sign", "because": "why this sign at this place, if that needs saying"},
    "LookAlike": {"cause": "the id of the other cause"},
    "ContextFact": {
        "question": "as it is asked beside the machine, without blame",
        "quantity": "for a number instead of answers: what kind of number",
    },
    "ChainingRule": {
        "when": "all of these must hold",
        "unless": "and none of these",
        "then": "what follows",
        "note": "anything else a reader should know",
    },
    "Seen": {"seen": "the id of a symptom that is seen"},
    "Absent": {"absent": "the id of a symptom that was looked for and is not there"},
    "ContextIs": {"context": "the id of a context entry"},
    "ReadingIs": {"reading": "the id of a check", "with": "field of the reading -> the tests it must pass"},
    "MachineIs": {"machine": "layout, drive or hours"},
    "Void": {"void": "the id of a check whose readings mean nothing at a unit"},
    "Relation": {"relation": "how two places belong together", "other": "the place that is related to the first"},
    "Finding": {"finding": "the id of the symptom that is concluded", "is": "seen or absent"},
    "CauseShift": {"cause": "the id of a cause", "becomes": "how much likelier or less likely it becomes"},
    "Excludes": {"excludes": "the id of the cause that is ruled out"},
    "Voids": {"voids": "the id of the check whose readings become void"},
    "ContextBecomes": {"context": "the id of a derived context entry", "is": "the answer that is concluded"},
    "Verdict": {"verdict": "whether the machine may keep running"},
    "Check": {
        "where": "what it is done at: each side, each unit, each axle, or the machine",
        "needs": "what has to be at hand",
        "minutes": "minutes of work at one place, without the set-up",
        "set_up_minutes": "minutes of the set-up, which count once for all checks that share it",
        "risk": "how easily somebody or something comes to harm",
        "preconditions": "what must hold before it is worth doing",
        "steps": "what to do, one step a line",
        "reading": "field -> the number or word that is written down",
    },
    "ReadingField": {
        "quantity": "what kind of number it is",
        "needed": "no, where a reading is worth something without it",
        "means": "what exactly is measured",
    },
    "Procedure": {
        "tools": "what has to be at hand",
        "minutes": "minutes the work takes",
        "steps": "what to do, in this order",
        "recheck": "what to look at again, and after how long",
    },
    "ProcedureStep": {"do": "the step; numbers of the machine sheet are written as {name}"},
    "MachineSheet": {
        "layout": "two-track or four-track; a trailed machine uses the one with as many belts",
        "drive": "friction, positive, or none for a towed unit",
        "numbers": "name -> the figure for this machine, each with its unit",
    },
    "SheetNumber": {"means": "what the figure is for"},
    "Scales": {
        "because": "why there are words and numbers",
        "basis": "on what the numbers rest",
        "how_often": "how often a sign is seen when its cause is there and well established",
        "sound": "how often a sign is seen on a sound, run-in undercarriage",
        "shifts": "what a rule does to the rate of a cause: it is multiplied by this",
        "stages": "the stages of a growing fault",
        "extents": "how far a sign goes",
        "probability_words": "the words probabilities are shown in, the likeliest first",
    },
    "Frequency": {
        "value": "the share it stands for, from 0 to 1",
        "low": "the least it may mean",
        "high": "the most it may mean",
    },
    "Stage": {"share": "its share of the cause's rate; the shares add up to 1"},
    "ExtentWord": {
        "sound": "factor on how often the sign is seen on a sound machine",
        "fault": "factor on how often the sign is seen with the cause",
    },
    "ProbabilityWord": {"word": "the word that is shown", "at_least": "from this probability on"},
    "RuleCase": {"expect": "what must come out"},
    "Expect": {
        "among_first": "causes that must stand among the first so many",
        "verdict": "what must be said about keeping on running",
    },
    "AmongFirst": {"causes": "the causes, by id or with their place"},
    "Between": {"at_least": "this share or more, as in 60 %", "at_most": "this share or less, as in 20 %"},
    "Case": {
        "seen": "the signs that are there",
        "looked_at": "parts that were looked over: their other signs by look or touch are absent",
        "not_seen": "signs that were tried for and are not there",
        "measured": "readings",
    },
    "Measured": {
        "check": "the id of the check",
        "unit": "the unit it was read at",
        "axle": "the axle it was read at",
        "side": "the side it was read at",
    },
}


def meaning(shape: Any, key: str) -> str:
    """What a key of a shape means.

    >>> from lugwright.rulebase.schema import Cause
    >>> meaning(Cause, "beforehand"), meaning(Cause, "procedure")
    ('how likely before anything is looked at', 'the id of the work steps')
    """
    for name, declared in getattr(shape, "model_fields", {}).items():
        if key in (name, declared.alias) and declared.description:
            return str(declared.description)
    return MEANINGS.get(getattr(shape, "__name__", ""), {}).get(key) or MEANINGS["*"].get(key, "")
