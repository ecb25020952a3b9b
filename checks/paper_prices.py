"""The quotation, and what the report says of the bill, against the prices and chances of the sheet.

Nothing of the program's own sums is used: lines, totals and averages are worked out here again. What `fit --json` or the
JSON interface says of the same quotation is held against the paper as well.
"""

import re
from decimal import ROUND_HALF_UP, Decimal

MONEY = r"[^\d\s]?(\d+(?:\.\d\d)?)"
NAMES = {"main": "mains", "pin": "pins"}


def parsed_quotation(text):
    """The lines of the table, its sum, and the averages."""
    part = text.split("The work", 1)[-1]
    part = re.split(r"^All of it, if nothing comes on top\s+", part, maxsplit=1, flags=re.M)
    lines = []
    for line in part[0].splitlines():
        found = re.match(rf"(\S.*?)\s{{2,}}(?:(\d+)\s+{MONEY}\s+)?{MONEY}$", line.strip())
        if found:
            what, count, each, amount = found.groups()
            lines.append((what, int(count or 1), Decimal(each or amount), Decimal(amount)))
    rest = " ".join(part[1].split()) if len(part) > 1 else ""
    total = re.match(MONEY, rest)
    likely = re.search(rf"the likely bill is {MONEY}", rest)
    return {
        "lines": lines,
        "total": Decimal(total.group(1)) if total else None,
        "again": [Decimal(one) for one in re.findall(rf"that adds {MONEY} on average", rest)],
        "likely": Decimal(likely.group(1)) if likely else None,
        "ways": re.findall(rf"(standard|[\d.]+ (?:in|mm) under) (?:more than |fewer than )?\d+ in 100 {MONEY} \d+", rest),
    }


def likely_of_report(text):
    found = re.search(rf"likely bill is {MONEY}", " ".join(text.split()))
    return Decimal(found.group(1)) if found else None


def whole(value):
    return Decimal(value).quantize(Decimal(1), ROUND_HALF_UP)


def way(prices, steps, start):
    """What starting at a step comes to on average: the first pass and shells, and what going on from there adds."""
    shells = prices["shells"] if isinstance(prices["shells"], list) else [prices["shells"]]
    of = lambda step: shells[max(step - 1, 0)] if max(step - 1, 0) < len(shells) else shells[-1]
    average, cleaned = 0.0, 0.0
    for n in range(start, len(steps)):
        average += prices["pass"] * (1 - cleaned) + max(steps[n]["chance"] - cleaned, 0) * of(n)
        cleaned = max(cleaned, steps[n]["chance"])
    average += (1 - cleaned) * prices["scrap"]
    return prices["pass"], of(start), average - prices["pass"] - of(start)


def permitted(said, name):
    return [one for one in said["answer"]["sets"][name]["undersizes"] if one["permitted"]]


def expected(said, choices):
    """Lines and averages that the prices ask for, in the order of the paper; none where the job has no prices."""
    prices = said["sheet"].get("prices")
    if not prices or not said["answer"]:
        return None
    lines = [(one["what"], int(one.get("count", 1)), Decimal(str(one["price"]))) for one in prices.get("item", [])]
    again, treated = [], False
    chosen = {name: choices.get(name, default(said, name)) for name in said["answer"]["sets"]}
    if "scrap" in chosen.values():
        return {"lines": lines, "again": []}
    for name, choice in chosen.items():
        if re.fullmatch(r"[\d.]+|standard", choice):
            steps = permitted(said, name)
            size = Decimal(0) if choice == "standard" else Decimal(choice)
            start = next(n for n, one in enumerate(steps) if abs(Decimal(str(one["undersize"])) - size) < Decimal("1e-7"))
            passed, shells, more = way(prices[name], steps, start)
            lines.append((f"grind the {NAMES[name]}", 1, Decimal(str(passed))))
            lines.append((f"{name} shells", 1, Decimal(str(shells))))
            treated = True
            if whole(more) > 0:
                again.append(whole(more))
        elif choice == "polish" and "polish" in prices:
            lines.append((f"polish the {NAMES[name]}", 1, Decimal(str(prices["polish"]))))
    treatment = said["sheet"]["specification"].get("treatment")
    if treated and "treatment" in prices and treatment:
        kind = treatment if isinstance(treatment, str) else treatment["kind"]
        lines.append((kind, 1, Decimal(str(prices["treatment"]))))
    return {"lines": lines, "again": again}


