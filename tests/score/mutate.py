"""Damages a score in the ways that files are damaged: bytes, elements, numbers."""

from __future__ import annotations

import copy
import random
import re

from lxml import etree

NONSENSE = ("-1", "0", "", " ", "1e999", "NaN", "99999999999999999999", "1/0", "٣", "½", "²", "0x10",
            "1.5", "-0", "+4", "1_000", "abc", "3.", ".5", "1000000", "127", "None")  # fmt: skip

_NUMBER = re.compile(rb">(-?[0-9]+)<")


def mutate(data: bytes, random_: random.Random) -> bytes:
    """`data` with one to four changes."""
    for _ in range(random_.randint(1, 4)):
        kind = random_.random()
        if kind < 0.25:
            data = _bytes(data, random_)
        elif kind < 0.55:
            data = _number(data, random_)
        else:
            data = _element(data, random_)
    return data


def _bytes(data: bytes, random_: random.Random) -> bytes:
    if not data:
        return data
    at = random_.randrange(len(data))
    kind = random_.randrange(5)
    if kind == 0:
        return data[:at] + bytes([random_.randrange(256)]) + data[at + 1 :]
    if kind == 1:
        return data[:at] + data[at + random_.randint(1, 60) :]
    if kind == 2:
        return data[: at + 1]
    if kind == 3:
        start = random_.randrange(len(data))
        return data[:at] + data[start : start + random_.randint(1, 200)] + data[at:]
    return data[:at] + bytes(random_.randrange(256) for _ in range(4)) + data[at:]


def _number(data: bytes, random_: random.Random) -> bytes:
    places = list(_NUMBER.finditer(data))
    if not places:
        return data
    place = random_.choice(places)
    text = random_.choice(NONSENSE)
    if random_.random() < 0.4:
        text = str(int(place.group(1)) + random_.choice((-3, -1, 1, 2, 7)))
    return data[: place.start(1)] + text.encode() + data[place.end(1) :]


def _element(data: bytes, random_: random.Random) -> bytes:
    try:
        root = etree.fromstring(data)
    except (etree.XMLSyntaxError, ValueError):
        return _bytes(data, random_)
    elements = [e for e in root.iter(etree.Element) if e.getparent() is not None]
    if not elements:
        return data
    one, other = random_.choice(elements), random_.choice(elements)
    parent = one.getparent()
    assert parent is not None
    kind = random_.randrange(6)
    if kind == 0:
        parent.remove(one)
    elif kind == 1:
        parent.insert(parent.index(one), copy.deepcopy(one))
    elif kind == 2 and one is not other and one not in list(other.iterancestors()):
        other.append(one)
    elif kind == 3:
        one.text, other.text = other.text, one.text
    elif kind == 4:
        one.tag = other.tag
    else:
        names = list(one.attrib)
        if names:
            one.set(
                random_.choice(names), random_.choice((*NONSENSE, "yes", "no", "start", "stop"))
            )
        else:
            parent.insert(random_.randrange(len(parent)), one)
    return bytes(etree.tostring(root))
