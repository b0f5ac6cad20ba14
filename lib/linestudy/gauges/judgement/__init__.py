"""Judgements by eye or by a camera's verdict."""
