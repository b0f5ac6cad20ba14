"""Where the expressions of a line log are worked out: DuckDB in this process, or Spark.

Spark is used as a plant runs it or, without one, on this machine; it needs the extra
``linestudy[spark]`` and Java. Doubles are summed in whatever order an engine's threads
finish, so sums of two runs or engines may differ in the last digits (about 1e-15 of the
sum of absolute values).
"""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from linestudy.core import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

#: Memory DuckDB may use before it spills to disk.
MEMORY = "500MB"


@contextlib.contextmanager
def engine(name: Literal["duckdb", "spark"] = "duckdb") -> Iterator[Any]:
    """A connection that works out Ibis expressions.

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

    import ibis

    with warnings.catch_warnings():
        # Engines warn of each other's versions; nothing in that is about the log.
        warnings.simplefilter("ignore")
        if name == "spark":
            yield ibis.pyspark.connect(_spark())
            return
        connection = ibis.duckdb.connect(memory_limit=MEMORY)
        try:
            yield connection
        finally:
            connection.disconnect()


def _spark() -> Any:
    """The running Spark session, or one of this machine."""
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


def rows_of(expression: Any) -> list[dict[str, Any]]:
    """Rows of an expression's result as plain Python values."""
    rows: list[dict[str, Any]] = expression.to_pyarrow().to_pylist()
    return rows


def columns_of(expression: Any) -> dict[str, list[Any]]:
    """Columns of an expression's result as lists of plain Python values."""
    columns: dict[str, list[Any]] = expression.to_pyarrow().to_pydict()
    return columns


def log_files(log: Path) -> list[Path]:
    """The parquet files of a log, in the order of their names."""
    return sorted(path for path in log.glob("file=*/*.parquet") if not path.is_symlink())
