"""How fast a discharge is, beside PyBaMM in the same run: ``python -m tests.benchmarks.batteries``.

Same discharge (Chen2020 at 1C to 2.5 V, default mesh and solver). Ratios, not times, are compared.
"""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Callable

os.environ["PYBAMM_DISABLE_TELEMETRY"] = "true"

from lampwright.physics.batteries import make_pack
from lampwright.physics.discharge import discharge
from lampwright.physics.loads import ConstantCurrent
from lampwright.planner.catalogue import led_from_part
from lampwright.planner.feeding import Feeding, feeding, model_of
from lampwright.planner.lasting import curves, lasting, light_spread, with_spread
from lampwright.planner.models.circuits import StringAsk
from lampwright.planner.models.energy import RuntimeAsk
from lampwright.planner.runtime import runtime
from lampwright.planner.supplies import supply_from_battery


def median_time(run: Callable[[], object], repeats: int) -> float:
    """Return the median time of a call, in s, after one call that is not counted."""
    run()
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        run()
        times.append(time.perf_counter() - start)
    return statistics.median(times)


def ours() -> object:
    """Follow the same discharge by our model, pack built anew."""
    return discharge(make_pack(model_of("liion"), 1), ConstantCurrent(5.0), (2.5,))


def theirs(kind: str) -> tuple[float, float]:
    """Return PyBaMM's time to solve once built, and to build and solve, in s."""
    import pybamm

    make = {"DFN": pybamm.lithium_ion.DFN, "SPM": pybamm.lithium_ion.SPM}[kind]

    def whole() -> object:
        values = pybamm.ParameterValues("Chen2020")
        values["Current function [A]"] = 5.0
        return pybamm.Simulation(make(), parameter_values=values).solve([0, 5000], initial_soc=1.0)

    values = pybamm.ParameterValues("Chen2020")
    values["Current function [A]"] = 5.0
    values.set_initial_state(1.0, inplace=True)
    simulation = pybamm.Simulation(make(), parameter_values=values)
    simulation.build()
    return median_time(lambda: simulation.solve([0, 5000]), 5), median_time(whole, 3)


def banded(fed: Feeding, ask: RuntimeAsk) -> object:
    """Find low, expected and high hours: batteries differ, and so do lights."""
    found = lasting(fed, ask, to_dark=False)
    return with_spread(found, fed, ask, light_spread(ask, found.runtime))


def main() -> None:
    """Print the figures."""
    white, red = led_from_part("white_5mm"), led_from_part("red_5mm")
    whites = StringAsk((white,), 75.0, branch_count=10)
    asks = {
        "ten whites on 3 AA": RuntimeAsk(supply_from_battery("alkaline_aa", 3), strings=(whites,)),
        "three kinds of row on 4 AA": RuntimeAsk(
            supply_from_battery("alkaline_aa", 4),
            strings=(whites, StringAsk((red, red), 82.0), StringAsk((red,), 220.0, branch_count=3)),
        ),
        "60 mA on 4 AA": RuntimeAsk(supply_from_battery("alkaline_aa", 4), load_current=0.06),
    }
    for name, ask in asks.items():
        fed = feeding(ask)
        one = median_time(lambda fed=fed, ask=ask: lasting(fed, ask, to_dark=False), 200)
        band = median_time(lambda fed=fed, ask=ask: banded(fed, ask), 200)
        fade = median_time(lambda fed=fed, ask=ask: curves(fed, lasting(fed, ask)), 200)
        all_of_it = median_time(lambda ask=ask: runtime(ask), 50)
        print(
            f"{name}: one curve {1e3 * one:.2f} ms, low/expected/high {1e3 * band:.2f} ms, "
            f"with the fade to dark as arrays {1e3 * fade:.2f} ms, "
            f"whole answer with alternatives {1e3 * all_of_it:.2f} ms"
        )
    own = median_time(ours, 300)
    print(f"Chen2020 at 1C, ours: {1e3 * own:.3f} ms")
    for kind in ("DFN", "SPM"):
        built, whole = theirs(kind)
        print(
            f"{kind}: solve {1e3 * built:.1f} ms, ratio {built / own:.0f}; "
            f"build and solve {1e3 * whole:.0f} ms, ratio {whole / own:.0f}"
        )


if __name__ == "__main__":
    main()
