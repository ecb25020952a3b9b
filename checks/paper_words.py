"""The words and figures on a paper, read with pdftotext, against what the program says of the same job elsewhere."""

import re
import subprocess
import xml.etree.ElementTree as xml
from decimal import Decimal

from paper_prices import bill_of_report, parsed_quotation, quotation

SETS = {"main": "main", "pin": "pin", "rod": "pin", "crankpin": "pin"}
NAME = r"\b(Main|Pin|Rod|Crankpin) (\d+)\b"
FIGURE = r"\d+\.\d+"
BAND = rf"({FIGURE})–({FIGURE})"


def text_of(path):
    return subprocess.run(["pdftotext", "-layout", str(path), "-"], capture_output=True, text=True, check=True).stdout


def words_of(path):
    """Each word with its height in points, in the order of the file."""
    out = subprocess.run(["pdftotext", "-bbox", str(path), "-"], capture_output=True, text=True, check=True).stdout
    out = re.sub(r"<!DOCTYPE[^>]*>", "", out)
    words = []
    for element in xml.fromstring(out).iter():
        if element.tag.endswith("word"):
            words.append((element.text or "", float(element.get("yMax")) - float(element.get("yMin"))))
    return words


def large_figures(words):
    return [word for word, height in words if height > 45 and re.fullmatch(FIGURE, word)]


def journal(name, number):
    return f"{SETS[name.lower()]} {number}"


def parsed(paper, path):
    text, words = text_of(path), words_of(path)
    found = {"text": text, "large": large_figures(words), "words": words}
    found["windows"] = [word for word, height in words if 20 < height < 45 and re.fullmatch(BAND, word)]
    if paper == "grinder":
        pattern = rf"{NAME}\s+({FIGURE})\s+({FIGURE}|nothing)"
        found["rows"] = {journal(a, n): (now, off) for a, n, now, off in re.findall(pattern, text)}
    if paper == "report":
        pattern = rf"{NAME}\s+({FIGURE})\s+{BAND}"
        found["rows"] = {journal(a, n): (now, low, high) for a, n, now, low, high in re.findall(pattern, text)}
    if paper == "certificate":
        sizes = rf"({FIGURE}(?:–{FIGURE})?|not measured)\s+({FIGURE}|–)\s+({FIGURE}|–)"
        pattern = rf"{NAME}\s+{sizes}\s+{sizes}\s+(\w+)"
        found["rows"] = {journal(*row[:2]): (row[2:5], row[5:8], row[8]) for row in re.findall(pattern, text)}
    if paper == "quotation":
        found["quotation"] = parsed_quotation(text)
    if paper == "record":
        part = text.split("Every reading as taken")[-1]
        found["readings"] = re.findall(rf"{NAME}.*?({FIGURE})", part)
    return found


def near(shown, value, what, faults):
    """Whether a figure on paper is this value to its own last digit."""
    places = len(shown.split(".")[1]) if "." in shown else 0
    if abs(float(shown) - float(value)) > 0.5000001 * 10.0**-places:
        faults.append(f"{what}: {shown} on paper, {value} elsewhere")
    return 1


def stages(said):
    """Per set the size to grind to, its window and the finished one, as `assess` works them out."""
    told = {}
    for one in (said["answer"] or {}).get("plan") or []:
        name = one["journal"].split()[0]
        told.setdefault(name, {"undersize": one["undersize"], **{stage["stage"]: stage for stage in one["stages"]}})
    return told


def smallest(said):
    answer = said["answer"] or {}
    held = answer.get("journals") or []
    held = held if isinstance(held, list) else [dict(one, journal=name) for name, one in held.items()]
    return {one["journal"]: one.get("smallest", one.get("smallest_size")) for one in held}


def largest(said):
    return {one["journal"]: one["largest"] for one in (said["answer"] or {}).get("journals") or []}


def chosen(said):
    """What was decided for each set; for a sheet that is in no record, what the rule says."""
    if said["job"]:
        return {one["set"]: one["choice"] for one in said["job"]["decisions"]}
    sets = (said["answer"] or {}).get("sets") or {}
    return {name: str(one["choice"]) for name, one in sets.items() if one["action"] == "grind"}


