#!/usr/bin/env python3
"""Read the program's papers back with other people's programs.

    python3 checks/papers.py BINARY [FOLDER]

prints every paper of an invented shop and of sheets with 1 to 26 journals, on A4 and Letter, and holds them against what
the JSON interface and `assess --json` say of the same jobs (poppler's pdfinfo and pdftotext), against the structure that a
reader's program needs (pikepdf, and the PDF/UA-1 rules of page-validation), and against what a printer makes of them
(pdftoppm, one bit a dot). First it plants a fault for each check and sees that it is found. FOLDER keeps what was printed.
"""

import copy
import json
import re
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import tomllib
import urllib.error
import urllib.request
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from paper_raster import raster_faults
from paper_structure import structure_faults
from paper_words import ground, large_figures, parsed, report_faults, words_of

PAPERS = ["form", "report", "quotation", "grinder", "batch", "record", "certificate", "label", "card"]
SIZES = {"A4": (595.276, 841.89), "Letter": (612.0, 792.0)}
# Mains and pins of cranks with 2 (the fewest that a specification has), 3, 9, 13, 14, 17 and 26 journals.
CRANKS = [(1, 1), (2, 1), (5, 4), (7, 6), (8, 6), (9, 8), (13, 13)]
# How much must have been looked at before a run counts.
AT_LEAST = dict(papers=100, figures=700, rasters=20, faults=42)


def run(*command, **more):
    done = subprocess.run([str(part) for part in command], capture_output=True, text=True, **more)
    return done.returncode, done.stdout, done.stderr


def info(path):
    _, out, _ = run("pdfinfo", path)
    return dict((line.split(":", 1)[0], line.split(":", 1)[1].strip()) for line in out.splitlines() if ":" in line)


def page_faults(path, size, pages):
    """What pdfinfo says of the file, against what it should be; `pages` says which numbers of pages will do."""
    told, faults = info(path), []
    if told.get("Tagged") != "yes":
        faults.append("not tagged")
    if "Error" in told or not told.get("Title"):
        faults.append(f"no title: {told}")
    if int(told.get("Pages", 0)) not in pages:
        faults.append(f"{told.get('Pages')} pages, not {list(pages)}")
    found = re.match(r"([\d.]+) x ([\d.]+) pts", told.get("Page size", ""))
    wanted = SIZES[size]
    if not found or any(abs(float(a) - b) > 0.1 for a, b in zip(found.groups(), wanted)):
        faults.append(f"paper of {told.get('Page size')}, not {size}")
    return faults


def pages_for(paper, journals):
    if paper in ("report", "label"):
        return [1]
    if paper == "grinder":
        return [1] if journals <= 13 else [2]
    if paper in ("certificate", "batch", "quotation", "card"):
        return [1, 2]
    if paper == "form":
        # It asks for all that the program does: a line of 9.8 mm for each journal and for each main's run-out, and 280 mm
        # for what every crank is asked; no table is cut.
        return [2] if journals <= 4 else [2, 3] if journals <= 17 else [3, 4]
    return range(1, 12)


class Shop:
    """The invented shop, answering."""

    def __init__(self, binary, record):
        self.record = record
        self.process = subprocess.Popen(
            [binary, "demo", "--serve", "--port", "0", "--keep", record], stdout=subprocess.PIPE, text=True
        )
        line = self.process.stdout.readline()
        self.address = re.search(r"http://\S+", line).group().rstrip("/")

    def get(self, path):
        try:
            with urllib.request.urlopen(self.address + path, timeout=120) as answer:
                return answer.status, answer.read()
        except urllib.error.HTTPError as refused:
            return refused.code, refused.read()

    def json(self, path):
        return json.loads(self.get(path)[1])

    def stop(self):
        self.process.send_signal(signal.SIGINT)
        self.process.wait(20)


