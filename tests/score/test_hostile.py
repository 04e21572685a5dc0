"""Files made to do harm: refused in one line, quickly, and without looking anywhere."""

from __future__ import annotations

import io
import random
import struct
import time
import zipfile

import pytest

from passagework.score import ScoreError, read_score
from tests.score.promises import read_or_refuse
from tests.score.small import SMALL_SCORES, attributes, note, score

PLAIN = SMALL_SCORES["two hands"].encode()
SECONDS = 5.0


def archive(**members: bytes) -> bytes:
    return archived(
        {name.replace("__", "/").replace("_xml", ".xml"): d for name, d in members.items()}
    )


def archived(members: dict[str, bytes], *, deflated: bool = True) -> bytes:
    out = io.BytesIO()
    kind = zipfile.ZIP_DEFLATED if deflated else zipfile.ZIP_STORED
    with zipfile.ZipFile(out, "w", kind) as target:
        for name, data in members.items():
            target.writestr(name, data)
    return out.getvalue()


def container(path: str) -> bytes:
    return f'<container><rootfiles><rootfile full-path="{path}"/></rootfiles></container>'.encode()


LAUGHS = (
    '<?xml version="1.0"?><!DOCTYPE score-partwise [<!ENTITY a "ha">'
    + "".join(f'<!ENTITY {chr(98 + i)} "{f"&{chr(97 + i)};" * 10}">' for i in range(20))
    + "]><score-partwise><work><work-title>&u;</work-title></work></score-partwise>"
)
EXTERNAL = (
    '<?xml version="1.0"?><!DOCTYPE score-partwise [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
    "<score-partwise><work><work-title>&x;</work-title></work></score-partwise>"
)
PARAMETER = (
    '<?xml version="1.0"?><!DOCTYPE score-partwise [<!ENTITY % x SYSTEM "http://127.0.0.1:9/x"> %x;]>'
    "<score-partwise/>"
)

HOSTILE = {
    "billion laughs": LAUGHS.encode(),
    "billion laughs in UTF-16": LAUGHS.replace("1.0", "1.0", 1).encode("utf-16"),
    "external entity": EXTERNAL.encode(),
    "parameter entity": PARAMETER.encode(),
    "deep nesting": b"<a>" * 3_000_000 + b"</a>" * 3_000_000,
    "wide nonsense": b"<a>" + b"<b/>" * 4_000_000 + b"</a>",
    "many attributes": b"<a " + b" ".join(b'x%d=""' % i for i in range(400_000)) + b"/>",
    "ratio bomb": archived({"score.xml": b"<a>" + b" " * 50_000_000}),
    "archive of itself": archived(
        {"score.mxl": archived({"score.mxl": archived({"a.xml": PLAIN})})}
    ),
    "many members": archived({f"m{i}.xml": b"" for i in range(3000)}),
    "container to nowhere": archived({"META-INF/container.xml": container("none.xml")}),
    "entities in the container": archived({"META-INF/container.xml": LAUGHS.encode()}),
    "truncated archive": archived({"score.xml": PLAIN})[:-40],
    "truncated score": PLAIN[:-100],
    "nothing": b"",
    "blanks": b" \n" * 100,
    "zeros": b"\0" * 1000,
    "noise": random.Random(1).randbytes(20_000),
    "only a declaration": b"<?xml version='1.0'?>",
    "another document": b"<html><body>no score</body></html>",
    "no parts": b"<score-partwise/>",
    "no notes": score(attributes()).encode(),
    "an MEI that is none": b"<mei xmlns='http://www.music-encoding.org/ns/mei'/>",
    "kern of nothing": b"**kern\n*-\n",
    "kern too wide": b"\t".join([b"**kern"] * 500) + b"\n*-\n",
    "kern too long": b"**kern\n" + b"4c\n" * 200_000 + b"*-\n",
    "ABC of nothing": b"X:1\n",
}


@pytest.mark.parametrize("name", sorted(HOSTILE))
def test_refused_in_one_line_and_quickly(name: str) -> None:
    started = time.process_time()
    with pytest.raises(ScoreError) as caught:
        read_score(HOSTILE[name], "score.musicxml")
    assert time.process_time() - started < SECONDS
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) <= 500
    assert "hostname" not in str(caught.value)


TRICKS = {
    "climbing out": {"META-INF/container.xml": container("../../etc/passwd"), "a.xml": PLAIN},
    "absolute": {"META-INF/container.xml": container("/a.xml"), "a.xml": PLAIN},
    "dotted": {"META-INF/container.xml": container("./a.xml"), "a.xml": PLAIN},
    "backslash": {"META-INF/container.xml": container("in\\a.xml"), "in/a.xml": PLAIN},
    "member above": {"../a.xml": PLAIN},
    "no container": {"a.xml": PLAIN},
    "a picture first": {"a.png": b"\x89PNG", "META-INF/x.xml": b"<x/>", "a.musicxml": PLAIN},
    "empty container": {"META-INF/container.xml": b"<container/>", "a.xml": PLAIN},
}


