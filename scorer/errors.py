"""The one error a user may see."""


class InputError(ValueError):
    """Something the user gave cannot be used.

    The message is one plain sentence that says what is wrong, where (file, row, field), and how to
    mend it. Callers that work through a batch catch it, keep the sentence, and go on.
    """
