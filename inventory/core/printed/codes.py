"""QR codes (ISO/IEC 18004) for labels, as SVG."""

import io


def code_of(address: str) -> str:
    """The QR code that leads to an address; a quarter of it may be dirty or torn and it still reads."""
    import segno  # only labels need it

    out = io.BytesIO()
    segno.make_qr(address, error="q").save(out, kind="svg", xmldecl=True, svgns=True, border=2)
    return out.getvalue().decode()
