"""The process that engraves: reads jobs from its input and answers on its output.

A message is a length (four bytes, big end first) and that many bytes of JSON. The engraver may
print, hang or crash here without harm to the program that started it.
"""

from __future__ import annotations

import json
import os
import struct
from typing import IO, Any

HEADER = struct.Struct(">I")


def write_message(stream: IO[bytes], message: Any) -> None:
    """Write one message."""
    data = json.dumps(message, separators=(",", ":"), ensure_ascii=False).encode("utf-8")
    stream.write(HEADER.pack(len(data)))
    stream.write(data)
    stream.flush()


def read_message(stream: IO[bytes]) -> Any:
    """Read one message; raises `EOFError` where the other side has gone."""
    head = stream.read(HEADER.size)
    if len(head) < HEADER.size:
        raise EOFError
    (size,) = HEADER.unpack(head)
    data = stream.read(size)
    if len(data) < size:
        raise EOFError
    return json.loads(data)


def serve() -> None:
    """Answer jobs until the input ends."""
    jobs = os.fdopen(os.dup(0), "rb")
    answers = os.fdopen(os.dup(1), "wb")
    nowhere = os.open(os.devnull, os.O_RDWR)
    for channel in (0, 1, 2):
        os.dup2(nowhere, channel)
    from passagework.engraving import toolkit

    while True:
        try:
            job = read_message(jobs)
        except EOFError:
            return
        try:
            engraving = toolkit.engrave(
                job["xml"], job["width"], justify=job["justify"], natural=job["natural"]
            )
            answer: Any = {
                "systems": [s.to_json() for s in engraving.systems],
                "outlines": engraving.outlines,
            }
        except Exception as error:  # whatever it was, the answer must arrive
            answer = {"error": f"{type(error).__name__}: {error}"[:300]}
        write_message(answers, answer)
