"""Can a bolt take a torque? Preload from the torque against the proof load of the size and class.

Source: ISO 898-1 (stress areas, proof stresses); preload F = M / (K d) with K from 0.14 (oiled) to 0.20 (clean and
dry), the simple form of the VDI 2230 approach. It catches typing errors; the manual's torque is the one to use.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Literal

#: Coarse pitch in mm by size. Source: ISO 261.
PITCH = {5: 0.8, 6: 1.0, 8: 1.25, 10: 1.5, 12: 1.75, 14: 2.0, 16: 2.0, 18: 2.5, 20: 2.5, 22: 2.5, 24: 3.0, 27: 3.0,
         30: 3.5, 33: 3.5, 36: 4.0, 39: 4.0}  # fmt: skip
#: Proof stress in MPa by class; 8.8 differs above 16 mm. Source: ISO 898-1 (4.8, 5.6, 6.8 and 9.8 from memory).
PROOF = {"4.6": 225.0, "4.8": 310.0, "5.6": 280.0, "5.8": 380.0, "6.8": 440.0, "8.8": 580.0, "9.8": 650.0,
         "10.9": 830.0, "12.9": 970.0}  # fmt: skip
PROOF_8_8_LARGE = 600.0
#: Largest size of class 9.8. Source: ISO 898-1, from memory.
MOST_9_8 = 16
#: Torque coefficients: oiled, and clean and dry.
OILED, DRY = 0.14, 0.20
#: Share of the proof load a torque may reach. common practice: 70 to 75 %.
LIMIT = 0.75

_BOLT = re.compile(r"M(\d+)(?:x(\d+(?:\.\d+)?))?-(\d+\.\d+)")


class NoSuchBolt(ValueError):
    """A text that names no bolt of the tables."""


@dataclass(frozen=True)
class Bolt:
    """Size and pitch in mm, and property class.

    >>> bolt = Bolt.read("M24-10.9")
    >>> round(bolt.area), round(bolt.proof_load / 1000)
    (353, 293)
    """

    size: float
    pitch: float
    klass: str

    @classmethod
    def read(cls, text: str) -> Bolt:
        """`M24-10.9`, or with a fine pitch `M24x2-10.9`. Raises NoSuchBolt."""
        found = _BOLT.fullmatch(text.strip())
        if not found:
            raise NoSuchBolt(f"'{text[:40]}' is not a bolt; write size and class like M24-10.9")
        size, pitch, klass = int(found[1]), found[2], found[3]
        if klass not in PROOF:
            raise NoSuchBolt(f"there is no class {klass}; one of {', '.join(PROOF)}")
        if size not in PITCH:
            raise NoSuchBolt(f"M{size} is not in the table; one of {', '.join(f'M{one}' for one in PITCH)}")
        if klass == "9.8" and size > MOST_9_8:
            raise NoSuchBolt(f"class 9.8 is made up to M{MOST_9_8} only, so M{size} is another class")
        own = float(pitch) if pitch else PITCH[size]
        if not 0 < own <= PITCH[size]:
            raise NoSuchBolt(f"M{size} has no pitch of {own:g} mm; coarse is {PITCH[size]:g} mm, fine is less")
        return cls(float(size), own, klass)

    @property
    def area(self) -> float:
        """Stress area in mm2: pi/4 (d - 0.9382 P)^2."""
        return math.pi / 4 * (self.size - 0.9382 * self.pitch) ** 2

    @property
    def proof_load(self) -> float:
        """Load in N it takes without lasting stretch."""
        return self.area * (PROOF_8_8_LARGE if self.klass == "8.8" and self.size > 16 else PROOF[self.klass])

    def preload(self, torque_nm: float, coefficient: float) -> float:
        """Pull in N that a torque in N·m makes, for one torque coefficient."""
        return torque_nm * 1000 / (coefficient * self.size)

    def torque_at(self, share: float, coefficient: float = DRY) -> float:
        """Torque in N·m at a share of the proof load.

        >>> round(Bolt.read("M12-8.8").torque_at(0.75), 1)
        88.0
        """
        return share * self.proof_load * coefficient * self.size / 1000


@dataclass(frozen=True)
class Strained:
    """Share of the proof load that a torque reaches, clean and dry and oiled. says: fits, too-close or too-much."""

    dry: float
    oiled: float
    says: Literal["fits", "too-close", "too-much"]


def strained(bolt: Bolt, torque_nm: float, limit: float = LIMIT) -> Strained:
    """How far a torque in N·m (>= 0) loads a bolt, over the range of the torque coefficient.

    too-much: over the limit even clean and dry. too-close: over it when oiled. fits: below it either way.

    >>> one = strained(Bolt.read("M24-10.9"), 900)
    >>> round(one.dry, 2), round(one.oiled, 2), one.says
    (0.64, 0.92, 'too-close')
    >>> strained(Bolt.read("M12-8.8"), 300).says
    'too-much'
    """
    if torque_nm < 0:
        raise ValueError("a torque cannot be below zero")
    dry, oiled = (bolt.preload(torque_nm, one) / bolt.proof_load for one in (DRY, OILED))
    return Strained(dry, oiled, "too-much" if dry > limit else "fits" if oiled <= limit else "too-close")
