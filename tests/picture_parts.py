"""Reads a picture with the XML parser of Python's own library: where the parts of a class stand, and its texts."""

import json
import sys
import xml.etree.ElementTree as ElementTree

SVG = "{http://www.w3.org/2000/svg}"

root = ElementTree.fromstring(json.load(sys.stdin))
assert root.tag == SVG + "svg", root.tag
parts = {"week": [], "missing": [], "texts": [text.text for text in root.iter(SVG + "text")]}
for part in root.iter():
    kind = part.get("class")
    if kind == "week":
        parts[kind].append([part.get("x"), part.get("y")])
    elif kind == "missing":
        parts[kind].append(part.get("d")[1:].split("h")[0].split())
json.dump(parts, sys.stdout)