class Tally:
    def __init__(self):
        self.failed, self.counts = [], dict.fromkeys(AT_LEAST, 0)

    def take(self, what, faults):
        self.failed += [f"{what}: {fault}" for fault in faults]

    def count(self, what, number=1):
        self.counts[what] += number


def sheet_text(mains, pins):
    """A sheet in inches of an invented engine with so many journals, each a little worn."""
    step = 3.2
    lines = [
        "sheet = 1", f'mark = "N-{mains + pins}"', 'units = "in"', "[specification]", "specification = 1",
        f'name = "Skelder, {mains} mains and {pins} pins"', 'units = "in"', "throw = 1.5", "[specification.main]",
        f"count = {mains}", f"positions = {[round(step * n, 3) for n in range(mains)]}", "length = 1.1",
        "size = [2.1245, 2.1250]", "undersizes = [0.010, 0.020]",
    ]  # fmt: skip
    if pins:
        lines += [
            "[specification.pin]", f"count = {pins}", f"angles = {[(n * 120) % 360 for n in range(pins)]}",
            f"positions = {[round(1.6 + step * n, 3) for n in range(pins)]}", "length = 0.95",
            "size = [1.8745, 1.8750]", "undersizes = [0.010, 0.020]",
        ]  # fmt: skip
    lines += [
        "[[instrument]]", 'name = "mic 1-3"', 'kind = "outside micrometer"', 'units = "in"', "range = [1, 3]",
        "graduation = 0.0001", "error_limit = 0.0001", "repeatability = 0.00005", "[policy]", "draws = 2000",
    ]  # fmt: skip
    for name, count, new in (("main", mains, 2.1250), ("pin", pins, 1.8750)):
        for n in range(1, count + 1):
            for plane, worn in ((0, 0.0020), (90, 0.0011)):
                size = f"{new - worn - 0.0001 * (n % 7):.4f}"
                lines += ["[[reading]]", f'journal = "{name} {n}"', 'at = "middle"', f"plane = {plane}",
                          f"size = {size}", 'with = "mic 1-3"']  # fmt: skip
    return "\n".join(lines) + "\n"


def assessed(binary, sheet):
    code, out, err = run(binary, "assess", sheet, "--json")
    return json.loads(out) if code == 0 and out.strip() else None


def print_paper(binary, of, paper, size, to, record=None):
    more = ["--record", record] if record else []
    return run(binary, "print", of, "--as", paper, "--size", size, "-o", to, *more)


def look_through(tally, path, paper, size, journals, raster):
    name = path.name
    tally.count("papers")
    tally.take(name, page_faults(path, size, pages_for(paper, journals)))
    tally.take(name, structure_faults(path))
    if raster:
        found = raster_faults(path, paper, large_figures(words_of(path)))
        tally.count("rasters")
        tally.take(name, found)


def shop_papers(tally, binary, folder):
    """Every paper of every job of the invented shop."""
    record = folder / "shop.tenunder"
    shop = Shop(binary, record)
    try:
        told = {}
        for job in all_jobs(shop):
            ready = {one["paper"]: one for one in shop.json(f"/api/jobs/{job}/papers")}
            tally.take(str(job), [f"no {paper} in the list" for paper in PAPERS if paper not in ready])
            code, plan = shop.get(f"/api/jobs/{job}/plan")
            served = {}
            for paper, one in ready.items():
                code_of, answer = shop.get(f"/api/jobs/{job}/papers/{paper}?size=A4")
                wanted = 200 if one["ready"] else 409
                # What a verdict comes to is not known to the list: nothing that costs anything, for one.
                if code_of != wanted and (paper, code_of) != ("quotation", 409):
                    tally.take(f"{job} {paper}", [f"answered {code_of}, not {wanted}"])
                if code_of == 200:
                    served[paper] = answer
            told[job] = {
                "job": shop.json(f"/api/jobs/{job}"), "plan": json.loads(plan) if code == 200 else None,
                "served": served, "quotation": (shop.json(f"/api/jobs/{job}/fit").get("answer") or {}).get("quotation"),
            }  # fmt: skip
    finally:
        shop.stop()
    for job, said in told.items():
        sheet = folder / f"{job}.toml"
        code, out, err = run(binary, "export", job, "--record", record)
        sheet.write_text(out)
        said["sheet"] = tomllib.loads(out)
        said["answer"] = assessed(binary, sheet)
    work = [(job, paper, size) for job in told for paper in PAPERS for size in SIZES]
    with ThreadPoolExecutor(2) as pool:
        list(pool.map(lambda one: job_paper(tally, binary, folder, record, told[one[0]], *one), work))
    return told


