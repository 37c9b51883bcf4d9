"""Signs that cannot be seen together, by what the chaining rules say of two signs alone."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

from lugwright.belief.ground import Key
from lugwright.places import Place, opposite, partner
from lugwright.rulebase.rules import Finding, Relation, Seen

if TYPE_CHECKING:
    from lugwright.rulebase.load import RuleBase


@dataclass(frozen=True)
class Apart:
    """A rule that needs one seen sign alone and concludes that another is not there."""

    seen: Seen
    relations: tuple[Relation, ...]
    absent: Finding


#: The seen symptom and the one that is not there then -> what says so.
ApartSigns: TypeAlias = dict[tuple[str, str], list[Apart]]
#: Relations that lead from one place to another in one way only.
FOLLOWED = {"opposite-side": ("side", opposite), "partner": ("unit", partner)}


def apart_signs(rulebase: RuleBase, among: Container[str] | None = None) -> ApartSigns:
    """Every pair of signs of which a rule says, from the one being seen and nothing else, that the other is not.

    among: the symptoms that matter; all without it.
    """
    found: ApartSigns = {}
    for rule in rulebase.rules.values():
        absent = [one for one in rule.then if isinstance(one, Finding) and one.is_ == "absent"]
        absent = [one for one in absent if among is None or one.finding in among]
        if not absent:
            continue
        seen = [one for one in rule.when if isinstance(one, Seen)]
        relations = tuple(one for one in rule.when if isinstance(one, Relation))
        alone = len(seen) == 1 and len(seen) + len(relations) == len(rule.when) and not rule.unless
        if not alone or seen[0].extent or any(one.relation not in FOLLOWED for one in relations):
            continue
        for one in absent:
            found.setdefault((seen[0].seen, one.finding), []).append(Apart(seen[0], relations, one))
    return found


def excluded(sign: Key, at: Place, rule: Apart) -> Key | None:
    """The sign that is not there where another is seen; None where the rule does not speak of that place.

    sign: the seen one. at: where the other would be; its fields stand where the rule leaves a place open.
    """
    bound: dict[str, str] = {}
    for field in ("unit", "axle", "side"):
        named, here = getattr(rule.seen, field), getattr(sign[1], field)
        if named is None:
            continue
        if bound.setdefault(named, here) != here or (not named.startswith("$") and named != here):
            return None
    for one in rule.relations:
        field, follow = FOLLOWED[one.relation]
        start, end = getattr(one, field), one.other
        if start is None or end is None or not bound.get(start):
            return None
        bound[end] = follow(bound[start])
    place = {
        field: bound.get(named, named) if (named := getattr(rule.absent, field)) is not None else getattr(at, field)
        for field in ("unit", "axle", "side")
    }
    return rule.absent.finding, Place(**place)
