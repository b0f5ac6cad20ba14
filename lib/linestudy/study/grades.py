"""What study.toml says of judgements in ordered grades."""

from __future__ import annotations


def rejecting(
    role: str, grades: tuple[str, ...], accept: tuple[str, ...], reject: tuple[str, ...] | None
) -> tuple[str, ...]:
    """Return the grades that reject, after checking that each grade occurs once.

    Parameters
    ----------
    role : str
        Of the file.
    grades : tuple of str
        In their order.
    accept : tuple of str
        Those that accept.
    reject : tuple of str or None
        Those that reject; all others when absent.

    Returns
    -------
    tuple of str

    Raises
    ------
    ValueError
        Another role than judgements, a grade that occurs twice, or a word that is none.

    Examples
    --------
    >>> rejecting("attribute", ("none", "slight", "heavy"), ("none",), None)
    ('slight', 'heavy')
    """
    if role != "attribute":
        raise ValueError('grades belong to judgements, role "attribute"')
    if len(set(grades)) != len(grades):
        raise ValueError("grades: a name stands twice")
    other = [word for word in accept if word not in grades]
    if other:
        raise ValueError(f'accept holds "{other[0]}", which is none of the grades')
    rest = reject if reject is not None else tuple(word for word in grades if word not in accept)
    if sorted([*accept, *rest]) != sorted(grades):
        raise ValueError("accept and reject together must hold each grade once")
    return rest