def job_paper(tally, binary, folder, record, said, job, paper, size):
    path = folder / f"{job}-{paper}-{size}.pdf"
    code, out, err = print_paper(binary, job, paper, size, path, record)
    if paper not in said["served"]:
        if code != 2 or not err.startswith("tenunder: ") or path.exists():
            tally.take(path.name, [f"ended with {code} where nothing can be printed: {err}"])
        return
    if code != 0:
        tally.take(path.name, [f"ended with {code}: {err}"])
        return
    if size == "A4":
        again = path.with_suffix(".again")
        print_paper(binary, job, paper, size, again, record)
        if again.read_bytes() != path.read_bytes():
            tally.take(path.name, ["differs when printed again"])
        if said["served"][paper] != path.read_bytes():
            tally.take(path.name, ["differs from the page's"])
        again.unlink()
    specification = said["sheet"]["specification"]
    journals = specification["main"]["count"] + specification.get("pin", {}).get("count", 0)
    look_through(tally, path, paper, size, journals, size == "A4" and paper in ("grinder", "form", "label", "report"))
    faults, compared = report_faults(paper, parsed(paper, path), said)
    tally.count("figures", compared)
    tally.take(path.name, faults)


def all_jobs(shop):
    """The numbers of all jobs, those put away too: they are given one after the other."""
    job, jobs = 1001, []
    while shop.get(f"/api/jobs/{job}")[0] == 200:
        jobs.append(job)
        job += 1
    return jobs


def sheet_papers(tally, binary, folder):
    """Papers of sheets that are in no record, with 1 to 26 journals."""
    for mains, pins in CRANKS:
        sheet = folder / f"n{mains}-{pins}.toml"
        sheet.write_text(sheet_text(mains, pins))
        answer = assessed(binary, sheet)
        said = {"job": None, "plan": None, "answer": answer, "sheet": tomllib.loads(sheet.read_text())}
        for paper in ("form", "report", "grinder", "record", "label"):
            for size in SIZES:
                path = folder / f"n{mains}-{pins}-{paper}-{size}.pdf"
                code, out, err = print_paper(binary, sheet, paper, size, path)
                if code != 0:
                    tally.take(path.name, [f"ended with {code}: {err}"])
                    continue
                look_through(tally, path, paper, size, mains + pins, paper in ("grinder", "form"))
                faults, compared = report_faults(paper, parsed(paper, path), said)
                tally.count("figures", compared)
                tally.take(path.name, faults)


def priced(folder, name, more):
    """A sheet with prices and a score whose depth nobody knows, so that going again may come on top."""
    sheet = folder / f"{name}.toml"
    sheet.write_text(sheet_text(2, 1) + more)
    return sheet


PRICES = """
[prices]
washer = 9
treatment = 80
[[prices.item]]
what = "strip, clean and crack test"
price = 65
[[prices.item]]
what = "oilway plugs"
count = 4
price = {plug}
[prices.main]
pass = 95
shells = 46
scrap = 260
life = 15
[prices.pin]
pass = 60
shells = [40, 170]
scrap = 260
life = 15
[[damage]]
journal = "pin 1"
kind = "scoring"
depth = [0.0005, 0.0020, 0.0040]
"""


