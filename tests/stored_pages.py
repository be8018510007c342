"""A page as it looks when it has just run, as plain HTML: what a browser shows until Python answers.

`tests/refresh_notebooks.py` writes it beside the extension that shows it. Nothing in it can be used: sliders and boxes
are drawn as they stand at the start.
"""

from __future__ import annotations

import html
import json
import re
from pathlib import Path

from nbformat import NotebookNode

from pondheat.core import units

WIDGETS = "application/vnd.jupyter.widget-state+json"
VIEW = "application/vnd.jupyter.widget-view+json"
BOXES = {"VBoxModel": "widget-vbox", "HBoxModel": "widget-hbox", "BoxModel": ""}


def _tag(name: str, classes: str, inside: str = "", more: str = "") -> str:
    return f'<{name} class="{classes}"{more}>{inside}</{name}>'


def _box(kind: str, more: str = "") -> str:
    return f'<input type="{kind}"{more}>'


def _slider(state: dict) -> str:
    share = 100 * (state["value"] - state["least"]) / (state["most"] - state["least"])
    limits = "".join(
        f' {name}="{state[key]:g}"'
        for name, key in (("min", "least"), ("max", "most"), ("step", "step"), ("value", "value"))
    )
    beside, scale = "", state["alt_unit"]
    if scale.get("unit"):
        number = units.digits(state["value"] * scale["times"] + scale["plus"], scale["digits"])
        beside = _tag("span", "ph-beside", html.escape(f"{number} {scale['unit']}"))
    field = _box("text", f' value="{html.escape(units.digits(state["value"], state["digits"]))}"')
    typed = _tag("span", "ph-typed", field + f"<span>{html.escape(state['unit'])}</span>")
    line = _tag("div", "ph-line", _box("range", f'{limits} style="--ph-filled: {share:.4g}%"') + typed + beside)
    return f"<label>{html.escape(state['label'])}</label>{line}"


def _option(kind: str, text: str, chosen: bool) -> str:
    return _tag("div", "ph-option", _box(kind, " checked" * chosen) + f"<label>{html.escape(text)}</label>")


def _choice(state: dict) -> str:
    options = (_option("radio", text, key == state["value"]) for key, text in state["options"])
    return f"<legend>{html.escape(state['label'])}</legend>{''.join(options)}"


def _answer(state: dict) -> str:
    buttons = "".join(
        f"<button>{name}</button>"
        for name, shown in (("Check", True), ("Hint", state["more_hints"]), ("Fresh numbers", state["may_renew"]))
        if shown
    )
    hints = "".join(f"<li>{html.escape(hint)}</li>" for hint in state["hints"])
    return (
        _tag("p", "ph-question", html.escape(state["label"]))
        + _tag("div", "ph-line", f"<label>Your answer</label>{_box('text')}{buttons}")
        + _tag("p", "ph-told", html.escape(state["says"]))
        + _tag("ol", "ph-hints", hints)
    )


def _text(state: dict) -> str:
    field = _box("text", f' value="{html.escape(state["value"])}"')
    button = f"<button>{html.escape(state['action'])}</button>" if state["action"] else ""
    return f"<label>{html.escape(state['label'])}</label>{_tag('div', 'ph-line', field + button)}"


def _file(state: dict) -> str:
    return f"<label>{html.escape(state['label'])}</label>{_tag('div', 'ph-line', _box('file'))}"


def _switch(state: dict) -> str:
    return _option("checkbox", state["label"], state["value"])


CONTROLS = {
    "slider": ("", _slider),
    "switch": ("", _switch),
    "choice": ("", _choice),
    "answer": (" ph-answer", _answer),
    "text": (" ph-text", _text),
    "file": (" ph-file", _file),
}


def drawn(models: dict, name: str) -> str:
    """A widget of a notebook's saved state as HTML; nothing for one that is hidden or of a kind not known here."""
    model, state = models[name]["model_name"], models[name]["state"]
    layout = models.get(state.get("layout", "").removeprefix("IPY_MODEL_"), {}).get("state", {})
    if layout.get("display") == "none":
        return ""
    classes = " ".join(["jupyter-widgets", *state.get("_dom_classes", [])])
    if model in BOXES:
        inside = "".join(drawn(models, child.removeprefix("IPY_MODEL_")) for child in state["children"])
        return _tag("div", f"{classes} widget-container widget-box {BOXES[model]}".strip(), inside)
    if model == "HTMLModel":
        # A likely range comes later than the picture, sooner or later.
        value = re.sub(r'(<div class="ph-likely">).*(</div>)', r"\1Likely range: working it out…\2", state["value"])
        return _tag("div", f"{classes} widget-html", _tag("div", "widget-html-content", value))
    if "kind" in state:
        more, draw = CONTROLS[state["kind"]]
        name = "fieldset" if state["kind"] == "choice" else "div"
        return _tag("div", classes, _tag(name, f"ph-control{more}", draw(state)))
    if state.get("_anywidget_id", "").endswith(".LivePicture"):
        return _tag("div", f"{classes} ph-live", _tag("div", "", _without_readings(state["value"])))
    if "svg" in state:  # a picture with parts to move
        return _tag("div", classes, state["svg"] + state["says"])
    if "unfolded" in state:
        return _tag("div", classes, _tag("details", "ph-fold", f"<summary>{html.escape(state['label'])}</summary>"))
    return ""


def _without_readings(picture: str) -> str:
    """A picture without what only its script reads."""
    return re.sub(r' data-readings="[^"]*"', "", picture)


def stored(notebook: NotebookNode) -> dict:
    """A notebook that has just run: the style of its controls, and its code cells' outputs as HTML by id."""
    models = notebook.metadata.get("widgets", {}).get(WIDGETS, {}).get("state", {})
    style = "\n".join(dict.fromkeys(model["state"]["_css"] for model in models.values() if model["state"].get("_css")))
    cells = {}
    for cell in notebook.cells:
        if cell.cell_type != "code":
            continue
        parts = []
        for output in cell.outputs:
            data = output.get("data", {})
            if VIEW in data:
                parts.append(drawn(models, data[VIEW]["model_id"]))
            elif "text/html" in data:
                parts.append(data["text/html"])
            else:
                parts.append(f"<pre>{html.escape(output.get('text') or data.get('text/plain', ''))}</pre>")
        cells[cell.id] = "".join(parts)
    return {"style": style, "cells": cells}


def title(notebook: NotebookNode) -> str:
    """A page's title: the heading in its first cell."""
    return notebook.cells[0].source.strip().splitlines()[0].removeprefix("# ")


def written(content: dict) -> bytes:
    """The bytes of a stored page."""
    return (json.dumps(content, ensure_ascii=False, indent=1, sort_keys=True) + "\n").encode("utf-8")


def place(folder: Path, path: str) -> Path:
    """Where a notebook's stored page is kept: its path from the top of the workbook, with dashes for slashes."""
    return folder / f"{path.removesuffix('.ipynb').replace('/', '-')}.json"
