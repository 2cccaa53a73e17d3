"""The address of a crew's archive."""

from tempfile import TemporaryFile

from django.http import FileResponse
from django.utils.timezone import now
from drf_spectacular.types import OpenApiTypes
from rest_framework.views import APIView

from config.archive.writing import ArchiveUnderWay, write_archive
from crews.accounts.access import CrewRequest
from crews.accounts.models import Crew, Role
from crews.api.describe import describe
from crews.api.files import or_problem
from crews.api.render import JsonRenderer

ZIP = "application/zip"


_ZipOrProblem = or_problem(ZIP, "zip")


class CrewArchive(APIView):
    required_roles = {"GET": Role.LEAD}
    renderer_classes = [JsonRenderer, _ZipOrProblem]

    @describe(
        "export_crew",
        "All of the crew's data as one file",
        answers={200: OpenApiTypes.BINARY},
        media=ZIP,
        streamed=True,
        refusals=[ArchiveUnderWay],
        text="A ZIP of `manifest.json` (format, state of the database, rows, bytes and SHA-256 of each file) "
        "and one file of JSON lines for each table, the history with it, all as they stood at one moment. An "
        "operator reads it into another server. Keys and secrets are not in it, nor planning jobs that have "
        "not ended.",
    )
    def get(self, request: CrewRequest) -> FileResponse:
        return _archive_of(request.crew)


def _archive_of(crew: Crew) -> FileResponse:
    """Written whole before the first byte goes out: the moment ends with our writing, not with the slowest
    client's reading, and who asks gets all of it or a problem.
    """
    at = now()
    file = TemporaryFile()  # noqa: SIM115 - the answer closes it
    try:
        write_archive(crew, file, at=at)
        file.seek(0)
    except BaseException:
        file.close()
        raise
    name = f"crew-{at:%Y-%m-%d}.zip"
    return FileResponse(file, as_attachment=True, filename=name, content_type=ZIP)