def quoted(binary, folder, name="quoted", plug="4"):
    """A quotation, its report, and what both are held against."""
    sheet = priced(folder, name, PRICES.replace("{plug}", plug))
    _, out, _ = run(binary, "fit", sheet, "--json")
    told = json.loads(out).get("quotation") if out.strip() else None
    said = {"job": None, "plan": None, "answer": assessed(binary, sheet), "sheet": tomllib.loads(sheet.read_text())}
    return sheet, dict(said, quotation=told)


def quotation_papers(tally, binary, folder):
    """Quotations that a shop without such jobs does not show: with averages, counts and fractions."""
    for name, plug in (("quoted", "4"), ("quoted-pence", "2.25")):
        sheet, said = quoted(binary, folder, name, plug)
        for paper in ("quotation", "report"):
            for size in SIZES:
                path = folder / f"{name}-{paper}-{size}.pdf"
                code, _, err = print_paper(binary, sheet, paper, size, path)
                if code != 0:
                    tally.take(path.name, [f"ended with {code}: {err}"])
                    continue
                look_through(tally, path, paper, size, 3, False)
                found = parsed(paper, path)
                faults, compared = report_faults(paper, found, said)
                if paper == "quotation" and not found["quotation"]["again"]:
                    faults.append("nothing comes on top, so that is not looked at")
                tally.count("figures", compared)
                tally.take(path.name, faults)


def outcomes():
    """Sheets whose report must not promise a crank, or must warn: the sheet, and words that stand on its report."""
    plain, limit = sheet_text(2, 1), "[specification.main]\nrun_out = 0.0020\n"
    turn = re.sub(r'(journal = "pin 1"\nat = "middle"\nplane = 90\nsize = )([\d.]+)', lambda one: one[1] + f"{float(one[2]) - 0.025:.4f}", plain)
    # Sizes that fit the engine, torn deeper than any undersize: a whole set that is merely small may be a turn misread.
    torn = "".join(f'[[damage]]\njournal = "{j}"\nkind = "scoring"\ndepth = 0.06\n' for j in ("main 1", "main 2", "pin 1"))
    worn = plain + torn
    close = re.sub(r"(?<=\nsize = )2\.1\d+", "2.1245", plain)
    return {
        "bent": (
            plain.replace("[specification.main]\n", limit) + '[[run_out]]\njournal = "main 2"\ntotal = 0.0140\nhigh = 40\n',
            ["your crank is bent", "runs out 0.0140 in", "Straightening can crack a shaft", "once that is settled"],
        ),
        "cracked": (plain + '[[damage]]\njournal = "pin 1"\nkind = "crack"\n', ["it may be cracked", "Stop:"]),
        "doubtful": (turn, ["Look again first", "until they are measured again", "left out of the chances until then"]),
        "half": (plain.split('[[reading]]\njournal = "pin 1"')[0], ["So far: the mains", "The pins are not measured yet."]),
        "close": (close, ["Measure again first", "measure again before anything is ground"]),
        "built-up": (
            worn.replace("[policy]\n", "[policy]\nbuild_up = true\n"),
            ["only if metal is built up", "Building up changes the strength"],
        ),
        "scrap": (worn, ["cannot be used again", "Even the deepest size"]),
    }


def outcome_papers(tally, binary, folder):
    for name, (text, words) in outcomes().items():
        sheet = folder / f"{name}.toml"
        sheet.write_text(text)
        said = {"job": None, "plan": None, "answer": assessed(binary, sheet), "sheet": tomllib.loads(text)}
        for size in SIZES:
            path = folder / f"{name}-report-{size}.pdf"
            code, _, err = print_paper(binary, sheet, "report", size, path)
            if code != 0:
                tally.take(path.name, [f"ended with {code}: {err}"])
                continue
            look_through(tally, path, "report", size, 3, False)
            found = parsed("report", path)
            faults, compared = report_faults("report", found, said)
            told = " ".join(found["text"].split())
            tally.take(path.name, faults + [f"“{one}” is not on it: {told[:300]}" for one in words if one not in told])
            # What the others of a set would need is told; work that is promised comes "with bearings to suit".
            if name in ("cracked", "scrap") and "with bearings to suit" in told:
                tally.take(path.name, ["work on a crank that is lost"])
            tally.count("figures", compared)


