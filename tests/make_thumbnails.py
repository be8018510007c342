"""Make the small pictures on the cards of page 00: of each page its panel's first picture, without its words.

    python tests/make_thumbnails.py               every page
    python tests/make_thumbnails.py 02 13         those whose name begins so

Run it after a change of the pictures or of what a panel shows first.
"""

from __future__ import annotations

import importlib
import re
import sys
from xml.etree import ElementTree as tree

from pondheat.core.places import CLONE
from pondheat.show.pages import THUMBNAILS

SVG = "{http://www.w3.org/2000/svg}"
DROPPED = {f"{SVG}{name}" for name in ("text", "title", "desc", "style")}  # words, and rules that would be the page's
KEPT_ON_TOP = {"viewBox", "fill", "font-size"}  # attributes of the picture itself


def pages() -> list[str]:
    """The names of the workbook's pages, without their ending."""
    return sorted(path.stem for path in (CLONE / "workbook").glob("[0-9][0-9]_*.ipynb"))


def first_picture(page: str) -> str:
    """The SVG that a page's panel shows first."""
    module = importlib.import_module(f"pondheat.show.panels.{page[3:]}")
    panel = module.first() if hasattr(module, "first") else module.panel()
    shown = panel.picture.value or next(one.svg for one in panel.children if hasattr(one, "svg"))
    found = re.search(r"<svg.*</svg>", shown, re.DOTALL)
    assert found is not None, page
    return found[0]


def thumbnail(page: str) -> str:
    """A page's picture without words and readings, its numbers shortened and its ids its own."""
    tree.register_namespace("", SVG[1:-1])
    picture = tree.fromstring(first_picture(page).replace("&nbsp;", " "))
    for parent in list(picture.iter()):
        for child in list(parent):
            if child.tag in DROPPED or child.get("data-k", "").startswith("label "):
                parent.remove(child)
        for name in [
            name for name in parent.attrib if name.startswith(("data-", "aria-")) or name in ("role", "class")
        ]:
            del parent.attrib[name]
    box = picture.get("viewBox")
    picture.attrib = {name: value for name, value in picture.attrib.items() if name in KEPT_ON_TOP}
    picture.attrib |= {"aria-hidden": "true", "class": "ph-thumbnail", "preserveAspectRatio": "xMidYMid slice"}
    assert box is not None
    text = re.sub(r"(?<=[\d])\.(\d)\d+", r".\1", tree.tostring(picture, "unicode"))
    return _own_ids(re.sub(r">\s+<", "><", text), f"small-{page[:2]}") + "\n"


def _own_ids(svg: str, prefix: str) -> str:
    """The SVG with short ids of its own, so that many can stand on one page."""
    names = dict.fromkeys(re.findall(r'\bid="([^"]+)"', svg))
    for number, name in enumerate(names):
        if f"#{name}" in svg:
            svg = re.sub(rf'(\bid="|#){re.escape(name)}(?=["\)])', rf"\g<1>{prefix}-{number}", svg)
        else:
            svg = svg.replace(f' id="{name}"', "")
    return svg


def main(asked: list[str]) -> None:
    """Write the thumbnails of the pages whose names begin so, or of all."""
    THUMBNAILS.mkdir(exist_ok=True)
    for page in pages():
        if not asked or page.startswith(tuple(asked)):
            (THUMBNAILS / f"{page}.svg").write_text(thumbnail(page), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
