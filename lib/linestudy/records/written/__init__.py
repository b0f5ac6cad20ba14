"""What the bytes of a file are written in, before they are a table: an encoding, a page, a workbook in XML."""