def ground(said):
    choices = chosen(said)
    return {name: Decimal(choice) for name, choice in choices.items() if re.fullmatch(r"[\d.]+", choice)}


def issued(said):
    """The plan of the last sheet that was issued, as the record holds it."""
    sheets = (said["job"] or {}).get("sheets") or []
    return {one["set"]: one for one in sheets[-1]["plan"]["sets"]} if sheets else {}


def report_faults(paper, found, said):
    """Faults of the figures on a paper, and how many figures were compared."""
    checks = {
        "grinder": grinder, "report": report, "certificate": certificate, "label": label, "record": record,
        "quotation": lambda found, said, faults: quotation(found, said, faults, chosen(said)), "card": card,
    }  # fmt: skip
    check, faults = checks.get(paper), []
    return faults, check(found, said, faults) if check else 0


def card(found, said, faults):
    """The finished limits of every undersize: the book's, less the undersize."""
    book, count = said["sheet"]["specification"], 0
    flowing = re.sub(r"\s+", " ", found["text"])
    for name in ("main", "pin"):
        told = book.get(name) or {}
        if not isinstance(told.get("size"), list):
            continue
        for under in [0, *(told.get("undersizes") or [])]:
            low, high = (Decimal(str(end)) - Decimal(str(under)) for end in told["size"])
            if book.get("units", "in") == said["sheet"].get("units", "in"):
                count += 1
                places = 4 if book.get("units", "in") == "in" else 3
                if f"{low:.{places}f} to {high:.{places}f}" not in flowing:
                    faults.append(f"card: no {low} to {high} for {name} {under} under")
    return count


def grinder(found, said, faults):
    plan, kept, count = stages(said), issued(said), 0
    sets = [name for name in ("main", "pin") if name in ground(said)]
    if len(found["large"]) != len(sets) or len(found["windows"]) != len(sets):
        faults.append(f"grind to {found['large']} in {found['windows']} for {sets}")
        return count
    sizes = largest(said)
    for name, large, window in zip(sets, found["large"], found["windows"]):
        low, high = re.fullmatch(BAND, window).groups()
        if name in kept:
            stage = {one["stage"]: one for one in kept[name]["stages"]}.get("grind") or kept[name]["stages"][-1]
            for shown, key in ((large, "target"), (low, "low"), (high, "high")):
                count += near(shown, stage[key], f"{name} {key}, as issued", faults)
        if name in plan and Decimal(str(plan[name]["undersize"])) == ground(said)[name]:
            stage = plan[name]["grind"]
            for shown, key in ((large, "target"), (low, "low"), (high, "high")):
                count += near(shown, stage[key], f"{name} {key}, as assessed", faults)
        # The rough pass stands beside the box, with its own window.
        # A line may end behind the dash of a band.
        flowing = re.sub(r"(?<=\d–) ", "", re.sub(r"\s+", " ", found["text"]))
        rough = re.findall(rf"(Mains|Pins|\w+s): rough ({FIGURE}) \({BAND}\)", flowing)
        told = next((one for one in rough if (one[0] == "Mains") == (name == "main")), None)
        issued_for = {one["stage"]: one for one in kept[name]["stages"]} if name in kept else plan.get(name, {})
        wanted = issued_for.get("rough")
        if bool(told) != bool(wanted):
            faults.append(f"rough size of the {name}s: {told} on paper, {wanted} elsewhere")
        elif told:
            for shown, key in zip(told[1:], ("target", "low", "high")):
                count += near(shown, wanted[key], f"{name} rough {key}", faults)
        for spot, (now, off) in found["rows"].items():
            if not spot.startswith(name):
                continue
            if kept:
                rows = {one["journal"]: one for one in kept[name]["journals"]}
                count += near(now, rows[spot]["largest"], f"{spot} largest, as issued", faults)
                if off != "nothing":
                    count += near(off, rows[spot]["take_off"], f"{spot} take off, as issued", faults)
            else:
                count += near(now, sizes[spot], f"{spot} largest", faults)
            if off != "nothing":
                # What comes off is what is there less what shall be left, to the last digit of both.
                places = len(now.split(".")[1])
                if abs(float(now) - float(large) - float(off)) > 1.01 * 10.0**-places:
                    faults.append(f"{spot}: {now} less {large} is not {off}")
                count += 1
    count += seen_before(found, said, faults) if sets else 0
    specification = said["sheet"]["specification"]
    if sets and sum(specification[name]["count"] for name in ("main", "pin") if name in specification) <= 9:
        # A box of words is 1.3 of their type: notes of 11 points are 14.3 high.
        notes = [height for word, height in found["words"] if word in ("Decides", "deep,", "hole:", "holes:", "throw;")]
        if not notes or min(notes) < 14.2:
            faults.append(f"notes {notes} points high on a sheet of nine journals, not 14.3")
        count += 1
    wanted = sum(specification[name]["count"] for name in sets)
    if len(found["rows"]) > wanted or (not kept and len(found["rows"]) != wanted):
        faults.append(f"{len(found['rows'])} journals on paper, not {wanted}")
    return count


