"""A control for a file of the reader's own."""

from __future__ import annotations

import traitlets

from pondheat.show.controls import Control


class File(Control):
    """A file chosen in the browser and sent in pieces.

    Observe `turn`, which counts the files received; `value` is the name and `content` the bytes of the last one.
    """

    kind = traitlets.Unicode("file").tag(sync=True)
    value = traitlets.Unicode("").tag(sync=True)
    expects = traitlets.Int(-1).tag(sync=True)  # offset of the next piece in the file; −1: none expected
    turn = traitlets.Int(0)
    LARGEST = 50 * 1024 * 1024  # bytes

    def __init__(self, label: str):
        super().__init__(label=label)
        self.content = b""
        self._coming, self._name, self._size = bytearray(), "", 0

    def shown(self) -> str:
        """The file's name."""
        return self.value or "no file chosen"

    def _take(self, message: dict) -> str:
        if "name" in message:
            return self._announced(str(message["name"])[:200], message.get("size"))
        if message.get("at") != self.expects or self.expects < 0 or not message.get("bytes"):
            return self.says or "Choose a file first."
        self._coming += message["bytes"]
        if len(self._coming) < self._size:
            self.expects = len(self._coming)
            return f"{self._name}: {_megabytes(self.expects)} of {_megabytes(self._size)} are here."
        self.expects = -1
        self.content, self._coming = bytes(self._coming[: self._size]), bytearray()
        self.value = self._name
        self.turn += 1
        return f"{self._name}, {_megabytes(self._size)}, is here."

    def _announced(self, name: str, size) -> str:
        self.expects, self._coming = -1, bytearray()
        if not isinstance(size, int) or isinstance(size, bool) or size < 0:
            return "The size of the file is missing. Choose it once more."
        if size == 0:
            return f"{name} is empty. Choose another file."
        if size > self.LARGEST:
            return (
                f"{name} has {_megabytes(size)}. Through the page at most {_megabytes(self.LARGEST)} can be taken; "
                "give its path instead, which has no such limit."
            )
        self._name, self._size = name, size
        self.expects = 0
        return f"{name}: 0 of {_megabytes(size)} are here."


def _megabytes(size: int) -> str:
    """A size [bytes] in MB, such as “45.0 MB”; below 0.1 MB in kB."""
    return f"{size / 1024**2:.1f} MB" if size >= 0.1 * 1024**2 else f"{max(size / 1024, 0.1):.1f} kB"
