"""Answers that are files: drawings and sheets. Who asks for their media type still gets problems as JSON."""

from django.http import HttpResponse

from crews.api.render import JsonRenderer

WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
SVG, PDF, GLB, DXF = "image/svg+xml", "application/pdf", "model/gltf-binary", "image/vnd.dxf"


class SvgOrProblem(JsonRenderer):
    """Lets a client ask for SVG; only problems are written by this."""

    media_type = SVG
    format = "svg"


class PdfOrProblem(JsonRenderer):
    """Lets a client ask for PDF; only problems are written by this."""

    media_type = PDF
    format = "pdf"


class GlbOrProblem(JsonRenderer):
    """Lets a client ask for a 3D model; only problems are written by this."""

    media_type = GLB
    format = "glb"


class DxfOrProblem(JsonRenderer):
    """Lets a client ask for DXF; only problems are written by this."""

    media_type = DXF
    format = "dxf"


class WorkbookOrProblem(JsonRenderer):
    """Lets a client ask for a workbook; only problems are written by this."""

    media_type = WORKBOOK
    format = "xlsx"


def drawn(svg: str) -> HttpResponse:
    """A drawing as the answer."""
    return HttpResponse(svg, content_type=SVG)


def modelled(glb: bytes, *, name: str) -> HttpResponse:
    """A 3D model as the answer, to be saved under a plain file name."""
    return HttpResponse(
        glb, content_type=GLB, headers={"Content-Disposition": f'attachment; filename="{name}.glb"'}
    )


def drawn_for_cad(dxf: bytes, *, name: str) -> HttpResponse:
    """A drawing for CAD programs as the answer, to be saved under a plain file name."""
    headers = {"Content-Disposition": f'attachment; filename="{name}.dxf"'}
    return HttpResponse(dxf, content_type=DXF, headers=headers)


def tabled(xlsx: bytes, *, name: str) -> HttpResponse:
    """A workbook as the answer, to be saved under a plain file name."""
    headers = {"Content-Disposition": f'attachment; filename="{name}.xlsx"'}
    return HttpResponse(xlsx, content_type=WORKBOOK, headers=headers)


def printed(pdf: bytes, *, name: str) -> HttpResponse:
    """A sheet as the answer, under a plain file name."""
    headers = {"Content-Disposition": f'inline; filename="{name}.pdf"'}
    return HttpResponse(pdf, content_type=PDF, headers=headers)
