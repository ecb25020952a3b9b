"""The words and figures on a paper, read with pdftotext, against what the program says of the same job elsewhere."""

import re
import subprocess
import xml.etree.ElementTree as xml
from decimal import Decimal

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
    found = {"text": text, "large": large_figures(words)}
    found["windows"] = [word for word, height in words if 20 < height < 45 and re.fullmatch(BAND, word)]
    if paper == "grinder":
        pattern = rf"{NAME}\s+({FIGURE})\s+({FIGURE}|nothing)"
        found["rows"] = {journal(a, n): (now, off) for a, n, now, off in re.findall(pattern, text)}
    if paper == "report":
        pattern = rf"{NAME}\s+({FIGURE})\s+{BAND}"
        found["rows"] = {journal(a, n): (now, low, high) for a, n, now, low, high in re.findall(pattern, text)}
    if paper == "certificate":
        pattern = rf"{NAME}\s+({FIGURE}|not measured)\s+({FIGURE}(?:–{FIGURE})?)"
        found["rows"] = {journal(a, n): (before, after) for a, n, before, after in re.findall(pattern, text)}
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
    check = {"grinder": grinder, "report": report, "certificate": certificate, "label": label, "record": record}.get(paper)
    faults = []
    return faults, check(found, said, faults) if check else 0


def grinder(found, said, faults):
    plan, kept, count = stages(said), issued(said), 0
    sets = [name for name in ("main", "pin") if name in ground(said)]
    if len(found["large"]) != len(sets) or len(found["windows"]) != len(sets):
        faults.append(f"grind to {found['large']} in {found['windows']} for {sets}")
        return count
    sizes = smallest(said)
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
        for spot, (now, off) in found["rows"].items():
            if not spot.startswith(name):
                continue
            if kept:
                rows = {one["journal"]: one for one in kept[name]["journals"]}
                count += near(now, rows[spot]["smallest"], f"{spot} smallest, as issued", faults)
                if off != "nothing":
                    count += near(off, rows[spot]["take_off"], f"{spot} take off, as issued", faults)
            else:
                count += near(now, sizes[spot], f"{spot} smallest", faults)
            if off != "nothing":
                # What comes off is what is there less what shall be left, to the last digit of both.
                places = len(now.split(".")[1])
                if abs(float(now) - float(large) - float(off)) > 1.01 * 10.0**-places:
                    faults.append(f"{spot}: {now} less {large} is not {off}")
                count += 1
    specification = said["sheet"]["specification"]
    wanted = sum(specification[name]["count"] for name in sets)
    if len(found["rows"]) > wanted or (not kept and len(found["rows"]) != wanted):
        faults.append(f"{len(found['rows'])} journals on paper, not {wanted}")
    return count


def report(found, said, faults):
    sizes, count = smallest(said), 0
    if set(found["rows"]) != {name for name, size in sizes.items() if size is not None}:
        faults.append(f"journals {sorted(found['rows'])}, not {sorted(sizes)}")
    for spot, (now, low, high) in found["rows"].items():
        count += near(now, sizes.get(spot, -1), f"{spot} smallest", faults)
        if float(low) >= float(high):
            faults.append(f"{spot}: allowed {low} to {high}")
    return count


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
    count, sizes = 0, smallest(said)
    finished = {}
    for one in said["job"]["final_readings"]:
        row = one["row"]["row"]
        zero = Decimal(str(one["zero"] or "0"))
        finished.setdefault(row["journal"], []).append(Decimal(str(row["size"])) - zero)
    for spot, (before, after) in found["rows"].items():
        if before != "not measured":
            count += near(before, sizes[spot], f"{spot} before", faults)
        ends = after.split("–")
        for shown, value in zip((ends[0], ends[-1]), (min(finished[spot]), max(finished[spot]))):
            count += near(shown, value, f"{spot} after", faults)
    if set(finished) - set(found["rows"]):
        faults.append(f"{sorted(set(finished) - set(found['rows']))} are not on the certificate")
    return count


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
