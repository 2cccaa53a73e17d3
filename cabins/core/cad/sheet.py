"""A DXF drawing being made: its layers, blocks, texts and dimensions. One unit is one millimetre."""

import io
from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from cabins.core.outline import Point

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts import BlockLayout

TEXT_MM, DIMENSION_TEXT_MM = 60.0, 50.0
# In names of blocks DXF forbids some signs, and programs trip over more; true names are in the attributes.
_SAFE = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_")


class Layer(StrEnum):
    """What is told apart by layer."""

    LOGS = "logs"
    EMPTY = "empty"  # places of the wall without a log yet
    OPENINGS = "openings"
    NOTCHES = "notches"
    CUTS = "cuts"  # what an opening takes of sill and header, and what is filled in there
    ROOF = "roof"  # roof line, purlins and ridge over a gable of logs
    TEXT = "text"
    DIMENSIONS = "dimensions"


# Numbers of the colours that every CAD program has; 7 is black on white.
_COLOURS = {
    Layer.LOGS: 7,
    Layer.EMPTY: 8,
    Layer.OPENINGS: 5,
    Layer.NOTCHES: 1,
    Layer.CUTS: 6,
    Layer.ROOF: 4,
    Layer.TEXT: 7,
    Layer.DIMENSIONS: 3,
}


class CadSheet:
    """A DXF drawing (R2010) with the layers above. x to the right, y up."""

    def __init__(self) -> None:
        # Loaded when a DXF is asked for: with its fonts it takes half a second and 30 MB.
        import ezdxf
        from ezdxf import units

        # The library's name for leaving out the time of writing: the same drawing is the same bytes.
        ezdxf.options.write_fixed_meta_data_for_testing = True
        self._document: Drawing = ezdxf.new("R2010", setup=False, units=units.MM)
        self._document.header["$MEASUREMENT"] = 1
        self._document.linetypes.add("DASHED", [90.0, 60.0, -30.0], description="dashed")
        for layer in Layer:
            linetype = "DASHED" if layer is Layer.EMPTY else "Continuous"
            self._document.layers.add(str(layer), color=_COLOURS[layer], linetype=linetype)
        self._space = self._document.modelspace()

    def shape(self, points: Sequence[Point], layer: Layer) -> None:
        """A closed outline."""
        self._space.add_lwpolyline(points, close=True, dxfattribs={"layer": str(layer)})

    def line(self, start: Point, end: Point, layer: Layer) -> None:
        self._space.add_line(start, end, dxfattribs={"layer": str(layer)})

    def circle(self, centre: Point, radius: float, layer: Layer) -> None:
        self._space.add_circle(centre, radius, dxfattribs={"layer": str(layer)})

    def text(self, words: str, at: Point, *, height: float = TEXT_MM, turned: float = 0.0) -> None:
        """Words with their middle at a point, turned so many degrees."""
        from ezdxf.enums import TextEntityAlignment

        attributes = {"layer": str(Layer.TEXT), "rotation": turned}
        written = self._space.add_text(one_line(words), height=height, dxfattribs=attributes)
        written.set_placement(at, align=TextEntityAlignment.MIDDLE_CENTER)

    def dimension(self, start: Point, end: Point, *, line_through: Point, turned: float = 0.0) -> None:
        """The distance between two points along a direction, in mm; its line runs through a third."""
        self._space.add_linear_dim(
            base=line_through,
            p1=start,
            p2=end,
            angle=turned,
            override={
                "dimtxt": DIMENSION_TEXT_MM,
                "dimasz": 40.0,
                "dimexe": 20.0,
                "dimexo": 20.0,
                "dimgap": 15.0,
                "dimdec": 1,
                "dimrnd": 0.0,
                "dimzin": 8,
                "dimtad": 1,
            },
            dxfattribs={"layer": str(Layer.DIMENSIONS)},
        ).render()

    def block(self, name: str, at: Point, told: Mapping[str, str]) -> "CadBlock":
        """A new block, put in once with its base at a point; `told` says what it is, as attributes."""
        plain = "".join(sign if sign in _SAFE else "_" for sign in name)
        unique, number = plain, 1
        while unique in self._document.blocks:
            number += 1
            unique = f"{plain}_{number}"
        block = self._document.blocks.new(unique)
        reference = self._space.add_blockref(unique, at, dxfattribs={"layer": str(Layer.LOGS)})
        for tag, value in told.items():
            hidden = {"layer": str(Layer.TEXT), "height": TEXT_MM, "flags": 1}
            block.add_attdef(tag, (0.0, 0.0), dxfattribs=hidden)
            reference.add_attrib(tag, one_line(value), at, dxfattribs=hidden)
        return CadBlock(block, at)

    def as_bytes(self) -> bytes:
        """The drawing as DXF, as text in UTF-8."""
        out = io.StringIO()
        self._document.write(out)
        return out.getvalue().encode("utf-8")


class CadBlock:
    """A block being drawn; points are given as they lie in the drawing."""

    def __init__(self, block: "BlockLayout", base: Point) -> None:
        self._block, self._base = block, base

    def shape(self, points: Sequence[Point], layer: Layer) -> None:
        """A closed outline."""
        self._add([(x, y, 0.0) for x, y in points], layer, close=True)

    def arc(self, points: Sequence[tuple[float, float, float]], layer: Layer) -> None:
        """A run of points, each with the bulge (tangent of a quarter of the angle) of the arc after it."""
        self._add(points, layer, close=False)

    def _add(self, points: Sequence[tuple[float, float, float]], layer: Layer, **how: Any) -> None:
        x0, y0 = self._base
        moved = [(x - x0, y - y0, bulge) for x, y, bulge in points]
        self._block.add_lwpolyline(moved, format="xyb", dxfattribs={"layer": str(layer)}, **how)


def one_line(words: str) -> str:
    """Words as one line: a line's end in a text would end the text's record in the file."""
    return "".join(sign if sign.isprintable() else " " for sign in words)
