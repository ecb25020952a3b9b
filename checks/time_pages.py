"""Times the pages over a large record: twenty people entering at once, the verdict so far, the list, start and memory.

    python checks/time_pages.py PROGRAM RECORD

RECORD was filled by the load example of the shop room; it is written to. Prints one line of JSON.
"""

import http.client
import json
import re
import subprocess
import sys
import threading
import time
import uuid

PEOPLE = 20
READINGS_EACH = 60
WHEN = "2026-11-25T09:00:00Z"
LIMITS = {"main": 2.1245, "pin": 1.8745}


def eight(book):
    """The Tarn four grown to eight cylinders in line: nine mains, eight pins."""
    book["name"] = "Tarn eight, for timing"
    book["main"] |= {"count": 9, "positions": [round(3.2 * n, 1) for n in range(9)]}
    pins = {"count": 8, "positions": [round(1.6 + 3.2 * n, 1) for n in range(8)]}
    book["pin"] |= pins | {"angles": [0, 180, 90, 270, 270, 90, 180, 0]}
    return book


class Person:
    """Somebody with a connection of their own."""

    def __init__(self, host):
        self.line = http.client.HTTPConnection(host)

    def ask(self, method, path, body=None):
        headers = {"Content-Type": "application/json"} if body is not None else {}
        began = time.perf_counter()
        self.line.request(method, path, json.dumps(body) if body is not None else None, headers)
        answer = self.line.getresponse()
        text = answer.read()
        taken_ms = 1000 * (time.perf_counter() - began)
        if answer.status >= 300:
            sys.exit(f"{method} {path}: {answer.status} {text[:400]}")
        return text, taken_ms

    def book_in(self, what):
        crank = {"id": uuid.uuid4().hex, "who": "Pat", "when": WHEN, "what": what}
        return json.loads(self.ask("POST", "/api/jobs", crank)[0])["job"]

    def enter(self, job, spot, worn):
        """Enters one reading; how long until it is saved and judged."""
        size = LIMITS[spot.split("-")[0]] - worn
        reading = {"id": uuid.uuid4().hex, "who": "Pat", "when": WHEN, "spot": spot, "typed": f"{size:.4f}"}
        return self.ask("POST", f"/api/jobs/{job}/readings", reading)[1]


def spots(mains, pins):
    sets = [("main", n) for n in range(1, mains + 1)] + [("pin", n) for n in range(1, pins + 1)]
    return [f"{name}-{n}.{at}.{across}" for name, n in sets for at in ("front", "rear") for across in "ab"]


def share(times, at):
    return sorted(times)[min(len(times) - 1, int(at * len(times)))]


def twenty(host):
    """Twenty people at a crank each, a reading about every half second: faster than hands are."""
    times = []

    def work(n):
        person = Person(host)
        job = person.book_in({"engine": "tarn-four"})
        walk = spots(5, 4)
        time.sleep(0.5 * n / PEOPLE)
        for k in range(READINGS_EACH):
            if k % len(walk) == 0 and k:
                job = person.book_in({"engine": "tarn-four"})
            taken = person.enter(job, walk[k % len(walk)], 0.0005 + 0.0001 * ((n + k) % 9))
            times.append(taken)
            time.sleep(max(0.0, 0.5 - taken / 1000))

    people = [threading.Thread(target=work, args=(n,)) for n in range(PEOPLE)]
    for one in people:
        one.start()
    for one in people:
        one.join()
    return times


def so_far(host, book):
    """The verdict so far of an eight-cylinder crank, asked for after each reading."""
    person = Person(host)
    job = person.book_in({"specification": eight(book)})
    times = []
    for k, spot in enumerate(spots(9, 8)):
        person.enter(job, spot, 0.0008 + 0.0001 * (k % 7))
        times.append(person.ask("GET", f"/jobs/{job}/so-far")[1])
    return times


def memory_mb(process, key):
    with open(f"/proc/{process.pid}/status") as status:
        return int(re.search(key + r":\s+(\d+) kB", status.read()).group(1)) / 1024


def main():
    program, record = sys.argv[1:3]
    began = time.perf_counter()
    command = [program, "serve", "--port", "0", "--record", record]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    try:
        host = re.search(r"http://([^/]+)/", process.stdout.readline()).group(1)
        person = Person(host)
        person.ask("GET", "/jobs")
        start_ms = 1000 * (time.perf_counter() - began)
        book = json.loads(person.ask("GET", f"/api/jobs/{person.book_in({'engine': 'tarn-four'})}/sheet")[0])["specification"]
        lists = [person.ask("GET", path)[1] for path in ("/jobs", "/jobs?search=cooper", "/jobs?page=40") for _ in range(30)]
        entered = twenty(host)
        verdicts = so_far(host, book)
        print(json.dumps({
            "start_ms": start_ms,
            "enter_p50_ms": share(entered, 0.5),
            "enter_p99_ms": share(entered, 0.99),
            "verdict_p50_ms": share(verdicts, 0.5),
            "verdict_p95_ms": share(verdicts, 0.95),
            "list_p95_ms": share(lists, 0.95),
            "peak_mb": memory_mb(process, "VmHWM"),
            "resident_mb": memory_mb(process, "VmRSS"),
        }))
    finally:
        process.kill()
        process.wait()


main()