def default(said, name):
    one = said["answer"]["sets"][name]
    words = {"leave alone": "leave", "polish only": "polish"}
    return str(one["choice"]) if one["action"] == "grind" else words.get(one["action"], one["action"])


def likely(wanted):
    return sum((count * each for _, count, each in wanted["lines"]), Decimal(0)) + sum(wanted["again"], Decimal(0))


def washers(said, lines):
    """Thrust washers are charged by how many the bearings need, which the answer on the fit says."""
    told = said.get("quotation")
    each = (said["sheet"].get("prices") or {}).get("washer")
    for one in (told or {}).get("lines", []):
        if one["what"] == "thrust washers" and each is not None:
            lines.append(("thrust washers", one["count"], Decimal(str(each))))


def quotation(found, said, faults, choices):
    told, count = found["quotation"], 0
    wanted = expected(said, choices)
    if wanted is None:
        faults.append("a quotation without prices")
        return count
    washers(said, wanted["lines"])
    if len(told["lines"]) != len(wanted["lines"]):
        faults.append(f"{len(told['lines'])} lines on paper, not {len(wanted['lines'])}: {told['lines']}")
    for (what, number, each, amount), (name, wanted_number, wanted_each) in zip(told["lines"], wanted["lines"]):
        count += 3
        if not what.lower().startswith(name.lower()[:20]):
            faults.append(f"{what} on paper where {name} is charged")
        if number != wanted_number or each != wanted_each:
            faults.append(f"{what}: {number} at {each} on paper, {wanted_number} at {wanted_each} by the prices")
        if number * each != amount:
            faults.append(f"{what}: {number} at {each} is not {amount}")
    count += 2
    if sum((line[3] for line in told["lines"]), Decimal(0)) != told["total"]:
        faults.append(f"the lines do not add up to {told['total']}")
    if told["again"] != wanted["again"]:
        faults.append(f"on average {told['again']} on paper, {wanted['again']} by prices and chances")
    if told["again"]:
        count += 1
        if told["total"] is None or told["likely"] != told["total"] + sum(told["again"]):
            faults.append(f"likely {told['likely']} is not {told['total']} and {told['again']}")
    elif told["likely"] is not None:
        faults.append("a likely bill where nothing comes on top")
    count += ways(told, said, faults)
    if said.get("quotation"):
        count += 2
        for key, shown in (("total", told["total"]), ("likely", told["likely"] or told["total"])):
            if abs(Decimal(str(said["quotation"][key])) - (shown or 0)) > Decimal("0.005"):
                faults.append(f"{key} {shown} on paper, {said['quotation'][key]} in the JSON")
    return count


def ways(told, said, faults):
    """The ways that were weighed are in the order of the steps, sets that are ground one after the other."""
    averages = []
    for name in ("main", "pin"):
        if name in said["answer"]["sets"]:
            prices, steps = said["sheet"]["prices"][name], permitted(said, name)
            averages += [(name, one["undersize"], sum(way(prices, steps, n))) for n, one in enumerate(steps) if one["chance"] > 0]
    for size, shown in told["ways"]:
        undersize = 0.0 if size == "standard" else float(size.split()[0])
        near = [one for one in averages if abs(one[1] - undersize) < 1e-7]
        if not any(abs(float(shown) - average) <= 0.5000001 for _, _, average in near):
            faults.append(f"{size} costs {shown} on paper, {near} by prices and chances")
    return len(told["ways"])


def bill_of_report(found, said, faults, choices):
    """The report names the bill of the quotation, or none where nothing is settled."""
    shown = likely_of_report(found["text"])
    if shown is None:
        return 0
    wanted = expected(said, choices)
    if wanted is None:
        faults.append("a bill without prices")
        return 1
    washers(said, wanted["lines"])
    if shown != likely(wanted):
        faults.append(f"the bill is {shown} on the report, {likely(wanted)} on the quotation")
    return 1
