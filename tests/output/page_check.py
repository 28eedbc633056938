"""What is wrong with pages: texts over each other, beside the page, or too small.

The boxes are those of the written PDF as PDFium reads it, the renderer of
many browsers: the outlines of the letters, whatever the layout believed.
"""

import ctypes

import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw

from castplan.paper.pdf import pdf_bytes

MM_PER_PT = 25.4 / 72
# Boxes may touch by this much [mm]: half a letter of 11 pt is 1 mm wide.
TOUCH_MM = 0.1
BLANK_EDGE_MM = 10.0  # home printers leave up to 10 mm blank: common practice, no source
LEAST_PT = 9.0


def _text_of(item, page_text):
    size = raw.FPDFTextObj_GetText(item.raw, page_text.raw, None, 0)
    letters = (ctypes.c_ushort * (size // 2))()
    raw.FPDFTextObj_GetText(item.raw, page_text.raw, letters, size)
    return bytes(letters).decode("utf-16-le").rstrip("\0").strip()


def _size_of(item):
    size = ctypes.c_float()
    raw.FPDFTextObj_GetFontSize(item.raw, ctypes.byref(size))
    return size.value


def page_texts(page):
    """(text, size in points, (x0, y0, x1, y1) in mm) of every text of a PDFium page."""
    page_text = page.get_textpage()
    return [
        (_text_of(item, page_text), _size_of(item), np.array(item.get_bounds()) * MM_PER_PT)
        for item in page.get_objects(filter=[raw.FPDF_PAGEOBJ_TEXT])
    ]


def page_faults(page):
    """Sentences about everything that is wrong with a page's texts; empty when fine."""
    texts = [entry for entry in page_texts(page) if entry[0]]
    if not texts:
        return []
    names, sizes, boxes = zip(*texts, strict=True)
    boxes = np.array(boxes)
    low, high = boxes[:, :2], boxes[:, 2:]
    edge = BLANK_EDGE_MM - TOUCH_MM
    far = np.array(page.get_size()) * MM_PER_PT - edge
    found = [
        f"{names[k]!r} leaves the printable page"
        for k in np.flatnonzero((low < edge).any(axis=1) | (high > far).any(axis=1))
    ]
    shared = np.minimum(high[:, None], high[None]) - np.maximum(low[:, None], low[None])
    over = np.triu((shared > TOUCH_MM).all(axis=2), k=1)
    found += [f"{names[a]!r} runs into {names[b]!r}" for a, b in np.argwhere(over)]
    # The file holds sizes as single floats.
    return found + [
        f"{name!r} is {size:g} pt"
        for name, size in zip(names, sizes, strict=True)
        if size < LEAST_PT - 1e-3
    ]


def faults(sheets):
    """Sentences about everything that is wrong with the texts of some sheets."""
    document = pdfium.PdfDocument(pdf_bytes(sheets, title="", version=""))
    return [fault for page in document for fault in page_faults(page)]
