"""The customer's own form: names on offer, where they go, and how a workbook is filled without touching the rest."""
