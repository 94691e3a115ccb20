"""Photographs and papers of the demo, drawn by us: there is no camera in an invented valley."""

import io

from PIL import Image, ImageDraw, ImageFont
from pypdf import PdfWriter

from collection.care.attachments import Attached, cleaned

PAPER_PT = (298, 420)  # A6


def meter_reading(volts: float) -> Attached:
    """A multimeter as a phone would have seen it."""
    picture = Image.new("RGB", (960, 720), "#6b6f6a")
    draw = ImageDraw.Draw(picture)
    draw.rounded_rectangle((200, 60, 760, 680), 40, fill="#c9a227", outline="#3a3a36", width=12)
    draw.rectangle((260, 130, 700, 330), fill="#c5d2b8", outline="#3a3a36", width=6)
    draw.text((300, 165), f"{volts:.2f}", fill="#1e2629", font=ImageFont.load_default(130))
    draw.ellipse((370, 400, 590, 620), fill="#2b2b28")
    draw.line((480, 510, 540, 430), fill="#f3efe2", width=14)
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=90)
    return cleaned("Meter at the battery.jpg", out.getvalue())


def blank_invoice() -> Attached:
    """A scanned sheet of paper; what stood on it is nobody's business."""
    writer, out = PdfWriter(), io.BytesIO()
    writer.add_blank_page(*PAPER_PT)
    writer.write(out)
    return cleaned("Invoice for the battery.pdf", out.getvalue())