def seeded_prices(binary, folder):
    """One wrong figure for each kind that a quotation carries, in what it is held against or on the paper as read."""
    sheet, said = quoted(binary, folder)
    paths = {paper: folder / f"quoted-{paper}-A4.pdf" for paper in ("quotation", "report")}
    for paper, path in paths.items():
        print_paper(binary, sheet, paper, "A4", path)
    good = parsed("quotation", paths["quotation"])

    def on_paper(harm):
        wrong = copy.deepcopy(good)
        harm(wrong["quotation"])
        return report_faults("quotation", wrong, said)[0]

    def line(place, value):
        def harm(told):
            told["lines"][1] = told["lines"][1][:place] + (value,) + told["lines"][1][place + 1 :]

        return harm

    yield "quotation: as it is", [] if report_faults("quotation", good, said)[0] else ["nothing wrong, as wanted"]
    yield "quotation: count", on_paper(line(1, 5))
    yield "quotation: each", on_paper(line(2, line_price(good) + 1))
    yield "quotation: amount", on_paper(line(3, line_price(good) * 4 + 1))
    yield "quotation: a line less", on_paper(lambda told: told["lines"].pop())
    yield "quotation: total", on_paper(lambda told: told.update(total=told["total"] + 1))
    yield "quotation: average", on_paper(lambda told: told.update(again=[told["again"][0] + 1]))
    yield "quotation: likely", on_paper(lambda told: told.update(likely=told["likely"] - 1))
    yield "quotation: a way", on_paper(lambda told: told.update(ways=[(told["ways"][0][0], "7")] + told["ways"][1:]))
    for key in ("total", "likely"):
        wrong = copy.deepcopy(said)
        wrong["quotation"][key] += 1
        yield f"quotation: {key} in the JSON", report_faults("quotation", good, wrong)[0]
    wrong = copy.deepcopy(said)
    wrong["sheet"]["prices"]["pin"]["shells"][0] += 1
    yield "quotation: a price", report_faults("quotation", good, wrong)[0]
    yield "report: the bill", report_faults("report", parsed("report", paths["report"]), wrong)[0]
    stopped = copy.deepcopy(said)
    stopped["answer"]["notes"].append({"kind": "caution", "journal": "main 1", "says": "bent"})
    yield "report: a stop left out", report_faults("report", parsed("report", paths["report"]), stopped)[0]
    doubtful = copy.deepcopy(said)
    doubtful["answer"]["look_again"] = True
    yield "report: doubt left out", report_faults("report", parsed("report", paths["report"]), doubtful)[0]
    cracked = copy.deepcopy(said)
    cracked["sheet"]["damage"] = [{"journal": "pin 1", "kind": "crack"}]
    yield "report: a crack left out", report_faults("report", parsed("report", paths["report"]), cracked)[0]


def line_price(found):
    return found["quotation"]["lines"][1][2]


def no_half_file(binary, folder):
    """A disk that is full leaves no half file, and what stood there before."""
    sheet, faults = folder / "n5-4.toml", []
    to = folder / "full"
    shutil.rmtree(to, ignore_errors=True)
    to.mkdir(exist_ok=True)

    def small():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))

    # What stands there is an earlier paper: only that is replaced.
    for before in (None, b"%PDF-1.7 /Creator(Tenunder 0.1.0) the one before"):
        path = to / "sheet.pdf"
        if before:
            path.write_bytes(before)
        code, _, err = run(binary, "print", sheet, "--as", "grinder", "-o", path, preexec_fn=small, restore_signals=False)
        left = {one.name: one.read_bytes() for one in to.iterdir()}
        if code != 1 or "was not written" not in err:
            faults.append(f"a full disk ends with {code}: {err}")
        if left != ({"sheet.pdf": before} if before else {}):
            faults.append(f"a full disk leaves {[(name, len(held)) for name, held in left.items()]}")
    code, _, err = run(binary, "print", sheet, "--as", "grinder", "-o", "/dev/full")
    if code != 1:
        faults.append(f"/dev/full ends with {code}: {err}")
    return faults


