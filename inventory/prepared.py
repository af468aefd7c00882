"""SQL that is made once: the ORM's meaning without its price at every call.

To put a query into SQL costs Django many times what the database takes to answer it by
key. A read on the path of a scan is therefore written as any other, and compiled at its
first use; afterwards only its values change. The rows of a scan are written likewise.
"""

from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from functools import lru_cache
from itertools import count
from typing import Any, Generic, TypeVar
from uuid import UUID

from django.core.exceptions import EmptyResultSet
from django.db import DEFAULT_DB_ALIAS, connection
from django.db.models import Model, QuerySet
from django.db.models.query import ModelIterable, get_related_populators

Row = TypeVar("Row", covariant=True)
# Stand-ins for values while the SQL is made: numbers that no query of ours spells out.
FIRST_STAND_IN = 31_001
# A list of more values is not met again at the same length: its SQL is not kept.
MOST_KEPT = 20


class Prepared(Generic[Row]):
    """Calling it runs the read that `make` describes, with these values.

    Values are whole numbers, texts, UUIDs, decimals, or lists of whole numbers; each must
    stand in a condition of the query. Rows are what the query gives: model instances with what
    `select_related` names, or tuples.
    """

    def __init__(self, make: Callable[..., QuerySet[Any, Row]]) -> None:
        self.make = make
        self.compiled: dict[object, _Compiled[Row] | None] = {}

    def __call__(self, *values: Any) -> list[Row]:
        """All rows."""
        key = tuple(_shape(value) for value in values)
        if key in self.compiled:
            compiled = self.compiled[key]
        else:
            compiled = self._compile(values)
            if len(list(_flat(values))) <= MOST_KEPT:
                self.compiled[key] = compiled
        return [] if compiled is None else compiled.rows(_flat(values))

    def first(self, *values: Any) -> Row | None:
        """The first row; the query itself has to limit how many it reads."""
        return next(iter(self(*values)), None)

    def _compile(self, values: Sequence[Any]) -> "_Compiled[Row] | None":
        numbers = count(FIRST_STAND_IN)
        stand_ins = [_stand_in(value, numbers) for value in values]
        try:
            return _Compiled(self.make(*stand_ins), list(_flat(stand_ins)))
        except EmptyResultSet:
            return None


class _Compiled(Generic[Row]):
    """The SQL of one read, where its values go, and how its rows become objects."""

    def __init__(self, query: QuerySet[Any, Row], stand_ins: Sequence[Any]) -> None:
        compiler = query.query.get_compiler(DEFAULT_DB_ALIAS)
        self.sql, params = compiler.as_sql()
        places = {_plain(value): at for at, value in enumerate(stand_ins)}
        self.params = [(places.get(_plain(value)), value) for value in params]
        # An engine without types for UUIDs and decimals keeps their text.
        self.as_text = {
            at
            for at, value in self.params
            if at is not None and type(value) is not type(stand_ins[at])
        }
        if {at for at, _ in self.params} - {None} != set(range(len(stand_ins))):
            raise ValueError(f"every value has to stand in the query: {self.sql}")
        expressions = [column[0] for column in compiler.select]
        self.compiler = compiler
        self.converters = compiler.get_converters(expressions)
        is_of_models = query._iterable_class is ModelIterable
        self.made: Callable[[Sequence[Any]], Any] = (
            _making(compiler) if is_of_models else tuple
        )

    def rows(self, values: Iterator[Any]) -> list[Row]:
        given = list(values)
        for at in self.as_text:
            given[at] = _plain(given[at])
        params = [value if at is None else given[at] for at, value in self.params]
        with connection.cursor() as cursor:
            cursor.execute(self.sql, params)
            rows = cursor.fetchall()
        if self.converters:
            rows = list(self.compiler.apply_converters(rows, self.converters))
        return [self.made(row) for row in rows]


