"""Looks at PDFs with outside programs: pages, words, and ink measured in millimetres."""

import io
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pypdf
from PIL import Image

DPI = 600
MM_PER_DOT = 25.4 / DPI

needs_poppler = shutil.which("pdftoppm") is None


def sizes_mm(content: bytes) -> list[tuple[float, float]]:
    """Width and height of each page."""
    pages = pypdf.PdfReader(io.BytesIO(content)).pages
    return [
        (float(page.mediabox.width) / 72 * 25.4, float(page.mediabox.height) / 72 * 25.4)
        for page in pages
    ]


def words(content: bytes) -> list[str]:
    """The text of each page."""
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(content)).pages]


def ink(content: bytes, page: int, folder: Path) -> np.ndarray:
    """Where a page (from 1) is dark, as rows and columns of `MM_PER_DOT`."""
    source = folder / "sheet.pdf"
    source.write_bytes(content)
    target = folder / "page"
    command = ["pdftoppm", "-r", str(DPI), "-gray", "-singlefile", "-f", str(page), "-l", str(page)]
    subprocess.run([*command, str(source), str(target)], check=True, capture_output=True)
    with Image.open(target.with_suffix(".pgm")) as picture:
        return np.asarray(picture) < 128


def runs_mm(line: np.ndarray) -> list[tuple[float, float]]:
    """Where the dark runs of a row or column of dots begin and end, in mm."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], line, [False]]).astype(int)))
    return [(a * MM_PER_DOT, b * MM_PER_DOT) for a, b in edges.reshape(-1, 2).tolist()]
