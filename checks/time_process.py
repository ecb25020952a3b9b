#!/usr/bin/env python3
"""Run a program several times over and print, as one line of JSON, the median seconds and the peak memory in MB.

    python3 checks/time_process.py RUNS PROGRAM [ARGUMENT ...]

The memory is the kernel's own figure for the process. A process starts out as a copy of this one, so nothing below
some 10 MB can be told apart.
"""

import json
import os
import statistics
import sys
import time


def main():
    runs, words = int(sys.argv[1]), sys.argv[2:]
    quiet = [(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)]
    seconds, peak = [], 0
    for _ in range(runs + 1):
        began = time.perf_counter()
        child = os.posix_spawn(words[0], words, os.environ, file_actions=quiet)
        _, status, usage = os.wait4(child, 0)
        seconds.append(time.perf_counter() - began)
        if status != 0:
            sys.exit(f"{' '.join(words)}: exit code {os.waitstatus_to_exitcode(status)}")
        peak = max(peak, usage.ru_maxrss / 1024)
    # The first run fills the file cache and does not count.
    print(json.dumps({"median_s": statistics.median(seconds[1:]), "worst_s": max(seconds[1:]), "peak_mb": peak}))


if __name__ == "__main__":
    main()
