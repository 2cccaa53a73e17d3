"""The whole cabin as a 3D file that any viewer opens: GLB, the binary form of glTF 2.0 (ISO/IEC 12113)."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from cabins.core.drawings.in_space import AROUND, LogInSpace
from cabins.core.drawings.pieces import Filling

if TYPE_CHECKING:
    import trimesh

MM_PER_M = 1000.0  # glTF counts in metres, and its y points up
_COLOURS = {
    Filling.SET: (0.80, 0.62, 0.36, 1.0),
    Filling.RESERVED: (0.91, 0.84, 0.70, 1.0),
    Filling.PROPOSED: (0.91, 0.84, 0.70, 1.0),
}


def write_model(cabin: str, logs: Sequence[LogInSpace]) -> bytes:
    """The logs that are set or planned as GLB, each a closed body of its own, named by log and place.

    Empty places are left out. The parts carry what they are in `extras`: wall, round, piece, log, filling.
    """
    import trimesh

    scene = trimesh.Scene(metadata={"cabin": cabin})
    wood = {filling: _material(filling) for filling in _COLOURS}
    for log in logs:
        if log.filling is None:
            continue
        body = _body(log)
        body.visual = trimesh.visual.TextureVisuals(material=wood[log.filling])
        body.metadata.update(
            wall=log.wall, round=log.round, piece=log.piece, log=log.log_number, filling=str(log.filling)
        )
        scene.add_geometry(body, node_name=log.words, geom_name=log.words)
    written: Any = scene.export(file_type="glb")
    return bytes(written)


def _material(filling: Filling) -> Any:
    import trimesh

    return trimesh.visual.material.PBRMaterial(
        name=str(filling), baseColorFactor=_COLOURS[filling], metallicFactor=0.0, roughnessFactor=0.9
    )


def _body(log: LogInSpace) -> "trimesh.Trimesh":
    """A closed body: its sections joined, its ends shut."""
    import numpy as np
    import trimesh

    rings = np.array(log.sections, dtype=float) / MM_PER_M
    count = len(rings)
    points = rings.reshape(-1, 3)[:, [0, 2, 1]] * np.array([1.0, 1.0, -1.0])
    ends = [points[:AROUND].mean(axis=0), points[-AROUND:].mean(axis=0)]
    vertices = np.vstack([points, *ends])
    first, last = count * AROUND, count * AROUND + 1
    faces = []
    for ring in range(count - 1):
        for number in range(AROUND):
            a, b = ring * AROUND + number, ring * AROUND + (number + 1) % AROUND
            faces += [(a, b, b + AROUND), (a, b + AROUND, a + AROUND)]
    for number in range(AROUND):
        beside = (number + 1) % AROUND
        faces.append((first, beside, number))
        faces.append((last, last - 1 - AROUND + number, last - 1 - AROUND + beside))
    body = trimesh.Trimesh(vertices=vertices, faces=np.array(faces), process=False)
    if body.volume < 0:
        body.invert()
    return body
