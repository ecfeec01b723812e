"""The one error a user may see."""

MOST_CHARACTERS = 1_000


class InputError(ValueError):
    """Something the user gave cannot be used.

    The message is one plain sentence that says what is wrong, where (file, row, field), and how to
    mend it. Callers that work through a batch catch it, keep the sentence, and go on.

    Parameters
    ----------
    sentence
        What the user gave may be quoted in it: line ends and other control characters become
        blanks, and the middle of a very long sentence is left out.
    """

    def __init__(self, sentence: str) -> None:
        shown = "".join(c if c.isprintable() else " " for c in sentence).strip()
        if len(shown) > MOST_CHARACTERS:
            half = MOST_CHARACTERS // 2
            shown = f"{shown[:half]} … {shown[-half:]}"
        super().__init__(shown)
