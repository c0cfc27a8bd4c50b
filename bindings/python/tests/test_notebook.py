"""The worked notebook runs from top to bottom, and shows what it should."""

from pathlib import Path

import nbformat
from nbclient import NotebookClient

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"


def test_the_studio():
    notebook = nbformat.read(EXAMPLES / "studio.ipynb", as_version=4)
    NotebookClient(notebook, timeout=120, resources={"metadata": {"path": str(EXAMPLES)}}).execute()
    cells = [cell for cell in notebook.cells if cell.cell_type == "code"]
    shown = [output.data for cell in cells for output in cell.outputs if "data" in output]
    assert len(shown) >= len(cells) - 1
    assert sum("text/html" in data for data in shown) >= 6 and sum("image/png" in data for data in shown) == 2
    # As it is kept, it holds no output that could go stale.
    kept = nbformat.read(EXAMPLES / "studio.ipynb", as_version=4)
    assert all(not cell.get("outputs") for cell in kept.cells)
