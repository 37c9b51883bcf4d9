"""How long exact belief takes: beside pyAgrum in the same run, and on invented networks of the real size.

    python tests/benchmarks/bench_belief.py

One thread. Times are the best of a few runs per case; "median" and "worst" are over cases.
"""

from __future__ import annotations

import os
import resource
import sys
import time
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from statistics import median

for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_name] = "1"  # before numpy is imported

import numpy as np  # noqa: E402

sys.path.insert(0, str(Path(__file__).parents[1] / "belief"))
sys.path.insert(0, str(Path(__file__).parents[2] / "src"))

from belief_networks import findings, undercarriage  # noqa: E402

from lugwright.belief.posterior import Evidence, Network, outcomes, posterior, without_each  # noqa: E402


def best(run: Callable[[], object], times: int = 3) -> float:
    """Milliseconds of the fastest of some runs."""
    took = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        took.append((time.perf_counter() - start) * 1000)
    return min(took)


def measured(runs: list[float]) -> str:
    """Median, 90 % and worst of some milliseconds."""
    return f"median {median(runs):7.1f}   90 % {float(np.quantile(runs, 0.9)):7.1f}   worst {max(runs):7.1f} ms"


def two_layers(seed: int, seen: int) -> tuple[Network, Evidence]:
    """35 causes, 70 signs, 3 to 8 causes per sign; findings drawn by simulation, 30 of them absent."""
    rng = np.random.default_rng(seed)
    link = np.zeros((35, 1, 70))
    for sign in range(70):
        parents = rng.choice(35, size=int(rng.integers(3, 9)), replace=False)
        link[parents, 0, sign] = rng.uniform(0.2, 0.9, len(parents))
    network = Network(
        tuple(f"c{i}" for i in range(35)),
        (("machine", 0),) * 35,
        (0, 0),
        tuple(f"s{j}" for j in range(70)),
        rng.uniform(0.005, 0.10, (35, 1)),
        link,
        rng.uniform(0.005, 0.05, 70),
    )
    return network, Evidence(*findings(network, seed, seen=seen, absent=30, faults=6))


def pyagrum_posterior(network: Network, evidence: Evidence) -> np.ndarray:
    """The same posterior from pyAgrum as fast as it can be had: absent signs multiplied in, noisy-OR nodes."""
    import pyagrum as gum

    prior = network.prior[:, 0]
    on = prior * np.prod(1 - network.link[:, 0][:, list(evidence.absent)], axis=1)
    prior = on / (on + 1 - prior)
    net = gum.BayesNet()
    for row, key in enumerate(network.causes):
        net.add(gum.LabelizedVariable(key, key, 2))
        net.cpt(key)[:] = [1 - prior[row], prior[row]]
    for sign in evidence.seen:
        key = network.signs[sign]
        net.addNoisyORNet(gum.LabelizedVariable(key, key, 2), float(network.leak[sign]))
        for row in np.flatnonzero(network.link[:, 0, sign]):
            net.addWeightedArc(network.causes[row], key, float(network.link[row, 0, sign]))
    engine = gum.LazyPropagation(net)
    engine.setNumberOfThreads(1)
    engine.setEvidence({network.signs[sign]: 1 for sign in evidence.seen})
    engine.makeInference()
    return np.array([engine.posterior(key).toarray()[1] for key in network.causes])


def beside_pyagrum() -> None:
    """The 35 x 70 network, both with building included."""
    print("35 causes x 70 signs, 30 absent; pyAgrum: absent signs absorbed, addNoisyORNet, LazyPropagation, one thread")
    for seen in (8, 12, 16, 20):
        ratios, ours_all, theirs_all, error = [], [], [], 0.0
        for seed in range(5):
            network, evidence = two_layers(seed, seen)
            ours = best(lambda: posterior(network, evidence), 5)  # noqa: B023
            theirs = best(lambda: pyagrum_posterior(network, evidence), 2)  # noqa: B023
            error = max(
                error, np.abs(pyagrum_posterior(network, evidence) - posterior(network, evidence).marginal).max()
            )
            ratios.append(theirs / ours)
            ours_all.append(ours)
            theirs_all.append(theirs)
        print(
            f"  {seen:2d} seen: ours {median(ours_all):6.1f} ms, pyAgrum {median(theirs_all):8.1f} ms, "
            f"ratio median {median(ratios):6.1f}, least {min(ratios):5.1f}; largest difference {error:.0e}"
        )


def real_size() -> None:
    """Invented networks of the real size, two stages per cause that grows."""
    print("\nreal size, invented numbers, 20 cases a row, tolerance 1e-7")
    rows = [(2, 14, 0), (2, 24, 120), (4, 20, 0), (4, 20, 100), (4, 40, 220)]
    for units, seen, absent in rows:
        all_posteriors, roads = [], []
        leave_out, looks = [], []
        for seed in range(20):
            network = undercarriage(seed, units)
            evidence = Evidence(*findings(network, seed, seen=seen, absent=absent))
            all_posteriors.append(best(lambda: roads.append(posterior(network, evidence, tolerance=1e-7).road), 2))  # noqa: B023
            if seed < 10:
                tried = (*evidence.seen, *evidence.absent[:40])
                leave_out.append(best(lambda: without_each(network, evidence, tried), 1))  # noqa: B023
                free = [sign for sign in range(len(network.signs)) if sign not in {*evidence.seen, *evidence.absent}][
                    :40
                ]
                looks.append(best(lambda: outcomes(network, evidence, free), 1))  # noqa: B023
        links = int((network.link > 0).sum())
        print(
            f"  {units} units, {len(network.causes)} causes, {len(network.signs)} signs, about {links} links; ", end=""
        )
        print(f"{seen} seen, {absent} absent ({roads.count('conditioned')} of {len(roads)} runs conditioned)")
        print(f"    all posteriors          {measured(all_posteriors)}")
        print(f"    leave out {seen + min(40, absent):2d} findings   {measured(leave_out)}")
        print(f"    40 further looks        {measured(looks)}")
    print(f"  most memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    if find_spec("pyagrum"):
        beside_pyagrum()
    else:
        print("pyAgrum is not installed: no comparison")
    real_size()