def _making(compiler: Any) -> Callable[[Sequence[Any]], Any]:
    """What makes an object of a row, as Django's own iteration of a query does it."""
    known = compiler.klass_info
    fields = known["select_fields"]
    own = slice(fields[0], fields[-1] + 1)
    names = [column[0].target.attname for column in compiler.select[own]]
    populators: Callable[..., Any] = get_related_populators
    related = populators(known, compiler.select, DEFAULT_DB_ALIAS)
    model: type[Model] = known["model"]

    def made(row: Sequence[Any]) -> Model:
        found = model.from_db(DEFAULT_DB_ALIAS, names, row[own])
        for each in related:
            each.populate(row, found)
        return found

    return made


def _shape(value: Any) -> object:
    return len(value) if isinstance(value, list | tuple) else type(value)


def _flat(values: Sequence[Any]) -> Iterator[Any]:
    for value in values:
        if isinstance(value, list | tuple):
            yield from value
        else:
            yield value


def _stand_in(value: Any, numbers: Iterator[int]) -> Any:
    if isinstance(value, list | tuple):
        return [next(numbers) for _ in value]
    if isinstance(value, str):
        return f"value {next(numbers)}"
    if isinstance(value, UUID):
        return UUID(int=next(numbers))
    if isinstance(value, Decimal):
        return Decimal(next(numbers)) / 100_000
    return next(numbers)


def _plain(value: Any) -> Any:
    """A value as either engine writes it: hex and digits in place of their types."""
    if isinstance(value, UUID):
        return value.hex
    return str(value) if isinstance(value, Decimal) else value


def insert(row: Model, *, unless: str = "") -> bool:
    """Write a fresh row, as `save` does where no signal listens; it gets its key.

    `unless` is a unique field: where a row of the same value stands, or comes first,
    nothing is written. Returns whether it was.
    """
    columns, statement = _insertion(type(row), row.pk is None, unless)
    values = [
        column.get_db_prep_save(column.pre_save(row, add=True), connection)
        for column in columns
    ]
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        written = cursor.fetchone()
    if written:
        row.pk = written[0]
        row._state.adding, row._state.db = False, DEFAULT_DB_ALIAS
    return written is not None


def update(row: Model, *fields: str) -> None:
    """Write these fields of a row that is there, as `save(update_fields=...)` does."""
    columns, statement = _change(type(row), fields)
    values = [
        column.get_db_prep_save(getattr(row, column.attname), connection)
        for column in columns
    ]
    with connection.cursor() as cursor:
        cursor.execute(statement, [*values, row.pk])


@lru_cache(maxsize=64)
def _insertion(model: type[Model], has_no_key: bool, unless: str) -> tuple[Any, str]:
    """The columns of an INSERT into a model's table, and its SQL."""
    meta: Any = model._meta
    quoted = connection.ops.quote_name
    columns = [
        column
        for column in meta.local_concrete_fields
        if not (has_no_key and column.primary_key)
    ]
    names = ", ".join(quoted(column.column) for column in columns)
    gaps = ", ".join(["%s"] * len(columns))
    table, key = quoted(meta.db_table), quoted(meta.pk.column)
    clash = f" ON CONFLICT ({quoted(unless)}) DO NOTHING" if unless else ""
    values = f"VALUES ({gaps}){clash} RETURNING {key}"
    return columns, f"INSERT INTO {table} ({names}) {values}"


@lru_cache(maxsize=64)
def _change(model: type[Model], fields: tuple[str, ...]) -> tuple[Any, str]:
    """The columns of an UPDATE of one row by its key, and its SQL."""
    meta: Any = model._meta
    quoted = connection.ops.quote_name
    columns = [meta.get_field(name) for name in fields]
    sets = ", ".join(f"{quoted(column.column)} = %s" for column in columns)
    table, key = quoted(meta.db_table), quoted(meta.pk.column)
    return columns, f"UPDATE {table} SET {sets} WHERE {key} = %s"