def seen_before(found, said, faults):
    """Run-outs and depths of damage that were measured must be on the sheet, and blanks for both crack tests."""
    text, count = re.sub(r"\s+", " ", found["text"]), 0
    for one in said["sheet"].get("run_out") or []:
        shown = re.search(rf"runs out ({FIGURE}) \w+, high less low, high at {float(one['high']):.0f}°", text)
        if not shown:
            faults.append(f"the run-out of {one['journal']} is not on the sheet")
        else:
            count += near(shown.group(1), str(one["total"]), f"{one['journal']} run-out", faults)
    for one in said["sheet"].get("damage") or []:
        depth = one.get("depth")
        if isinstance(depth, list) and len(depth) == 3:
            shown = re.search(rf"{one['kind']} ({FIGURE}) to ({FIGURE}) \w+ deep, likeliest ({FIGURE})", text)
            if not shown:
                faults.append(f"the {one['kind']} of {one['journal']} is not on the sheet")
            else:
                for figure, value in zip(shown.groups(), (depth[0], depth[2], depth[1])):
                    count += near(figure, str(value), f"{one['journal']} depth", faults)
    for when in ("before grinding", "after grinding and treatment"):
        if not re.search(rf"Crack-tested {when}, by: _+ how: _+ result: _+", text):
            faults.append(f"no blank for the crack test {when}")
    return count


def report(found, said, faults):
    sizes, count = smallest(said), 0
    if set(found["rows"]) != {name for name, size in sizes.items() if size is not None}:
        faults.append(f"journals {sorted(found['rows'])}, not {sorted(sizes)}")
    for spot, (now, low, high) in found["rows"].items():
        count += near(now, sizes.get(spot, -1), f"{spot} smallest", faults)
        if float(low) >= float(high):
            faults.append(f"{spot}: allowed {low} to {high}")
    count += bill_of_report(found, said, faults, chosen(said))
    return count + outcome(" ".join(found["text"].split()), said, faults)


def outcome(text, said, faults):
    """A report that promises a crank says nothing else that keeps it from being used, and the other way round."""
    answer = said["answer"] or {}
    notes = [one["kind"] for one in answer.get("notes") or []]
    sets = answer.get("sets") or {}
    answered = any(one.get("overruled") for one in (said["job"] or {}).get("decisions") or [])
    promises = re.search(r"Your crank can be used (again|as it is)", text)
    wanted = []
    if "caution" in notes and not answered:
        wanted.append(("Stop: to be settled first", "a stop"))
    if answer.get("look_again") and "caution" not in notes and not answered:
        wanted.append(("To be looked at again first", "readings in doubt"))
    if any(one.get("settle_first") for one in sets.values()) and not wanted:
        wanted.append(("Measure again first", "readings too close to call"))
    if len(sets) < 2 and not wanted:
        wanted.append(("So far", "sets that are not measured"))
    for words, what in wanted:
        if words not in text or promises:
            faults.append(f"{what}, and the report says: {text[:160]}")
    crack = any(one.get("kind") == "crack" for one in said["sheet"].get("damage", []))
    if crack and ("may be cracked" not in text or re.search("ground to|likely bill", text)):
        faults.append("a cracked crank is worked on")
    return 1 + len(wanted)