@pytest.mark.parametrize("name", sorted(TRICKS))
def test_the_score_of_an_archive_is_found_inside_it(name: str) -> None:
    piece = read_score(archived(TRICKS[name]), "a.mxl").piece
    assert piece == read_score(PLAIN).piece


def test_the_content_decides_not_the_name() -> None:
    plain = read_score(PLAIN, "a.mxl").piece
    packed = read_score(archived({"a.xml": PLAIN}), "a.xml").piece
    assert plain == packed


@pytest.mark.parametrize("text", ["1e999", "-1e5", "NaN", "9" * 23, "9" * 30, "²", "٣", "1/3", "0"])
@pytest.mark.parametrize(
    "tag", ["divisions", "duration", "octave", "alter", "staff", "beats", "beat-type", "fifths"]
)
def test_a_number_that_is_none_is_survived(tag: str, text: str) -> None:
    body = score(attributes() + note("F#4", 8, kind="half") + note("C4", 8, kind="half"))
    start, end = body.index(f"<{tag}>") + len(tag) + 2, body.index(f"</{tag}>")
    read_or_refuse((body[:start] + text + body[end:]).encode())


def midi(division: int, *tracks: bytes, kind: int = 1) -> bytes:
    head = b"MThd" + struct.pack(">IHHH", 6, kind, len(tracks), division)
    return head + b"".join(b"MTrk" + struct.pack(">I", len(t)) + t for t in tracks)


ON, OFF, LONG = b"\x00\x90\x3c\x40", b"\x60\x80\x3c\x40", b"\xff\xff\xff\x7f"

HOSTILE_MIDI = {
    "no ticks": midi(0, ON + OFF),
    "no frames": midi(0xE200, ON + OFF),
    "no tracks": midi(96),
    "no notes": midi(96, b"\x00\xff\x2f\x00"),
    "a header only": b"MThd",
    "RIFF of nothing": b"RIFF\x10\0\0\0RMIDdata",
    "too many notes": midi(
        96, (b"\x01\x90\x3c\x40\x01\x3c\x00") * 1 + b"\x01\x3c\x40\x01\x3c\x00" * 70_000
    ),
    "very late": midi(
        1, b"".join(LONG + b"\x90\x3c\x40" + LONG + b"\x80\x3c\x40" for _ in range(40))
    ),
}


@pytest.mark.parametrize("name", sorted(HOSTILE_MIDI))
def test_midi_that_is_refused(name: str) -> None:
    started = time.process_time()
    with pytest.raises(ScoreError) as caught:
        read_score(HOSTILE_MIDI[name], "a.mid")
    assert time.process_time() - started < SECONDS
    assert "\n" not in str(caught.value)


READ_MIDI = {
    "a track that claims more than there is": midi(96, ON + OFF)[:-4] + ON + OFF + b"\x00\x90\x40",
    "no release": midi(96, ON),
    "frames for ticks": midi(0xE728, ON + OFF),
    "running status": midi(96, ON + b"\x30\x3e\x40\x30\x3c\x00\x00\x3e\x00"),
    "text before": midi(96, b"\x00\xff\x03\x04\xff\xfe\x00\x0a" + ON + OFF),
    "a huge text": midi(96, b"\x00\xff\x01\xff\xff\xff\x7f" + ON + OFF, ON + OFF),
    "a metre of nothing": midi(96, b"\x00\xff\x58\x04\x00\xff\x18\x08" + ON + OFF),
    "in RIFF": b"RIFF\0\0\0\0RMIDdata\0\0\0\0" + midi(96, ON + OFF),
}


@pytest.mark.parametrize("name", sorted(READ_MIDI))
def test_midi_that_is_read_all_the_same(name: str) -> None:
    reading = read_or_refuse(READ_MIDI[name], "a.mid")
    assert reading is not None
    assert {n.midi for n in reading.piece.notes} >= {60}


@pytest.mark.parametrize("seed", range(3))
def test_damaged_midi_is_read_or_refused(seed: int) -> None:
    random_ = random.Random(seed)
    for _ in range(12):
        whole = bytearray(
            midi(
                random_.choice((24, 96, 480)),
                b"\x00\xff\x58\x04\x03\x02\x18\x08" + ON + OFF,
                b"".join(
                    bytes(
                        [random_.randrange(128), 0x90, random_.randrange(128), 64, 30, 0x80, 60, 0]
                    )
                    for _ in range(12)
                ),
            )
        )
        for _ in range(random_.randint(1, 6)):
            whole[random_.randrange(14, len(whole))] = random_.randrange(256)
        read_or_refuse(bytes(whole), "a.mid")
