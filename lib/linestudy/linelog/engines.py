"""Where the expressions of a line log are worked out: DuckDB in this process, or Spark.

Spark is used as a plant runs it or, without one, on this machine; it needs the extra
``linestudy[spark]`` and Java. Doubles are summed in whatever order an engine's threads
finish, so sums of two runs or engines may differ in the last digits (about 1e-15 of the
sum of absolute values).
"""

from __future__ import annotations

import contextlib
import threading
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from linestudy.results import InputError
from linestudy.results.extras import require

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    import ibis.expr.types as ir
    import pyarrow as pa

#: Memory DuckDB may use before it spills to disk.
MEMORY = "500MB"


@contextlib.contextmanager
def engine(name: Literal["duckdb", "spark"] = "duckdb") -> Iterator[Any]:
    """Open a connection that computes Ibis expressions.

    Parameters
    ----------
    name : {"duckdb", "spark"}

    Yields
    ------
    ibis backend
        With ``read_parquet``.

    Raises
    ------
    InputError
        Spark is asked for and is not installed, or cannot start.
    """
    import warnings

    require("log", "ibis", "duckdb", purpose="sums of a line log")
    import ibis

    with warnings.catch_warnings():
        # Engines warn of each other's versions; nothing in that is about the log.
        warnings.simplefilter("ignore")
        if name == "spark":
            yield ibis.pyspark.connect(_spark())
            return
        # Cores are given to files, not to one question.
        connection = ibis.duckdb.connect(memory_limit=MEMORY, threads=1)
        try:
            yield connection
        finally:
            connection.disconnect()


def _spark() -> Any:
    """Return the running Spark session, or one of this machine."""
    import warnings

    try:
        from pyspark.sql import SparkSession
    except ImportError:
        raise InputError(
            "study.toml", 'engine = "spark" but Spark is not installed', "install linestudy[spark]"
        ) from None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return (
                SparkSession.builder.appName("linestudy")
                .config("spark.sql.session.timeZone", "UTC")
                .config("spark.ui.enabled", "false")
                .config("spark.sql.shuffle.partitions", "8")
                .getOrCreate()
            )
    # A missing Java shows itself in many ways, none of them an import error.
    except Exception as error:
        raise InputError(
            "study.toml",
            f'engine = "spark" but Spark does not start ({type(error).__name__})',
            "install Java 17 or later and set JAVA_HOME",
        ) from None


class Questions:
    """Expressions put to DuckDB about the columns of one file after another.

    It is asked in its own language, translated once for all files of the same columns: for a day's file
    Ibis takes as long to translate a question as DuckDB to answer it. It is handed the columns in
    memory, so that they are unpacked once for all questions.

    Parameters
    ----------
    connection : ibis backend
        DuckDB's.
    ask : callable
        From a table, and ``whole``, the names of columns with an entry in every row, to its expressions by
        name.
    """

    def __init__(self, connection: Any, ask: Callable[..., dict[str, ir.Table]]) -> None:
        self._connection, self._ask = connection, ask
        self._translated: dict[Any, dict[str, str]] = {}
        self._translating = threading.Lock()

    def answers(self, whole: frozenset[str], table: pa.Table) -> dict[str, pa.Table]:
        """Return the answers from one file, by name; threads may ask at once, each of another file."""
        texts = self._texts(whole, table)
        with self._connection.con.cursor() as cursor:
            cursor.register("part", table)
            return {name: cursor.sql(text).to_arrow_table() for name, text in texts.items()}

    def _texts(self, whole: frozenset[str], table: pa.Table) -> dict[str, str]:
        import ibis

        schema = table.schema.remove_metadata()
        key = str(schema), whole
        with self._translating:
            if key not in self._translated:
                part = ibis.table(ibis.Schema.from_pyarrow(schema), name="part")
                self._translated[key] = {
                    name: str(self._connection.compile(one))
                    for name, one in self._ask(part, whole=whole).items()
                }
            return self._translated[key]


def log_files(log: Path) -> list[Path]:
    """List the parquet files of a log, in the order of their names."""
    return sorted(path for path in log.glob("file=*/*.parquet") if not path.is_symlink())
