"""Answers that are files: drawings and sheets. Who asks for their media type still gets problems as JSON."""

from django.http import HttpResponse

from crews.api.render import JsonRenderer

SVG, PDF = "image/svg+xml", "application/pdf"


class SvgOrProblem(JsonRenderer):
    """Lets a client ask for SVG; only problems are written by this."""

    media_type = SVG
    format = "svg"


class PdfOrProblem(JsonRenderer):
    """Lets a client ask for PDF; only problems are written by this."""

    media_type = PDF
    format = "pdf"


def drawn(svg: str) -> HttpResponse:
    """A drawing as the answer."""
    return HttpResponse(svg, content_type=SVG)


def printed(pdf: bytes, *, name: str) -> HttpResponse:
    """A sheet as the answer, under a plain file name."""
    headers = {"Content-Disposition": f'inline; filename="{name}.pdf"'}
    return HttpResponse(pdf, content_type=PDF, headers=headers)
