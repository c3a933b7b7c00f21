"""Compares emf and inverse with the published functions worked out at 40 digits.

usage: oracle_thermocouple.py OVENPROOF REFERENCE_FOLDER

The coefficients are read as decimal figures from reference/its90-emf-from-temperature.csv; nothing of the C
code is used but its answers. Prints the largest errors; exit status 77 (skipped) without mpmath.
"""

import csv
import random
import subprocess
import sys

try:
    import mpmath as mp
except ImportError:
    print("skipped: no mpmath")
    sys.exit(77)

mp.mp.dps = 40
PROGRAM, FOLDER = sys.argv[1], sys.argv[2]
POINTS = 200


def read_pieces():
    pieces = {}
    with open(FOLDER + "/its90-emf-from-temperature.csv", encoding="utf-8") as file:
        for row in csv.DictReader(line for line in file if not line.startswith("#")):
            exponential = None
            if row["a0_mV"]:
                exponential = tuple(mp.mpf(row[key]) for key in ("a0_mV", "a1_per_C2", "a2_C"))
            pieces.setdefault(row["type"], []).append(
                {
                    "low": mp.mpf(row["t_low_C"]),
                    "high": mp.mpf(row["t_high_C"]),
                    "c": [mp.mpf(row["c%d" % i]) for i in range(int(row["order"]) + 1)],
                    "exponential": exponential,
                }
            )
    return pieces


def emf_of(piece, t):
    total = mp.polyval(piece["c"][::-1], t)
    if piece["exponential"]:
        a0, a1, a2 = piece["exponential"]
        total += a0 * mp.exp(a1 * (t - a2) ** 2)
    return total


def forward(pieces, t):
    for piece in pieces:
        if t <= piece["high"]:
            return emf_of(piece, t)
    raise ValueError(t)


def root(piece, emf, low, high):
    """Plain bisection: slow, and nothing in it can be wrong."""
    for _ in range(80):
        middle = (low + high) / 2
        if emf_of(piece, middle) < emf:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def inverse(pieces, emf, low):
    """Lower piece wins; a gap between two pieces gives the join."""
    for index, piece in enumerate(pieces):
        if emf <= emf_of(piece, piece["high"]):
            if emf <= emf_of(piece, low):
                return low
            return root(piece, emf, low, piece["high"])
        if index + 1 == len(pieces):
            return piece["high"]
        low = piece["high"]
        if emf < emf_of(pieces[index + 1], low):
            return low
    raise ValueError(emf)


def ask(command, type_name, values):
    lines = "".join(repr(value) + "\n" for value in values)
    arguments = [PROGRAM, command, type_name] + (["--degrees", "C"])
    done = subprocess.run(arguments, input=lines, capture_output=True, text=True, check=True)
    return [mp.mpf(float(line)) for line in done.stdout.split()]


def main():
    random.seed(90)
    worst_emf, worst_temperature = 0, 0
    for type_name, pieces in read_pieces().items():
        low, high = pieces[0]["low"], pieces[-1]["high"]
        temperatures = [float(low), float(high)]
        temperatures += [random.uniform(float(low), float(high)) for _ in range(POINTS)]
        temperatures += [float(low) + 10 ** random.uniform(-6, 1) for _ in range(POINTS // 4)]
        for piece in pieces[1:]:
            temperatures += [float(piece["low"]) + random.uniform(-1e-4, 1e-4) for _ in range(POINTS // 8)]
        answers = ask("emf", type_name, temperatures)
        assert len(answers) == len(temperatures)
        for t, answer in zip(temperatures, answers):
            worst_emf = max(worst_emf, abs(answer - forward(pieces, mp.mpf(t))))
        start = mp.mpf("42.132") if type_name == "B" else low
        emfs = [float(answer) for t, answer in zip(temperatures, answers) if t >= start]
        answers = ask("temperature", type_name, emfs)
        assert len(answers) == len(emfs)
        for emf, answer in zip(emfs, answers):
            error = abs(answer - inverse(pieces, mp.mpf(emf), start))
            if error > 1e-9:
                print("type %s, %r mV: off by %s degC" % (type_name, emf, mp.nstr(error, 5)))
            worst_temperature = max(worst_temperature, error)
    print("largest error: emf %s mV, temperature %s degC" % (mp.nstr(worst_emf, 3), mp.nstr(worst_temperature, 3)))
    return 0 if worst_emf <= 1e-12 and worst_temperature <= 1e-9 else 1


sys.exit(main())
