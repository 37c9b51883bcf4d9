"""Invented networks for the tests and the benchmark: random small ones, and ones of the real size and structure."""

from __future__ import annotations

import numpy as np

from lugwright.belief.network import Network

HOW_OFTEN = (0.95, 0.75, 0.45, 0.20)
SOUND = (0.01, 0.05, 0.20)


def random_network(rng: np.random.Generator, most_causes: int = 6, most_signs: int = 10, stages: int = 2) -> Network:
    """A small four-track network with random scopes, some causes excluded, some leaks zero, some `against` factors."""
    causes, signs = int(rng.integers(1, most_causes + 1)), int(rng.integers(1, most_signs + 1))
    prior = rng.dirichlet(np.ones(stages + 1), size=causes)[:, :stages]
    prior = prior * rng.choice([0.0, 0.1, 1.0], size=(causes, 1), p=[0.1, 0.5, 0.4])
    link = rng.uniform(0, 0.99, (causes, stages, signs))
    link = link * (rng.random((causes, 1, signs)) < 0.5) * (rng.random((causes, stages, signs)) < 0.9)
    leak = rng.uniform(0, 0.2, signs) * (rng.random(signs) < 0.9)
    against = tuple(
        (int(rng.integers(causes)), int(rng.integers(signs)), float(rng.choice([0.05, 0.2, 0.5])))
        for _ in range(int(rng.integers(0, 3)))
    )
    places = [
        ("unit", 0),
        ("unit", 1),
        ("unit", 2),
        ("unit", 3),
        ("axle", 0),
        ("axle", 1),
        ("machine", 0),
        ("machine", 0),
    ]
    return Network(
        causes=tuple(f"cause-{row}" for row in range(causes)),
        scopes=tuple(places[at] for at in rng.integers(0, len(places), causes)),
        axle_of_unit=(0, 0, 1, 1),
        signs=tuple(f"sign-{column}" for column in range(signs)),
        prior=prior,
        link=link,
        leak=leak,
        against=against,
    )


def undercarriage(
    seed: int,
    units: int = 4,
    *,
    unit_types: int = 27,
    axle_types: int = 3,
    machine_types: int = 18,
    unit_signs: int = 89,
    machine_signs: int = 4,
    stages: int = 2,
) -> Network:
    """A network of the structure a real undercarriage has; every number is invented.

    Unit causes show signs of their own unit, axle causes signs of both units of the axle, machine causes signs of all
    units alike. A few machine signs have causes in every unit. Half of the causes grow: a mild stage shows its signs
    two words rarer.
    """
    rng = np.random.default_rng(seed)
    axle_of_unit = tuple(unit // 2 for unit in range(units))
    axles = units // 2
    signs = units * unit_signs + machine_signs
    sound = np.concatenate(
        [np.tile(rng.choice(SOUND, unit_signs, p=[0.4, 0.4, 0.2]), units), np.full(machine_signs, 0.05)]
    )
    keys: list[str] = []
    scopes: list[tuple[str, int]] = []
    prior: list[list[float]] = []
    link: list[np.ndarray] = []

    def cause_type(kind: str, name: str, shown: int, on_machine: float) -> None:
        rate = float(rng.choice([0.08, 0.04, 0.015, 0.005]))
        shown = min(shown, 1 + unit_signs // 2)
        mine = rng.choice(unit_signs, size=shown, replace=False)
        word = rng.choice(HOW_OFTEN, size=shown, p=[0.1, 0.25, 0.4, 0.25])
        machine_sign = int(rng.integers(machine_signs)) if machine_signs and rng.random() < on_machine else None
        grows = stages > 1 and rng.random() < 0.5
        places = {"unit": units, "axle": axles, "machine": 1}[kind]
        for place in range(places):
            reach = (
                [place]
                if kind == "unit"
                else [u for u in range(units) if kind == "machine" or axle_of_unit[u] == place]
            )
            rows = np.zeros((stages, signs))
            for stage in range(stages):
                rarer = 0.25 ** (stages - 1 - stage) if grows else 1.0
                for unit in reach:
                    rows[stage, unit * unit_signs + mine] = word * rarer
                if machine_sign is not None:
                    rows[stage, units * unit_signs + machine_sign] = 0.45 * rarer
            chance = 1 - np.exp(-rate / places)
            share = [1 / stages] * stages if grows else [0.0] * (stages - 1) + [1.0]
            keys.append(f"{name}@{kind}-{place}")
            scopes.append((kind, place))
            prior.append([chance * part for part in share])
            link.append(np.maximum(0.0, (rows - sound) / (1 - sound)) * (rows > 0))

    for number in range(unit_types):
        cause_type("unit", f"unit-cause-{number}", 12, 0.1)
    for number in range(axle_types):
        cause_type("axle", f"axle-cause-{number}", 10, 0.5)
    for number in range(machine_types):
        cause_type("machine", f"machine-cause-{number}", 14, 0.3)
    names = [f"sign-{number}@unit-{unit}" for unit in range(units) for number in range(unit_signs)]
    names += [f"sign-{number}@machine" for number in range(machine_signs)]
    return Network(tuple(keys), tuple(scopes), axle_of_unit, tuple(names), np.array(prior), np.array(link), sound, ())


def drawn_signs(network: Network, rng: np.random.Generator, faults: int) -> np.ndarray:
    """Which signs a machine shows that has this many causes, drawn by prior; boolean, one per sign."""
    total = network.prior.sum(axis=1)
    present = rng.choice(len(total), size=faults, replace=False, p=total / total.sum())
    unshown = 1 - network.leak
    for cause in present:
        stage = rng.choice(network.stages, p=network.prior[cause] / total[cause])
        unshown = unshown * (1 - network.link[cause, stage])
    return np.asarray(rng.random(len(unshown)) >= unshown)


def findings(
    network: Network, seed: int, *, seen: int, absent: int, faults: int = 2
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """A set number of signs seen and absent on a machine with some faults: cases are drawn until one has that many."""
    rng = np.random.default_rng(seed)
    while True:
        shown = drawn_signs(network, rng, faults)
        there, missing = np.flatnonzero(shown), np.flatnonzero(~shown)
        if len(there) >= seen and len(missing) >= absent:
            return tuple(sorted(rng.permutation(there)[:seen].tolist())), tuple(
                sorted(rng.permutation(missing)[:absent].tolist())
            )
