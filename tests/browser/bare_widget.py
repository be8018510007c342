"""Open one of our widgets in a browser without JupyterLab: its own JavaScript, talking to the Python object itself."""

import base64
import json

MODEL = """
(state => {
  const listeners = {};
  const changed = {};
  window.model = {
    get: name => state[name],
    set: (name, value) => { state[name] = value; changed[name] = value; },
    save_changes: () => { const told = { ...changed }; for (const key in changed) delete changed[key];
                          window.tell_python(JSON.stringify(told)); },
    send: message => window.say_python(JSON.stringify(message)),
    on: (event, call) => { (listeners[event] ??= []).push(call); },
    off: () => {},
    put: (name, value) => { state[name] = value; for (const call of listeners[`change:${name}`] ?? []) call(); },
  };
})
"""


def _plain(value):
    return {"bytes": base64.b64encode(value).decode()} if isinstance(value, bytes) else value


def _written(value) -> str:
    plain = json.dumps(_plain(value))
    if isinstance(value, bytes):
        return f"new DataView(Uint8Array.from(atob({plain}.bytes), c => c.charCodeAt(0)).buffer)"
    return plain


def open_widget(page, widget, width: int = 900, background: str = "#fff") -> None:
    """Show a widget on an empty page; what it sets reaches the Python object, and what that changes comes back."""
    names = [
        name for name in widget.traits(sync=True) if not name.startswith("_") and name not in ("layout", "tabbable")
    ]
    esm, css = str(widget._esm), str(widget._css)

    def told(text: str) -> None:
        before = {name: getattr(widget, name) for name in names}
        for name, value in json.loads(text).items():
            setattr(widget, name, value)
        changes.extend(name for name in names if getattr(widget, name) != before[name])

    def said(text: str) -> None:
        before = {name: getattr(widget, name) for name in names}
        widget._handle_custom_msg(json.loads(text), [])
        changes.extend(name for name in names if getattr(widget, name) != before[name])

    changes: list[str] = []
    page.expose_function("tell_python", told)
    page.expose_function("say_python", said)
    page.set_content(
        f"<style>{css}</style><body style='margin:16px;background:{background};font:16px sans-serif'>"
        f"<div id='widget' style='width:{width}px'></div>"
    )
    state = ", ".join(f"{json.dumps(name)}: {_written(getattr(widget, name))}" for name in names)
    page.evaluate(f"{MODEL}({{{state}}})")
    page.evaluate(
        "async text => { const code = URL.createObjectURL(new Blob([text], { type: 'text/javascript' }));"
        "const module = await import(code); module.default.render({ model, el: document.getElementById('widget') }); }",
        esm,
    )

    def settle() -> None:
        """Hand what Python has changed back to the page."""
        page.wait_for_timeout(30)
        while changes:
            name = changes.pop(0)
            page.evaluate(f"model.put({json.dumps(name)}, {_written(getattr(widget, name))})")

    page.settle = settle