def label(found, said, faults):
    count, specification = 0, said["sheet"]["specification"]
    same_unit = specification.get("units") == said["sheet"]["units"]
    for name, undersize in ground(said).items():
        line = re.search(rf"^\s*{'MAINS' if name == 'main' else '(?:PINS|RODS|CRANKPINS)'}: (\S+)", found["text"], re.M)
        if not line:
            faults.append(f"no {name} on the label")
            continue
        if line.group(1) != "standard":
            count += near(line.group(1), undersize, f"{name} undersize", faults)
        if same_unit:
            # New limits less the undersize.
            bands = re.findall(BAND, found["text"][line.end() :])
            for shown, new in zip(bands[0], specification[name]["size"]):
                count += near(shown, Decimal(str(new)) - undersize, f"{name} finished", faults)
    return count


def certificate(found, said, faults):
    """Sizes, out-of-round and taper, before and after; and everything that was not done."""
    count, told = 0, journals(said)
    finished = {}
    for one in said["job"]["final_readings"]:
        row = one["row"]["row"]
        spots = finished.setdefault(row["journal"], {})
        spots[row["at"], str(row["plane"])] = Decimal(str(row["size"])) - Decimal(str(one["zero"] or "0"))
    for spot, (before, after, _) in found["rows"].items():
        was = told.get(spot)
        if (before[0] == "not measured") != (was is None):
            faults.append(f"{spot}: {before[0]} before")
        elif was:
            ends = before[0].split("–")
            for shown, key in ((ends[0], "smallest"), (ends[-1], "largest"), (before[1], "out_of_round"), (before[2], "taper")):
                if shown != "–":
                    count += near(shown, was[key], f"{spot} {key} before", faults)
        if spot not in finished:
            if after[0] != "not measured":
                faults.append(f"{spot}: {after[0]} after, and nobody measured it")
            continue
        sizes = finished[spot]
        ends = after[0].split("–")
        round_, taper = spread(sizes, 0), spread(sizes, 1)
        low, high = min(sizes.values()), max(sizes.values())
        for shown, value in ((ends[0], low), (ends[-1], high), (after[1], round_), (after[2], taper)):
            if (shown == "–") != (value is None):
                faults.append(f"{spot}: {shown} after, not {value}")
            elif value is not None:
                count += near(shown, value, f"{spot} after", faults)
    if set(finished) - set(found["rows"]):
        faults.append(f"{sorted(set(finished) - set(found['rows']))} are not on the certificate")
    return count + not_done(found["text"], said, faults)


def spread(sizes, fixed):
    """The largest difference of two sizes that share their station (0) or their direction (1)."""
    keys = {key[fixed] for key in sizes}
    groups = [[size for key, size in sizes.items() if key[fixed] == one] for one in keys]
    return max((max(group) - min(group) for group in groups if len(group) > 1), default=None)


def journals(said):
    held = (said["answer"] or {}).get("journals") or []
    held = held if isinstance(held, list) else [dict(one, journal=name) for name, one in held.items()]
    return {one["journal"]: one for one in held}


def not_done(text, said, faults):
    words = " ".join(text.split())
    passed = {one["item"] for one in said["job"]["eye_checks"] if one["passed"]}
    wanted = {"straightness": "Straightness was not checked", "crack test": "No crack test was done"}
    missing = [says for item, says in wanted.items() if (item in passed) == (says in words)]
    faults += [f"passed or not, the certificate has it wrong: {says}" for says in missing]
    for stay in said["job"]["treatments"]:
        if f"batch {stay['batch']}" not in words:
            faults.append(f"no batch {stay['batch']} on the certificate")
    if said["job"]["final_readings"] and not re.search(r"Sizes after are good to ± 0\.\d+", words):
        faults.append("no uncertainty on the certificate")
    return 2 + len(said["job"]["treatments"])


def record(found, said, faults):
    on_paper = {}
    for name, number, size in found["readings"]:
        on_paper.setdefault(journal(name, number), []).append(Decimal(size))
    count = 0
    for one in said["sheet"].get("reading", []):
        sizes = one["size"] if isinstance(one["size"], list) else [one["size"]]
        for size in sizes:
            count += 1
            if not any(abs(Decimal(str(size)) - held) < Decimal("1e-9") for held in on_paper.get(one["journal"], [])):
                faults.append(f"{one['journal']}: {size} is not in the record")
    return count
