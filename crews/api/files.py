"""Answers that are files: drawings and sheets. Who asks for their media type still gets problems as JSON."""

from django.http import HttpResponse

from crews.api.render import JsonRenderer

WORKBOOK = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
SVG, PDF, GLB, DXF = "image/svg+xml", "application/pdf", "model/gltf-binary", "image/vnd.dxf"
CSV = "text/csv"


def or_problem(media: str, ending: str) -> type[JsonRenderer]:
    """A renderer by which a client may ask for files of this type; only problems are written by it."""
    return type(f"{ending.title()}OrProblem", (JsonRenderer,), {"media_type": media, "format": ending})


SvgOrProblem = or_problem(SVG, "svg")
PdfOrProblem = or_problem(PDF, "pdf")
GlbOrProblem = or_problem(GLB, "glb")
DxfOrProblem = or_problem(DXF, "dxf")
CsvOrProblem = or_problem(CSV, "csv")
WorkbookOrProblem = or_problem(WORKBOOK, "xlsx")


def drawn(svg: str) -> HttpResponse:
    """A drawing as the answer."""
    return HttpResponse(svg, content_type=SVG)


def modelled(glb: bytes, *, name: str) -> HttpResponse:
    """A 3D model as the answer, to be saved under a plain file name."""
    return _to_save(glb, GLB, f"{name}.glb")


def drawn_for_cad(dxf: bytes, *, name: str) -> HttpResponse:
    """A drawing for CAD programs as the answer, to be saved under a plain file name."""
    return _to_save(dxf, DXF, f"{name}.dxf")


def tabled(xlsx: bytes, *, name: str) -> HttpResponse:
    """A workbook as the answer, to be saved under a plain file name."""
    return _to_save(xlsx, WORKBOOK, f"{name}.xlsx")


def _to_save(content: bytes, media: str, file: str) -> HttpResponse:
    headers = {"Content-Disposition": f'attachment; filename="{file}"'}
    return HttpResponse(content, content_type=media, headers=headers)


def printed(pdf: bytes, *, name: str) -> HttpResponse:
    """A sheet as the answer, under a plain file name."""
    headers = {"Content-Disposition": f'inline; filename="{name}.pdf"'}
    return HttpResponse(pdf, content_type=PDF, headers=headers)
