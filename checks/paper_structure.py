"""The structure of a tagged PDF: what a reader's program needs to read it aloud in order."""

import re

import page as page_validation
import pikepdf

PAINTS = {"S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "Tj", "TJ", "'", '"', "sh", "Do", "BI", "INLINE IMAGE"}


def structure_faults(path):
    with pikepdf.open(path) as pdf:
        faults = document_faults(pdf) + content_faults(pdf) + font_faults(pdf)
    report = page_validation.validate_pdf(str(path), profile="ua1")
    if not report.is_compliant:
        faults += [f"PDF/UA-1 {one.rule_id}: {one.message}" for one in report.failures[:5]]
    return faults


def document_faults(pdf):
    root, faults = pdf.Root, []
    if str(root.get("/Lang", "")) != "en-GB":
        faults.append("no language")
    if not bool(root.get("/MarkInfo", {}).get("/Marked", False)):
        faults.append("not marked")
    if not bool(root.get("/ViewerPreferences", {}).get("/DisplayDocTitle", False)):
        faults.append("the title is not shown")
    with pdf.open_metadata() as told:
        if not told.get("dc:title"):
            faults.append("no title in the metadata")
        part = told.get("{http://www.aiim.org/pdfua/ns/id/}part")
        if str(part) != "1":
            faults.append(f"says it is PDF/UA part {part}")
    if not str(pdf.docinfo.get("/Title", "")):
        faults.append("no title")
    if "/StructTreeRoot" not in root:
        return faults + ["no structure"]
    headings = []
    for element in elements(root.StructTreeRoot):
        kind = str(element.get("/S"))
        if kind == "/Figure" and not str(element.get("/Alt", "")).strip():
            faults.append("a figure without words")
        if re.fullmatch(r"/H\d", kind):
            headings.append(int(kind[2:]))
        if kind == "/TH" and not scope(element):
            faults.append("a head of a table without scope")
        if kind == "/Table":
            rows = [row for row in elements(element) if str(row.get("/S")) == "/TR"]
            counts = {sum(1 for cell in kids(row) if str(cell.get("/S")) in ("/TH", "/TD")) for row in rows}
            if len(counts) != 1 or 0 in counts:
                faults.append(f"rows of {sorted(counts)} cells in one table")
    if not headings or headings[0] != 1:
        faults.append(f"headings begin with {headings[:1]}")
    for before, after in zip(headings, headings[1:]):
        if after > before + 1:
            faults.append(f"heading {after} follows heading {before}")
    return faults


def kids(element):
    held = element.get("/K")
    if held is None:
        return []
    held = list(held) if isinstance(held, pikepdf.Array) else [held]
    return [kid for kid in held if isinstance(kid, pikepdf.Dictionary) and "/S" in kid]


def elements(element):
    for kid in kids(element):
        yield kid
        yield from elements(kid)


def scope(element):
    held = element.get("/A")
    held = list(held) if isinstance(held, pikepdf.Array) else [held]
    return any(isinstance(one, pikepdf.Dictionary) and str(one.get("/Scope")) in ("/Row", "/Column") for one in held)


def content_faults(pdf):
    """Everything on a page is either in exactly one part of the structure or there for the eye only."""
    faults, spoken = [], {}
    for element in elements(pdf.Root.StructTreeRoot) if "/StructTreeRoot" in pdf.Root else []:
        held = element.get("/K")
        held = list(held) if isinstance(held, pikepdf.Array) else [held]
        for kid in held:
            if isinstance(kid, pikepdf.Dictionary) and "/MCID" in kid:
                key = (kid.get("/Pg", element.get("/Pg")).objgen, int(kid.MCID))
            elif isinstance(kid, int) or (kid is not None and not isinstance(kid, pikepdf.Object)):
                key = (element.Pg.objgen, int(kid))
            else:
                continue
            spoken[key] = spoken.get(key, 0) + 1
    drawn = set()
    for number, page in enumerate(pdf.pages, 1):
        open_marks = []
        for operands, operator in pikepdf.parse_content_stream(page):
            name = str(operator)
            if name in ("BMC", "BDC"):
                mark = None
                if str(operands[0]) == "/Artifact":
                    mark = "eye"
                elif name == "BDC" and isinstance(operands[1], pikepdf.Dictionary) and "/MCID" in operands[1]:
                    mark = int(operands[1].MCID)
                    if (page.objgen, mark) in drawn:
                        faults.append(f"page {number} marks {mark} twice")
                    drawn.add((page.objgen, mark))
                open_marks.append(mark)
            elif name == "EMC":
                open_marks.pop()
            elif name in PAINTS and not any(mark is not None for mark in open_marks):
                faults.append(f"page {number} draws something ({name}) that is marked as nothing")
    for key in drawn:
        if spoken.get(key, 0) != 1:
            faults.append(f"content {key} stands in {spoken.get(key, 0)} parts of the structure")
    faults += [f"the structure speaks of content {key} that is not there" for key in spoken if key not in drawn]
    return faults[:8]


def font_faults(pdf):
    faults = []
    for page in pdf.pages:
        for name, font in page.get("/Resources", {}).get("/Font", {}).items():
            if "/ToUnicode" not in font:
                faults.append(f"font {name} does not say which letters it has")
            below = font.get("/DescendantFonts", [font])[0]
            described = below.get("/FontDescriptor", {})
            if not any(key in described for key in ("/FontFile", "/FontFile2", "/FontFile3")):
                faults.append(f"font {name} is not in the file")
    return faults
