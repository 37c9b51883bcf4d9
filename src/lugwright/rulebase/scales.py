"""The words and their numbers: shape of `rules/scales.yaml`."""

from __future__ import annotations

from pydantic import Field, model_validator

from lugwright.rulebase.words import Appears, Basis, Beforehand, Frozen, HowOften, Id, Shift, SoundRate, Text


class Frequency(Frozen):
    """What a how-often word is worth, and the range it may stand for."""

    value: float = Field(ge=0, lt=1)
    low: float = Field(ge=0, lt=1)
    high: float = Field(ge=0, lt=1)

    @model_validator(mode="after")
    def _in_order(self) -> Frequency:
        if not self.low <= self.value <= self.high:
            raise ValueError("low, value and high must rise in that order")
        return self


class Stage(Frozen):
    """One stage of a growing fault: its share of the cause's rate and how many words each sign drops."""

    share: float = Field(gt=0, le=1)
    drop: dict[Appears, int] = Field(description="words to go down, by when the sign appears")


class ProbabilityWord(Frozen):
    """A word shown for probabilities from `at_least` up to the next word."""

    word: Text
    at_least: float = Field(ge=0, lt=1)


class ExtentWord(Frozen):
    """How an extent changes what a sign is worth: factors on the sound rate and on the fault rate."""

    sound: float = Field(gt=0, le=1)
    fault: float = Field(gt=0, le=1)


class Scales(Frozen):
    """Every number the reasoning uses, in one place."""

    because: Text
    basis: Basis
    how_often: dict[HowOften, Frequency] = Field(min_length=6)
    sound: dict[SoundRate, float] = Field(min_length=6)
    beforehand: dict[Beforehand, float] = Field(min_length=4, description="relative weights of the prior words")
    rate_per_visit: dict[Id, float] = Field(
        description="expected number of faults on a machine, by reason of the visit"
    )
    normal: dict[Beforehand, float] = Field(
        {"common": 0.3, "occasional": 0.12, "uncommon": 0.04, "rare": 0.01},
        description="how likely a harmless condition is on a machine; it takes nothing from the rate of faults",
    )
    shifts: dict[Shift, float] = Field(min_length=7)
    stages: dict[Id, Stage] = Field(min_length=1)
    extents: dict[Id, ExtentWord]
    probability_words: tuple[ProbabilityWord, ...] = Field(min_length=2)

    @model_validator(mode="after")
    def _hang_together(self) -> Scales:
        if abs(sum(stage.share for stage in self.stages.values()) - 1) > 1e-9:
            raise ValueError("the shares of the stages must add up to 1")
        floors = [word.at_least for word in self.probability_words]
        if floors != sorted(set(floors), reverse=True) or floors[-1] != 0:
            raise ValueError("probability words must fall from the likeliest to the one at 0")
        if "complaint" not in self.rate_per_visit:
            raise ValueError("rate_per_visit needs an entry for a complaint")
        for word, rate in self.sound.items():
            if not 0 <= rate < 1:
                raise ValueError(f"sound rate of '{word}' must be at least 0 and below 1")
        return self

    def word_for(self, probability: float) -> str:
        """The word a probability is shown with."""
        return next(w.word for w in self.probability_words if probability >= w.at_least or w.at_least == 0)
