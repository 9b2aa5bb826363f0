"""Open-circuit voltage and slow, cold discharges of published lithium-ion parameter sets, by PyBaMM.

Writes lithium_ion.csv, or compares it with --check: `ocv,SET,STATE OF CHARGE,VOLTS` between 3.0 V and 4.2 V at rest, and
`capacity,SET,CELSIUS,RATE IN C,SHARE` of the charge that a slow discharge at 20 degrees Celsius gives down to 3.0 V.

Sets: Chen2020, doi 10.1149/1945-7111/ab9050; Ai2020, doi 10.1149/2.0122001JES; Marquis2019, doi 10.1149/2.0341915jes.
Made with pybamm 26.10.1.1: `pip install pybamm==26.10.1.1`, `python3 lithium_ion.py`.
"""

import pathlib
import sys

try:
    import numpy as np
    import pybamm
except ImportError:
    print("lithium_ion.csv is not checked: PyBaMM is not installed")
    sys.exit(0)

LOW, HIGH, POINTS = 3.0, 4.2, 20


def ocv(name):
    """Equilibrium voltages at even shares of the charge between LOW and HIGH."""
    values = pybamm.ParameterValues(name)
    values.update({"Lower voltage cut-off [V]": LOW, "Upper voltage cut-off [V]": HIGH,
                   "Open-circuit voltage at 0% SOC [V]": LOW, "Open-circuit voltage at 100% SOC [V]": HIGH})
    param = pybamm.LithiumIonParameters()
    solver = pybamm.lithium_ion.ElectrodeSOHSolver(values, param)
    for step in range(POINTS + 1):
        soc = step / POINTS
        x, y = solver.get_initial_stoichiometries(soc)
        at = values["Reference temperature [K]"]
        # Through the functions of the set.
        positive = values.evaluate(param.p.prim.U(pybamm.Scalar(y), pybamm.Scalar(at)))
        negative = values.evaluate(param.n.prim.U(pybamm.Scalar(x), pybamm.Scalar(at)))
        yield soc, float(np.ravel(positive)[0] - np.ravel(negative)[0])


def capacity(name, celsius, rate):
    """Ampere-hours from 4.2 V down to LOW."""
    values = pybamm.ParameterValues(name)
    kelvin = celsius + 273.15
    values.update({"Lower voltage cut-off [V]": LOW, "Upper voltage cut-off [V]": HIGH,
                   "Open-circuit voltage at 0% SOC [V]": LOW, "Open-circuit voltage at 100% SOC [V]": HIGH,
                   "Ambient temperature [K]": kelvin, "Initial temperature [K]": kelvin})
    simulation = pybamm.Simulation(pybamm.lithium_ion.SPMe(), parameter_values=values, C_rate=rate)
    solution = simulation.solve([0, 3600 * 1.3 / rate], initial_soc=1.0)
    return float(solution["Discharge capacity [A.h]"].entries[-1])


def main():
    rows = []
    for name in ["Chen2020", "Ai2020", "Marquis2019"]:
        rows += [f"ocv,{name},{soc:.2f},{volts:.4f}" for soc, volts in ocv(name)]
    for name in ["Marquis2019", "Ai2020"]:
        whole = capacity(name, 20, 0.01)
        for celsius in [20, 0, -10]:
            for rate in [0.01, 0.5]:
                rows.append(f"capacity,{name},{celsius},{rate},{capacity(name, celsius, rate) / whole:.4f}")
    text = "\n".join(rows) + "\n"
    committed = pathlib.Path(__file__).with_suffix(".csv")
    if "--check" not in sys.argv:
        committed.write_text(text)
    elif committed.read_text() != text:
        sys.exit("lithium_ion.csv is not what the script makes")


main()
