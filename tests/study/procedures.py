#!/usr/bin/env python3
"""Rehearses every procedure that is built in, and holds the results to bars: the tables of procedures/README.md.

  procedures.py PROGRAM [--engines 1000] [--each 100] [--seed 1]

Three tables in Markdown: engines without faults; engines that have one fault each, of all kinds in turn by chance; and
every fault by itself on --each engines (0: this table is left out).  Exit status 1 where a bar is missed:
  no job is stuck or fails;
  wrong claims and, in the last table, jobs without a safe end are no more than the stated risk of 5 % allows by chance,
  which a crowd at that risk passes but once in a thousand;
  with --each 100 or more, at least 95 of 100 jobs with a fault come to a safe end.
"""
import argparse
import json
import math
import subprocess
import sys
import tempfile

RISK = 0.05
CHANCE = 0.001
SAFE = 0.95


def run(program, *arguments):
    # A folder of its own: what is on a person's shelf, or known of an engine, has no part in it.
    with tempfile.TemporaryDirectory() as data:
        done = subprocess.run([program, *arguments, "--data", data], stdout=subprocess.PIPE, check=False)
    if done.returncode != 0:
        sys.exit(f"{program} {' '.join(arguments)}: exit status {done.returncode}, wanted 0")
    return done.stdout.decode()


def rehearse(program, procedure, faults, engines, seed):
    return json.loads(run(program, "rehearse", procedure, "--faults", faults, "--engines", str(engines),
                          "--seed", str(seed), "--quiet", "--json"))


def allowed(count):
    """The most of `count` that a share of RISK exceeds with a probability below CHANCE, by the binomial distribution."""
    most = 0
    below = (1 - RISK) ** count
    while 1 - below >= CHANCE:
        most += 1
        below += math.comb(count, most) * RISK ** most * (1 - RISK) ** (count - most)
    return most


class Bars:
    def __init__(self):
        self.missed = []

    def at_most(self, what, got, most):
        if got > most:
            self.missed.append(f"{what}: {got}, wanted at most {most}")

    def at_least(self, what, got, least):
        if got < least:
            self.missed.append(f"{what}: {got}, wanted at least {least}")


def row(cells):
    print("| " + " | ".join(str(cell) for cell in cells) + " |", flush=True)


def head(*titles):
    row(titles)
    row(["---"] * len(titles))


def share(count, of):
    return f"{100 * count / of:.1f} %".replace(".0 %", " %")


def figure(result, word):
    return f"{result[word]['median']:.0f}, {result[word]['nine_in_ten']:.0f}"


def crowd(bars, program, procedures, faults, engines, seed):
    print(f"\n--faults {faults} --engines {engines} --seed {seed}; the last four: median, nine in ten\n")
    head("procedure", "even", "claimed with less", "claims that do not hold", "safe", "named", "stuck, failed", "stops",
         "readings", "minutes", "plates")
    for procedure in procedures:
        result = rehearse(program, procedure, faults, engines, seed)
        what = f"{procedure}, faults {faults}"
        bars.at_most(f"{what}: stuck", result["stuck"], 0)
        bars.at_most(f"{what}: failed", result["failed"], 0)
        bars.at_most(f"{what}: claims that do not hold", result["wrong"], allowed(result["claims"]))
        row([procedure, share(result["even"], engines), share(result["claimed"], engines),
             f"{result['wrong']} of {result['claims']}", share(result["safe"], engines),
             share(result["named"], engines) if faults != "none" else "-", f"{result['stuck']}, {result['failed']}",
             *(figure(result, word) for word in ("stops", "readings", "minutes", "plates"))])


def cell(bars, what, line):
    if line["engines"] == 0:
        return "-"
    unsafe = line["engines"] - line["safe"]
    bars.at_most(f"{what}: without a safe end", unsafe, allowed(line["engines"]))
    if line["engines"] >= 100 and line["fault"] != "none":
        bars.at_least(f"{what}: safe", line["safe"], math.ceil(SAFE * line["engines"]))
    named = "-" if line["fault"] == "none" else line["named"]
    return f"{line['safe']}, {named}, {line['wrong']}, {line['stuck'] + line['failed']}"


def each(bars, program, procedures, engines, seed):
    print(f"\n--faults each --engines {engines} --seed {seed}; safe, named, wrong, never ended\n")
    tables = {p: rehearse(program, p, "each", engines, seed)["table"] for p in procedures}
    head("fault", *procedures)
    for lines in zip(*tables.values()):
        fault = lines[0]["fault"]
        row([fault, *(cell(bars, f"{p}, fault {fault}", line) for p, line in zip(procedures, lines))])


def main():
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("program")
    words.add_argument("--engines", type=int, default=1000)
    words.add_argument("--each", type=int, default=100)
    words.add_argument("--seed", type=int, default=1)
    asked = words.parse_args()
    procedures = [line.split()[0] for line in run(asked.program, "procedures").splitlines()]
    bars = Bars()
    for faults in ("none", "all"):
        crowd(bars, asked.program, procedures, faults, asked.engines, asked.seed)
    if asked.each > 0:
        each(bars, asked.program, procedures, asked.each, asked.seed)
    for line in bars.missed:
        print(f"missed: {line}", file=sys.stderr)
    sys.exit(1 if bars.missed else 0)


if __name__ == "__main__":
    main()
