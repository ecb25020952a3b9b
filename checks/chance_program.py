"""One sheet put to the program."""

import json
import subprocess

TIME_LIMIT_S = 300


class NoAnswer(Exception):
    """The program did not answer a sheet that it should have answered."""


def ask(program, path, sheet):
    """Writes the sheet and returns what the program says of it."""
    path.write_text(json.dumps(sheet))
    try:
        done = subprocess.run(
            [program, "assess", str(path), "--json"], capture_output=True, text=True, timeout=TIME_LIMIT_S
        )
    except subprocess.TimeoutExpired as fault:
        raise NoAnswer(f"{path.name}: no answer in {TIME_LIMIT_S} s") from fault
    if done.returncode != 0:
        raise NoAnswer(f"{path.name}: exit {done.returncode}: {done.stderr.strip()[:400]}")
    return json.loads(done.stdout)
