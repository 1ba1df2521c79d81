"""Reads finished papers back, by another maker's engine (PDFium), which is quick."""

from __future__ import annotations

import pypdfium2


def read_pages(body: bytes) -> list[str]:
    """Give the text of each page of a PDF; every run of spaces and line ends is one space."""
    document = pypdfium2.PdfDocument(body)
    try:
        texts = []
        for page in document:
            reader = page.get_textpage()
            texts.append(" ".join(reader.get_text_bounded().split()))
            reader.close()
            page.close()
        return texts
    finally:
        document.close()


def count_pages(body: bytes) -> int:
    """Give the number of pages of a PDF."""
    document = pypdfium2.PdfDocument(body)
    try:
        return len(document)
    finally:
        document.close()
