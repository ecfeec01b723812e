"""What kind of room a photo shows, where its name says one thing and the picture another.

Both are evidence, and Bayes' rule weighs them. A file is seldom named wrongly, and the network is
seldom wrong where it is sure: each is given its own rate of error. The network knows four kinds
only, so a name that says another one ("hall") is not weighed against it.
"""

from __future__ import annotations

from collections.abc import Mapping

from scorer.photos.reading import RoomGuess

KNOWN_KINDS = ("kitchen", "bathroom", "bedroom", "front")
"""Kinds of room that the network was taught on photos."""

WRONG_NAME = 0.01
"""Chance that a file's name says the wrong kind of room [0–1]: common practice, no source. Of the
347 photos of the evaluation data one is named wrongly."""

WRONG_WHERE_SURE = 0.003
"""Chance that the network is wrong where it is sure [0–1]: none of 339 photos of houses that it had
not seen, as (0 + 1) / (339 + 2) by Laplace's rule of succession."""

TOO_CAUTIOUS = 2.0
"""Power that the network's answers are raised to. It was taught with softened labels, so its 0.8 is
right far more often; at this power the likelihood of the true kinds, out of fold, is greatest."""


def kind_chances(named: str, seen: Mapping[str, float]) -> dict[str, float]:
    """Chance of each known kind of room, from the name of a file and from what the network sees.

    Parameters
    ----------
    named
        What the name says; one of `KNOWN_KINDS`.
    seen
        The network's probabilities of the known kinds and of ``unsure`` (`RoomGuess.seen`).

    Returns
    -------
    dict
        Sums to 1; empty where the name or the network says nothing that can be weighed.

    Examples
    --------
    >>> chances = kind_chances("bathroom", {"bedroom": 0.9, "bathroom": 0.02, "unsure": 0.08})
    >>> max(chances, key=chances.get), round(chances["bedroom"], 2)
    ('bedroom', 0.73)
    """
    sharp = {kind: max(value, 0.0) ** TOO_CAUTIOUS for kind, value in seen.items()}
    total = sum(sharp.values())
    if named not in KNOWN_KINDS or total <= 0:
        return {}
    others = len(KNOWN_KINDS) - 1
    weights = {}
    for kind in KNOWN_KINDS:
        by_name = 1.0 - WRONG_NAME if kind == named else WRONG_NAME / others
        answer = sharp.get(kind, 0.0) / total
        by_sight = (1.0 - WRONG_WHERE_SURE) * answer + WRONG_WHERE_SURE / len(KNOWN_KINDS)
        weights[kind] = by_name * by_sight
    total = sum(weights.values())
    return {kind: weight / total for kind, weight in weights.items()}


def likeliest(chances: Mapping[str, float]) -> RoomGuess:
    """The kind with the greatest chance.

    Raises
    ------
    ValueError
        If there is none.
    """
    kind = max(chances, key=lambda name: chances[name])
    return RoomGuess(kind=kind, probability=round(min(chances[kind], 1.0), 4))