def seeded(tally, binary, folder):
    """Plants a fault for each check; a check that does not find it is itself at fault."""
    from paper_faults import raster_seeds, structure_seeds, words_seeds

    sheet = folder / "seed.toml"
    sheet.write_text(sheet_text(2, 1))
    good = folder / "seed.pdf"
    print_paper(binary, sheet, "grinder", "A4", good)
    whole = structure_faults(good) + page_faults(good, "A4", [1])
    whole += raster_faults(good, "grinder", large_figures(words_of(good)))
    tally.take("the paper without a fault", whole)
    found = []
    for name, wrong in structure_seeds(good, folder):
        found.append((name, structure_faults(wrong)))
    for name, wrong in raster_seeds(good, folder):
        found.append((name, raster_faults(wrong, "grinder", large_figures(words_of(good)))))
    said = {"job": None, "plan": None, "answer": assessed(binary, sheet), "sheet": tomllib.loads(sheet.read_text())}
    for name, wrong in words_seeds(said):
        found.append((name, report_faults("grinder", parsed("grinder", good), wrong)[0]))
    found += list(seeded_prices(binary, folder))
    found.append(("a page too many", page_faults(good, "A4", [2])))
    found.append(("other paper", page_faults(good, "Letter", [1])))
    planted(tally, found)


def planted(tally, found):
    for name, faults in found:
        tally.count("faults")
        if not faults:
            tally.take("self-test", [f"{name} was planted and not found"])
    print("planted and found: " + ", ".join(name for name, faults in found if faults))


def seeded_later(tally, folder, told):
    """The same for papers that only a job has, and for the full disk."""
    from paper_faults import half_writer, job_seeds

    found = []
    for paper, harm in job_seeds():
        job, said = next((job, said) for job, said in told.items() if paper in said["served"] and harm_fits(paper, said))
        wrong = copy.deepcopy(said)
        harm(wrong)
        name = f"figures: {paper}, {harm.__name__}"
        found.append((name, report_faults(paper, parsed(paper, folder / f"{job}-{paper}-A4.pdf"), wrong)[0]))
    found.append(("a half file", no_half_file(half_writer(folder), folder)))
    planted(tally, found)


def harm_fits(paper, said):
    return bool(said["answer"] and said["answer"].get("journals") and (paper != "label" or ground(said)))


def main():
    binary = str(Path(sys.argv[1]).resolve())
    began, tally = time.time(), Tally()
    with tempfile.TemporaryDirectory() as own:
        folder = Path(sys.argv[2]) if len(sys.argv) > 2 else Path(own)
        folder.mkdir(parents=True, exist_ok=True)
        for left in folder.glob("shop.tenunder*"):
            left.unlink()
        seeded(tally, binary, folder)
        told = shop_papers(tally, binary, folder)
        sheet_papers(tally, binary, folder)
        quotation_papers(tally, binary, folder)
        outcome_papers(tally, binary, folder)
        tally.take("full disk", no_half_file(binary, folder))
        seeded_later(tally, folder, told)
    for what, least in AT_LEAST.items():
        if tally.counts[what] < least:
            tally.failed.append(f"only {tally.counts[what]} {what} were looked at, fewer than {least}")
    for line in tally.failed:
        print(line)
    counts = ", ".join(f"{number} {what}" for what, number in tally.counts.items())
    print(f"{counts}; {len(tally.failed)} failed, {time.time() - began:.0f} s")
    sys.exit(1 if tally.failed else 0)


if __name__ == "__main__":
    main()
