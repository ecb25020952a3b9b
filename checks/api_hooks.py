"""Hooks for schemathesis: most of what it draws is refused at the door, which tests the door only. These turn some of the
draws into what a shop would send (jobs that exist, sizes of a crank, a picture), so that the rooms behind are reached.
"""

import struct
import zlib

import schemathesis
from hypothesis import strategies as st

FIRST_JOB, JOBS = 1001, 14
PAPERS = ["form", "report", "quotation", "grinder", "batch", "record", "certificate", "label", "card"]
SPOTS = [f"main-{n}.{at}.{across}" for n in range(1, 6) for at in ("front", "rear") for across in "ab"]


def png(width, height, shade):
    """A picture of one colour."""

    def part(name, content):
        head = struct.pack(">I", len(content)) + name + content
        return head + struct.pack(">I", zlib.crc32(name + content))

    rows = (b"\0" + bytes([shade]) * 3 * width) * height
    size = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + part(b"IHDR", size) + part(b"IDAT", zlib.compress(rows)) + part(b"IEND", b"")


pictures = st.one_of(
    st.builds(png, st.integers(1, 40), st.integers(1, 40), st.integers(0, 255)),
    st.binary(max_size=2000),
)
schemathesis.openapi.media_type("image/jpeg", pictures)
schemathesis.openapi.media_type("image/png", pictures)


def one_in(body, count, salt=""):
    """Whether this draw is one of so many, the same each time it is drawn."""
    return zlib.crc32((salt + repr(body)).encode()) % count == 0


@schemathesis.hook
def map_path_parameters(context, path_parameters):
    if path_parameters and "job" in path_parameters and not one_in(path_parameters, 4):
        path_parameters["job"] = FIRST_JOB + zlib.crc32(repr(path_parameters).encode()) % JOBS
    if path_parameters and "paper" in path_parameters and not one_in(path_parameters, 4, "paper"):
        path_parameters["paper"] = PAPERS[zlib.crc32(repr(path_parameters).encode()) % len(PAPERS)]
    return path_parameters


@schemathesis.hook
def map_body(context, body):
    if not isinstance(body, dict):
        return body
    if "spot" in body and not one_in(body, 4, "spot"):
        body["spot"] = SPOTS[zlib.crc32(repr(body).encode()) % len(SPOTS)]
        body["typed"] = f"2.1{220 + zlib.crc32(repr(body).encode()) % 30}"
        body.pop("with", None)
        body.pop("corrects", None)
    if "what" in body and not one_in(body, 4, "what"):
        body["what"] = {"engine": ["tarn-four", "skelder-six", "wren"][zlib.crc32(repr(body).encode()) % 3]}
    if isinstance(body.get("seen"), int) and not one_in(body, 4, "seen"):
        body["seen"] = body["seen"] % 60
        if "regardless" in body:
            body["regardless"] = True
    return body
