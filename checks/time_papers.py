#!/usr/bin/env python3
"""How long the grinder's sheet takes: python3 checks/time_papers.py BINARY

prints one line of JSON: of a warm server on the invented shop the 38th of 40 (p95), and the median of 15 whole
processes of `print` on the same job.
"""

import json
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from papers import Shop, print_paper


def main():
    binary = sys.argv[1]
    with tempfile.TemporaryDirectory() as folder:
        record = Path(folder) / "shop.tenunder"
        shop = Shop(binary, record)
        try:
            jobs = shop.json("/api/jobs?page=0&stage=at_the_grinder")["jobs"]
            path = f"/api/jobs/{jobs[0]['job']}/papers/grinder"
            take(shop, path)
            served = sorted(timed(lambda: take(shop, path)) for _ in range(40))
        finally:
            shop.stop()
        to = Path(folder) / "sheet.pdf"
        runs = [timed(lambda: written(binary, jobs[0]["job"], to, record)) for _ in range(15)]
    print(json.dumps({"served_p95_ms": 1000 * served[37], "process_ms": 1000 * statistics.median(runs)}))


def timed(work):
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def take(shop, path):
    code, file = shop.get(path)
    if code != 200 or not file.startswith(b"%PDF"):
        sys.exit(f"{path}: {code}")


def written(binary, job, to, record):
    code, _, error = print_paper(binary, job, "grinder", "A4", to, record)
    if code != 0:
        sys.exit(error)


if __name__ == "__main__":
    main()
