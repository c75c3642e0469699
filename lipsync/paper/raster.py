"""Turns a page into a picture; the only file that knows the library that reads PDFs.

In: the bytes of a PDF file. Out: those of a PNG file (ISO/IEC 15948). The same page gives the same bytes.
"""

from __future__ import annotations

import io

import pypdfium2

POINTS_TO_THE_INCH = 72


def png(pdf: bytes, page: int = 0, dots_to_the_inch: int = 200) -> bytes:
    """Return a page, counted from 0, as a PNG picture in greys."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        picture = document[page].render(scale=dots_to_the_inch / POINTS_TO_THE_INCH, grayscale=True).to_pil()
        out = io.BytesIO()
        picture.save(out, "PNG", dpi=(dots_to_the_inch, dots_to_the_inch))
    finally:
        document.close()
    return out.getvalue()
