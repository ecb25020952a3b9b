"""Faults to plant: each must be found by the check that it is made for."""

import copy

import pikepdf

from paper_structure import elements


def structure_seeds(good, folder):
    """Copies of a paper with one thing wrong in each."""

    def lang(pdf):
        del pdf.Root["/Lang"]

    def shown(pdf):
        del pdf.Root.ViewerPreferences["/DisplayDocTitle"]

    def part(pdf):
        with pdf.open_metadata() as told:
            del told["{http://www.aiim.org/pdfua/ns/id/}part"]

    def title(pdf):
        with pdf.open_metadata(set_pikepdf_as_editor=False, update_docinfo=False) as told:
            del told["dc:title"]

    def first(pdf, kind):
        return next(one for one in elements(pdf.Root.StructTreeRoot) if str(one.S) == kind)

    def heading(pdf):
        first(pdf, "/H2").S = pikepdf.Name("/H4")

    def no_first(pdf):
        first(pdf, "/H1").S = pikepdf.Name("/P")

    def scope(pdf):
        del first(pdf, "/TH")["/A"]

    def cell(pdf):
        row = first(pdf, "/TR")
        row.K = pikepdf.Array(list(row.K)[:-1])

    def lost(pdf):
        first(pdf, "/P").K = pikepdf.Array([])

    def figure(pdf):
        first(pdf, "/P").S = pikepdf.Name("/Figure")

    def unmarked(pdf):
        contents = pdf.pages[0].Contents
        contents.write(contents.read_bytes() + b"\n0 0 m 100 100 l S\n")

    def letters(pdf):
        for font in pdf.pages[0].Resources.Font.values():
            del font["/ToUnicode"]

    def face(pdf):
        for font in pdf.pages[0].Resources.Font.values():
            described = font.DescendantFonts[0].FontDescriptor
            for key in ("/FontFile", "/FontFile2", "/FontFile3"):
                if key in described:
                    del described[key]

    def untagged(pdf):
        del pdf.Root["/StructTreeRoot"]

    for harm in (lang, shown, part, title, heading, no_first, scope, cell, lost, figure, unmarked, letters, face, untagged):
        wrong = folder / f"seed-{harm.__name__}.pdf"
        with pikepdf.open(good) as pdf:
            harm(pdf)
            pdf.save(wrong)
        yield f"structure: {harm.__name__}", wrong


def raster_seeds(good, folder):
    """The same paper, smaller (digits and blanks too small), and pushed to the edge."""
    for name, matrix in (("smaller", b"0.9 0 0 0.9 20 20"), ("at the edge", b"1 0 0 1 -25 0")):
        wrong = folder / f"seed-{name.replace(' ', '-')}.pdf"
        with pikepdf.open(good) as pdf:
            contents = pdf.pages[0].Contents
            contents.write(b"q " + matrix + b" cm\n" + contents.read_bytes() + b"\nQ")
            pdf.save(wrong)
        yield f"raster: {name}", wrong


def words_seeds(said):
    """What the paper is held against, with one figure other than it was."""
    target, window, largest, rough = (copy.deepcopy(said) for _ in range(4))
    for stage in target["answer"]["plan"][0]["stages"]:
        stage["target"] += 0.0001
    yield "figures: grind to", target
    for stage in window["answer"]["plan"][0]["stages"]:
        stage["high"] += 0.0001
    yield "figures: window", window
    for one in largest["answer"]["journals"]:
        one["largest"] = one["largest"] + 0.0001
    yield "figures: largest", largest
    for stage in rough["answer"]["plan"][0]["stages"]:
        if stage["stage"] == "rough":
            stage["low"] -= 0.0003
    yield "figures: rough window", rough
    if said["sheet"].get("run_out"):
        bent = copy.deepcopy(said)
        bent["sheet"]["run_out"][0]["total"] = 0.0037
        yield "figures: run-out", bent


def job_seeds():
    """For each paper of a job one figure changed in what it is held against."""

    def report(said):
        said["answer"]["journals"][0]["smallest"] += 0.001

    def record(said):
        reading = said["sheet"]["reading"][0]
        size = reading["size"]
        reading["size"] = size[0] + 0.0013 if isinstance(size, list) else size + 0.0013

    def certificate(said):
        for one in said["job"]["final_readings"]:
            one["row"]["row"]["size"] += 0.001

    def batch(said):
        said["job"]["treatments"].append({"batch": "N-0", "before": [], "after": [], "back": True})

    def straight(said):
        said["job"]["eye_checks"].append({"item": "straightness", "passed": True})

    def out_of_round(said):
        # As much on every spot of one direction: the sizes alone would not show a wrong figure of form for long.
        for one in said["job"]["final_readings"]:
            row = one["row"]["row"]
            row["size"] = float(row["size"]) + (0.0003 if str(row["plane"]) == "0" else 0.0)

    def before(said):
        for one in said["answer"]["journals"]:
            one["out_of_round"] = (one.get("out_of_round") or 0) + 0.001

    def label(said):
        for one in said["job"]["decisions"]:
            one["choice"] = "0.111"

    def grinder(said):
        for one in said["job"]["sheets"][-1]["plan"]["sets"]:
            one["journals"][0]["take_off"] = "0.0777"

    one_each = [(harm.__name__, harm) for harm in (report, record, certificate, label, grinder)]
    return one_each + [("certificate", harm) for harm in (before, out_of_round, straight, batch)]


def half_writer(folder):
    """A program that says it could not write the paper and leaves half of it."""
    program = folder / "half-writer"
    program.write_text('#!/bin/sh\nfor last; do :; done\nhead -c 2000 /dev/zero > "$last"\n'
                       'echo "tenunder: it could not be written" >&2\nexit 2\n')  # fmt: skip
    program.chmod(0o755)
    return program
