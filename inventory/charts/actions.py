"""A chart comes into a yard: every row is checked before any is stored, in a fixed number of queries."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from crews.accounts.models import Crew, Member
from crews.accounts.versioned_rows import insert_rows, one_of
from crews.api.problems import Fault, InvalidInput, InvalidQuery, fault
from crews.events.actions import emit_events
from inventory.core.chart import ChartReading, read_chart
from inventory.core.chart_columns import COLUMNS
from inventory.core.chart_line import ChartLine
from inventory.core.chart_rules import doubts_of_line, faults_of_line
from inventory.core.finding import Finding
from inventory.core.measure import Unit
from inventory.logs.actions import following, keep_measurements
from inventory.logs.checks import ask_to_confirm, changed_fields, doubts_of_change
from inventory.logs.drawing_values import units_of
from inventory.logs.events import News, events_of_change
from inventory.logs.lines import CHARTED, fields_of_line, line_of_fields, name_key, with_kept_readings
from inventory.logs.models import DECIDING, Log
from inventory.yards.models import Rack, Species, Yard

_WRITTEN = [*CHARTED, "cull_reason", "rack", "species", "state", "measures_version", "version", "changed_at"]
_HEADINGS = {column.field: column.heading for column in COLUMNS}


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """A chart as it was sent: the file, the unit of its plain numbers, and what its blanks stand for."""

    file: bytes
    unit: Unit
    rack: UUID | None = None
    species: UUID | None = None
    new_racks: bool = False


def import_chart(
    chart: Chart,
    *,
    crew: Crew,
    member: Member,
    yard: UUID,
    confirmed: bool,
    check_only: bool,
    at: datetime,
) -> dict[str, Any]:
    """Bring the yard's logs to what the chart says: all rows or none; returns the counts of ChartOut.

    Logs are known by their number. A column that the chart has not leaves its figure alone, a blank rack or
    species too. With `check_only` nothing is stored and doubts are told instead of asked about. Raises
    NotFound, InvalidQuery, InvalidInput with every fault (row, column, read), DoubtsUnconfirmed likewise.
    """
    one_of(Yard, crew=crew, id=yard)
    names = _Names(crew, yard, chart)
    reading = read_chart(
        chart.file,
        unit=chart.unit,
        known_racks=None if chart.new_racks else [rack.name for rack in names.racks.values()],
        known_species=[species.name for species in names.species.values()],
        default_rack=names.default_rack,
        default_species=names.default_species,
    )
    _refuse([_in_file(one) for one in reading.faults])
    sorting = _Sorting(crew=crew, yard=yard, names=names, at=at)
    with transaction.atomic():
        # From here on nobody else adds logs to the yard: their numbers are looked up once for all rows.
        one_of(Yard, crew=crew, id=yard, lock=True)
        sorting.sort(reading)
        _refuse(sorting.faults)
        if not check_only:
            ask_to_confirm(sorting.doubts, confirmed=confirmed)
            sorting.store(member=member)
    return {
        "stored": not check_only,
        "added": len(sorting.added),
        "changed": len(sorting.changed),
        "unchanged": sorting.unchanged,
        "new_racks": [rack.name for rack in sorting.new_racks.values()],
        "doubts": sorting.doubts,
    }


def _refuse(faults: list[Fault]) -> None:
    if faults:
        count = f"{len(faults)} faults" if len(faults) > 1 else "a fault"
        raise InvalidInput(f"The chart has {count}; nothing was stored.", errors=faults)


class _Names:
    """The yard's racks and the crew's species by the key of their names, and the names of the defaults."""

    def __init__(self, crew: Crew, yard: UUID, chart: Chart) -> None:
        self.racks = {name_key(rack.name): rack for rack in Rack.objects.of(crew).filter(yard=yard)}
        self.species = {name_key(one.name): one for one in Species.objects.of(crew)}
        rack = next((one.name for one in self.racks.values() if one.id == chart.rack), None)
        species = next((one.name for one in self.species.values() if one.id == chart.species), None)
        unknown = []
        if chart.rack and rack is None:
            unknown.append(fault("?rack", "No such rack in this yard.", "unknown"))
        if chart.species and species is None:
            unknown.append(fault("?species", "No such species in this crew.", "unknown"))
        if unknown:
            raise InvalidQuery(errors=unknown)
        # Without a default a log may well lie nowhere in particular: a blank is read as such, not refused.
        self.default_rack, self.default_species = rack or "", species


@dataclass(slots=True, kw_only=True)
class _Sorting:
    """The rows of a chart beside what is stored: what is new, what changes, what someone should look at."""

    crew: Crew
    yard: UUID
    names: _Names
    at: datetime
    added: list[Log] = field(default_factory=list)
    changed: list[Log] = field(default_factory=list)
    measured: list[Log] = field(default_factory=list)
    news: list[News] = field(default_factory=list)
    unchanged: int = 0
    new_racks: dict[str, Rack] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    doubts: list[Fault] = field(default_factory=list)

    def sort(self, reading: ChartReading) -> None:
        """Hold every row against the log of its number."""
        logs = Log.objects.of(self.crew).filter(yard=self.yard).select_for_update(of=("self",))
        # Locked in the order of ids, as by whoever moves many logs at once.
        held = {name_key(log.number): log for log in logs.order_by("id")}
        # What was read across stands in the cells of the diameters, which every chart has.
        given = set(CHARTED) & {*reading.fields, "read_across"}
        doubts: dict[int, list[Fault]] = {}
        for doubt in reading.doubts:
            doubts.setdefault(doubt.row, []).append(_in_file(doubt))
        for row, line in zip(reading.rows, reading.lines, strict=True):
            columns = {name: value for name, value in fields_of_line(line).items() if name in given}
            columns |= self._places(line)
            log = held.get(name_key(line.number))
            if log is None:
                self._add(line, columns)
                self.doubts += doubts.get(row, ())
                continue
            columns = with_kept_readings(columns, vars(log))
            if changed := changed_fields(log, columns):
                self._change(log, row=row, columns=columns, changed=changed)
            else:
                self.unchanged += 1
        if self.added or self.changed:
            rows = set(reading.rows)
            self.doubts[:0] = [one for row, ones in doubts.items() if row not in rows for one in ones]

    def store(self, *, member: Member) -> None:
        """Everything in four statements, whatever the number of rows."""
        Rack.objects.bulk_create(self.new_racks.values())
        insert_rows(self.added)
        # One INSERT that meets its own rows; bulk_update would write a CASE for each log and column.
        Log.objects.bulk_create(
            self.changed, update_conflicts=True, unique_fields=["id"], update_fields=_WRITTEN
        )
        keep_measurements([*self.added, *self.measured], member=member)
        emit_events(self.crew, self.news, self.at)

    def _places(self, line: ChartLine) -> dict[str, UUID]:
        """The rack and species that a line names, by column; a rack that nobody knew is made."""
        places = {}
        if line.rack:
            key = name_key(line.rack)
            rack = self.names.racks.get(key) or self.new_racks.get(key)
            if rack is None:
                rack = self.new_racks[key] = Rack(name=" ".join(line.rack.split()), **self._new())
            places["rack_id"] = rack.id
        if line.species:
            places["species_id"] = self.names.species[name_key(line.species)].id
        return places

    def _new(self) -> dict[str, Any]:
        return {
            "id": uuid4(),
            "crew": self.crew,
            "yard_id": self.yard,
            "created_at": self.at,
            "changed_at": self.at,
        }

    def _add(self, line: ChartLine, columns: dict[str, Any]) -> None:
        number = " ".join(line.number.split())
        self.added.append(Log(number=number, **self._new(), **columns, **following(None, columns)))

    def _change(self, log: Log, *, row: int, columns: dict[str, Any], changed: list[str]) -> None:
        """Change the log as the row says, its faults and doubts judged on the whole log as it will be."""
        told: list[Finding] = [*doubts_of_change(log, changed)]
        self.news += events_of_change(log, columns)
        for name, value in (columns | following(log, columns)).items():
            setattr(log, name, value)
        log.version, log.changed_at = log.version + 1, self.at
        log.cull_reason = log.cull_reason if log.culled else ""
        self.changed.append(log)
        if any(name in DECIDING for name in changed):
            self.measured.append(log)
            whole = line_of_fields(vars(log), number=log.number)
            units = units_of(self.crew)
            faults = faults_of_line(whole, units=units)
            self.faults += _in_row(row, faults)
            told += () if faults else doubts_of_line(whole, units=units)
        self.doubts += _in_row(row, told)


def _in_row(row: int, findings: Iterable[Finding]) -> list[Fault]:
    return [
        _placed(row, _HEADINGS[one.field], field=one.field, code=one.code, read=one.read, text=one.text)
        for one in findings
    ]


def _in_file(one: Finding) -> Fault:
    return _placed(one.row, one.column, field=one.field, code=one.code, read=one.read, text=one.text)


def _placed(row: int, column: str, *, field: str, code: str, read: str, text: str) -> Fault:
    """A finding as a fault of the file: `/rows/12/butt`, with row, column and what was read there."""
    name = field.removesuffix("_mm")
    pointer = "" if not row else f"/rows/{row}/{name}" if name else f"/rows/{row}"
    return {**fault(pointer, text, str(code)), "row": row, "column": column, "read": read}
