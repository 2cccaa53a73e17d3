"""QR codes (ISO/IEC 18004) for labels, as SVG."""

import io

_MASK = 3


def code_of(address: str) -> str:
    """The QR code that leads to an address; a quarter of it may be dirty or torn and it still reads."""
    import segno  # only labels need it

    out = io.BytesIO()
    # An address ends in an id as good as random, so that every mask is as even as another; to try all eight
    # for the evenest takes three times as long, and a hundred labels would hold a web process for seconds.
    segno.make_qr(address, error="q", mask=_MASK).save(out, kind="svg", xmldecl=True, svgns=True, border=2)
    return out.getvalue().decode()
