"""The same content as a PDF, a page and a workbook."""
