"""Page, PDF and workbook, set anew and held against what a dossier holds."""
