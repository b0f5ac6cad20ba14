"""Kinds of file as cells of text: delimited text, workbooks, parquet, QIF."""
