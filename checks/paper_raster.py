"""What a printer makes of a paper: 300 dots an inch, black or white."""

import subprocess

import numpy as np
from scipy import ndimage

DPI = 300
MM = DPI / 25.4
# Digits that are read from the machine.
TALL_MM = 12.0
# The field for a greasy pencil.
WIDE_MM, HIGH_MM = 34.0, 9.5
EDGE_MM = 5.0
# A dot more or less is the raster's.
DOT_MM = 1 / MM


def rasters(path):
    """Each page as an array, true where there is ink."""
    out = subprocess.run(
        ["pdftoppm", "-mono", "-r", str(DPI), str(path)], capture_output=True, check=True
    ).stdout
    pages = []
    while out:
        kind, size, rest = out.split(b"\n", 2)
        width, height = map(int, size.split())
        assert kind == b"P4", kind
        row = (width + 7) // 8
        bits = np.unpackbits(np.frombuffer(rest[: row * height], np.uint8).reshape(height, row), axis=1)
        pages.append(bits[:, :width].astype(bool))
        out = rest[row * height :]
    return pages


def raster_faults(path, paper, large):
    return ink_faults(rasters(path), paper, large)


def ink_faults(pages, paper, large):
    """`large` are the figures to be read from the machine, as the paper's words have them."""
    faults = []
    edge = int(EDGE_MM * MM)
    for number, ink in enumerate(pages, 1):
        inside = ink.copy()
        inside[edge:-edge, edge:-edge] = False
        if inside.any():
            faults.append(f"page {number}: ink within {EDGE_MM} mm of the edge")
    if paper == "grinder":
        digits = sum(count_tall(ink) for ink in pages)
        wanted = sum(letter.isdigit() for figure in large for letter in figure)
        if digits != wanted:
            faults.append(f"{digits} digits of {TALL_MM} mm and taller, not {wanted} ({large})")
    if paper in ("grinder", "form") and (large or paper == "form"):
        fields = [field for ink in pages for field in blanks(ink)]
        if paper == "form":
            # A journal of the drawing is no field: fields stand below each other.
            fields = [field for ink in pages for field in in_columns(blanks(ink))]
        if not fields:
            faults.append("no blank to write into")
        small = [field for field in fields if field[1] < HIGH_MM - DOT_MM]
        wide = [field for field in fields if field[0] >= WIDE_MM - DOT_MM]
        if small:
            faults.append(f"{len(small)} blanks lower than {HIGH_MM} mm, the lowest {min(f[1] for f in small):.2f} mm")
        if paper == "grinder" and not wide:
            faults.append("no blank as wide as a finger needs")
        if paper == "grinder" and len(fields) != len(wide):
            faults.append(f"{len(fields) - len(wide)} blanks narrower than {WIDE_MM} mm")
    return faults


def count_tall(ink):
    """Letters as tall as the large figures: pieces of ink that are no line and no frame."""
    pieces, _ = ndimage.label(ink, np.ones((3, 3)))
    count = 0
    for rows, columns in ndimage.find_objects(pieces):
        high, wide = (rows.stop - rows.start) / MM, (columns.stop - columns.start) / MM
        count += TALL_MM <= high <= 20 and 1.5 <= wide <= 20
    return count


def blanks(ink):
    """Fields of a table that nothing stands in, from rule to rule: width and height in mm, and the dot they begin at."""
    rooms, _ = ndimage.label(~ink)
    found = []
    for number, (rows, columns) in enumerate(ndimage.find_objects(rooms), 1):
        high, wide = rows.stop - rows.start, columns.stop - columns.start
        if wide / MM < 12 or high / MM < 6 or wide > ink.shape[1] * 0.9 or high / MM > 30:
            continue
        if (rooms[rows, columns] == number).sum() < 0.995 * high * wide:
            continue
        # A rule belongs half to the field above it and half to that below.
        size = (wide + rule(ink, rows, columns, 1)) / MM, (high + rule(ink, rows, columns, 0)) / MM
        found.append((*size, columns.start))
    return found


def in_columns(fields):
    """Those that have another of their width above or below them."""
    places = [(field[2], round(field[0])) for field in fields]
    return [field for field, place in zip(fields, places) if places.count(place) > 1]


def rule(ink, rows, columns, across):
    """How many dots the rule at the end of a field is thick."""
    y, x = (rows.start + rows.stop) // 2, (columns.start + columns.stop) // 2
    line = ink[rows.stop :, x] if across == 0 else ink[y, columns.stop :]
    return int(np.argmin(line)) if len(line) else 0
