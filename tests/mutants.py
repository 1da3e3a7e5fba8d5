"""Each coefficient of each law wrong by 10 %: does a test fail?

    git clone . /tmp/copy && python3 tests/mutants.py /tmp/copy [PART OF A NAME ...]

Changes one constant at a time in the copy, runs the tests of its crate, and for those that nothing noticed the closed
forms, ledgers and published values of `tests/checks`. Prints a line for each; ends with 1 where one survived. Takes
about a minute for each constant on two cores.
"""

import pathlib
import re
import subprocess
import sys

LAWS = {
    "sled-dynamics": ["laws/*.rs"],
    "ice-contact": ["film.rs", "melt.rs", "lateral.rs", "friction.rs"],
}
# steps, tolerances and guards of numerics are no coefficients of a law
NOT_A_LAW = re.compile(r"LEAST|STEP|CLOSE|RATIO$|FIRST_M|CLEAR|SPACING|FADE|REACH")
CONSTANT = re.compile(r"^(?P<head>(?:pub |pub\(crate\) )?const (?P<name>[A-Z_0-9]+): f64 = )(?P<value>[^;]+);", re.M)
CHECKS = ["exact_", "conserves_", "published_", "trade_"]


def fails(copy, *arguments):
    command = ["cargo", "test", "--quiet", *arguments]
    return subprocess.run(command, cwd=copy, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL).returncode != 0


def main():
    copy, parts = pathlib.Path(sys.argv[1]), sys.argv[2:]
    survived = 0
    for crate, patterns in LAWS.items():
        source = copy / "crates" / crate / "src"
        for path in sorted(p for pattern in patterns for p in source.glob(pattern)):
            text = path.read_text()
            for found in CONSTANT.finditer(text):
                name = found["name"]
                if NOT_A_LAW.search(name) or (parts and not any(part in name for part in parts)):
                    continue
                changed = f"{found['head']}1.1 * ({found['value']});"
                path.write_text(text[: found.start()] + changed + text[found.end() :])
                try:
                    if fails(copy, "-p", crate, "--no-run"):
                        told = "DOES NOT COMPILE"
                        survived += 1
                    elif fails(copy, "-p", crate):
                        told = "caught by its crate"
                    elif fails(copy, "-p", "checks", "--test", "checks", "--", *CHECKS):
                        told = "caught by the checks"
                    else:
                        told = "SURVIVED"
                        survived += 1
                finally:
                    path.write_text(text)
                print(f"{path.relative_to(copy)} {name}: {told}", flush=True)
    return 1 if survived else 0


if __name__ == "__main__":
    sys.exit(main())
