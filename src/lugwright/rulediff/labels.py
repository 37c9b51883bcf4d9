"""How a field of an entry is called in a sentence. `{id}` stands for the entry."""

from __future__ import annotations

_EVERY = {
    "name": "name of {id}",
    "because": "why {id}",
    "basis kind": "what {id} rests on",
    "basis source": "source of {id}",
    "basis confidence": "trust in the numbers of {id}",
    "practice_differs": "where practice differs about {id}",
    "note": "note of {id}",
    "look_alikes": "what {id} looks like",
    "layouts": "layouts on which {id} exists",
    "drives": "drives with which {id} exists",
    "cautions": "cautions of {id}",
    "steps": "steps of {id}",
    "minutes": "minutes for {id}",
}

_OF_KIND = {
    "symptoms": {
        "component": "component of {id}",
        "where": "the finest place of {id}",
        "by": "how {id} is observed",
        "sound": "sound rate of {id}",
        "sound_counts": "what the sound rate of {id} counts",
        "directed": "whether {id} is a difference between the sides",
        "appears": "when {id} shows in the life of a fault",
        "damage": "whether {id} is lasting damage",
        "recognise": "how to recognise {id}",
        "confused_with": "what {id} is taken for",
        "also_called": "other names of {id}",
    },
    "causes": {
        "acts_on": "what {id} acts on",
        "oriented": "by what {id} is oriented",
        "points": "what the side or hand of {id} means",
        "beforehand": "how likely {id} is beforehand",
        "rarer_on": "how likely {id} is beforehand on one layout",
        "grows": "whether {id} begins mild and grows",
        "harmless": "whether {id} is normal on a sound machine",
        "if_ignored": "what happens if {id} is ignored",
        "remedy": "remedy of {id}",
        "procedure": "procedure for {id}",
        "feeds": "what {id} brings about",
    },
    "context": {
        "question": "question of {id}",
        "answers": "answers to {id}",
        "quantity": "quantity asked by {id}",
        "derived": "whether {id} is concluded by rules",
    },
    "checks": {
        "where": "where {id} is done",
        "needs": "what {id} needs",
        "set_up": "set-up that {id} shares",
        "set_up_minutes": "minutes to set up {id}",
        "risk": "risk of {id}",
        "moves": "whether the machine moves for {id}",
        "order": "place of {id} in the usual order of work",
        "preconditions": "what must hold before {id}",
        "needs_first": "checks to be done before {id}",
        "not_while": "signs to be put right before {id}",
        "decides": "what {id} decides",
        "misses": "how often {id} fails to show what is there",
        "false_alarm": "how often {id} shows what is not there",
        "computation": "how a reading of {id} is worked out",
        "reading": "reading of {id}",
    },
    "procedures": {
        "tools": "tools for {id}",
        "before": "what must hold before {id}",
        "not_while": "signs to be put right before {id}",
        "prove": "how {id} is proved",
        "recheck": "when {id} is checked again",
    },
    "machines": {
        "layout": "layout of {id}",
        "drive": "drive of {id}",
        "invented": "whether {id} is an invented machine",
        "screw_sense": "screw sense of {id}",
        "numbers": "numbers of {id}",
    },
    "about": {
        "title": "title of the rule base",
        "version": "version of the rule base",
        "note": "note of the rule base",
    },
    "scales": {
        "because": "why the numbers of the words are what they are",
        "basis kind": "what the numbers of the words rest on",
        "basis source": "source of the numbers of the words",
        "basis confidence": "trust in the numbers of the words",
        "how_often": "number behind the how-often word",
        "sound": "number behind the sound-rate word",
        "beforehand": "weight behind the beforehand word",
        "rate_per_visit": "faults expected at a visit for",
        "normal": "how likely a harmless condition is for the beforehand word",
        "shifts": "factor behind the shift word",
        "stages": "stage of a fault",
        "extents": "factors of the extent",
        "probability_words": "least probability shown as",
    },
}  # fmt: skip


def label(kind: str, field: str, name: str) -> str:
    """The field of an entry as the start of a sentence. Raises KeyError for a field that has no words yet.

    >>> label("symptoms", "sound", "hub-hot")
    'sound rate of hub-hot'
    """
    own = _OF_KIND.get(kind, {})
    return (own[field] if field in own else _EVERY[field]).format(id=name)


_INNER = {"value": "{said}", "low": "low end of the {said}", "high": "high end of the {said}"}


def inner(said: str, key: str) -> str:
    """The start of a sentence about one key inside a field.

    >>> inner("number behind the how-often word 'often'", "low")
    "low end of the number behind the how-often word 'often'"
    >>> inner("answers to slope-work", "none")
    "answers to slope-work, 'none'"
    """
    if key in _INNER:
        return _INNER[key].format(said=said)
    return f"{said} '{key}'" if said.endswith(_WORDED) else f"{said}, '{key}'"


_WORDED = tuple(
    _OF_KIND["scales"][field]
    for field in (
        "how_often",
        "sound",
        "beforehand",
        "rate_per_visit",
        "normal",
        "shifts",
        "stages",
        "extents",
        "probability_words",
    )
)
