"""Arithmetic and data of one right-hand side on runners, from the machine code that runs.

    python3 benches/flops.py [TOLD]    # after `cargo bench -p timings --bench counts`; needs valgrind and objdump

TOLD holds what `limits` and `descents` printed: with it, what the processor would need at least.

callgrind tells how often each instruction ran along the planned ride, objdump what it is. A multiply-add
counts as two operations, a division, square root, least or greatest as one; sines and logarithms count by
their own instructions. Bytes are those that instructions name: most are met in the first cache; the cache
that callgrind simulates (48 kB, 12 ways, and 1 MB) tells what is fetched from beyond it.
"""

import itertools
import os
import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
TARGET = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
PACKED = re.compile(r"^v?(add|sub|mul|div|sqrt|min|max)(p|s)(s|d)$")
FUSED = re.compile(r"^vf(n?)m(add|sub)\d*(p|s)(s|d)$")


def flops(name, operands):
    """Floating-point operations of an instruction."""
    wide = 32 if "ymm" in operands else 64 if "zmm" in operands else 16
    for pattern, each in ((PACKED, 1), (FUSED, 2)):
        m = pattern.match(name)
        if m:
            packed, single = m.groups()[-2:]
            return each if packed == "s" else each * wide // (4 if single == "s" else 8)
    return 0


def bytes_named(name, operands):
    """Bytes that an instruction reads or writes in memory."""
    if "(" not in operands or name.startswith(("lea", "nop", "data16", "prefetch")):
        return 0
    if "ymm" in operands:
        return 32
    if name.endswith(("sd", "pi2pd")) or name in ("movq", "movhps", "movlps", "movhpd", "movlpd"):
        return 8
    if name.endswith("ss") or name == "movd":
        return 4
    if "xmm" in operands:
        return 16
    return 4 if re.search(r"%e[a-ds]|%r\d+d", operands) or name.endswith("l") else 8


def code_of(binary):
    """Address: name and operands."""
    text = subprocess.run(["objdump", "-d", "--no-show-raw-insn", binary], capture_output=True, text=True).stdout
    found = {}
    for line in text.splitlines():
        m = re.match(r"\s*([0-9a-f]+):\s+(?:lock |rep[a-z]* |bnd |notrack )?(\S+)\s*(.*)", line)
        if m:
            found[int(m[1], 16)] = (m[2], m[3].split("#")[0])
    return found


def limit(told, done, moved, many):
    """What one right-hand side would need at least, and what it takes, from the printed numbers."""
    best = lambda pattern: float(re.search(pattern, told)[1])
    flop_us = done / best(r"side by side: ([\d.]+) Gflop/s") / 1e3
    data_us = moved / best(r"reading 16 kB: ([\d.]+) GB/s") / 1e3
    found = re.search(rf"{many} right-hand sides along the planned ride \| ([\d.]+) (us|ms)", told)
    taken_us = float(found[1]) * {"us": 1, "ms": 1e3}[found[2]] / many
    times = taken_us / max(flop_us, data_us)
    print(f"\nAt its fastest this core would need {flop_us:.2f} us for the arithmetic alone (in double precision) and")
    print(f"{data_us:.2f} us for the bytes alone; a right-hand side takes {taken_us:.2f} us, {times:.1f} times the greater.")


def main():
    made = sorted((TARGET / "release" / "deps").glob("counts-*"), key=lambda p: p.stat().st_mtime)
    binary = str([p for p in made if not p.suffix][-1])
    out = TARGET / "tmp" / "counts" / "flops.out"
    ran = subprocess.run(
        ["valgrind", "--tool=callgrind", "--toggle-collect=*counted_here*", "--dump-instr=yes", "--dump-line=no",
         "--compress-pos=no", "--compress-strings=no", "--cache-sim=yes", "--D1=49152,12,64", "--LL=1048576,16,64",
         f"--callgrind-out-file={out}", binary, "inside", "rates"],
        capture_output=True, text=True, check=True)  # fmt: skip
    times = int(ran.stdout)
    codes, counts, events, total = {}, {}, [], []
    place, skip = None, False
    for line in out.read_text().splitlines():
        if line.startswith("ob="):
            place = line[3:]
        elif line.startswith("events:"):
            events = line.split()[1:]
        elif line.startswith("totals:"):
            total = [int(x) for x in line.split()[1:]]
        elif line.startswith("calls="):
            skip = True
        elif line.startswith("0x"):
            if not skip:
                address, *cost = line.split()
                key = (place, int(address, 16))
                counts[key] = counts.get(key, 0) + int(cost[0])
            skip = False
    done, moved, known = 0, 0, 0
    for (place, address), many in counts.items():
        if place not in codes:
            codes[place] = code_of(place)
        name, operands = codes[place].get(address, ("", ""))
        known += many if name else 0
        done += many * flops(name, operands)
        moved += many * bytes_named(name, operands)
    # zeros at the end of a line are left out
    of = dict(itertools.zip_longest(events, total, fillvalue=0))
    share = 100 * known / of["Ir"]
    print(f"of {times} right-hand sides, each: {of['Ir'] / times:.0f} instructions ({share:.1f} % known),")
    print(f"{done / times:.0f} floating-point operations, {moved / times:.0f} bytes named,")
    print(f"{(of['Dr'] + of['Dw']) / times:.0f} reads and writes,")
    first, last = of["D1mr"] + of["D1mw"], of["DLmr"] + of["DLmw"]
    print(f"{64 * first / times:.0f} bytes from beyond the first cache, {64 * last / times:.0f} from beyond the second")
    if len(sys.argv) > 1:
        limit(Path(sys.argv[1]).read_text(), done / times, moved / times, times)


main()
