"""What the package imports is what pyproject.toml asks for: nothing missing, nothing unused."""

from __future__ import annotations

import re
import sys
import tomllib

from tests.rules.source import CHECKOUT, modules
from tests.rules.test_imports import imports

# Distributions whose module has another name.
MODULE = {
    "opencv-python-headless": "cv2",
    "pillow": "PIL",
    "pillow-heif": "pillow_heif",
    "scikit-image": "skimage",
}


def test_every_dependency_is_used_and_every_import_declared() -> None:
    project = tomllib.loads((CHECKOUT / "pyproject.toml").read_text("utf-8"))["project"]
    names = [re.split(r"[<>=!~ ]", each)[0] for each in project["dependencies"]]
    declared = {MODULE.get(name, name) for name in names}
    imported = {
        name.split(".", maxsplit=1)[0] for module in modules() for name, _ in imports(module)
    }
    assert imported - sys.stdlib_module_names - {"scribe"} == declared
